"""Loads on cross-sections along the members of a body, from joint wrenches and the body's own inertia.

A member is cut at a place; the load on the cut is the sum of all that acts on what lies beyond it: joint wrenches,
springs, weight, and the inertia of its masses (d'Alembert). Whichever side is summed up, the answer is the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly, BodyData
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rules.inertia import (
    INERTIAL,
    NOTHING,
    Masses,
    felt,
    inertial_rows,
    masses_of,
    on_section,
    total,
)
from simprop.rules.stress import SectionLoads
from simprop.strength.members.outer import Outer, outer_loads
from simprop.strength.members.pieces import (
    TOUCH,
    Piece,
    closed_frames,
    grounded,
    links,
    nearest_piece,
    pieces,
)


@dataclass(frozen=True)
class Member:
    """A straight stretch of a part of a body.

    Attributes:
        body: index of the body.
        piece: index of its piece.
        shape: index of its part.
        name: as a person would call it.
        start: (3,) m, body frame.
        end: (3,) m.
        along: unit vector from start to end.
        u: unit vector across; a bar's width lies along u.
        v: unit vector across; a bar's thickness lies along v.
        length: m.
        corners: whether the bent tube goes on round a corner at its start and at its end.
    """

    body: int
    piece: int
    shape: int
    name: str
    start: Array
    end: Array
    along: Array
    u: Array
    v: Array
    length: float
    corners: tuple[bool, bool]


@dataclass(frozen=True)
class Hang:
    """Something that hangs on a member at a place.

    Attributes:
        place: along the member in the start pose, m.
        masses: of what hangs there.
        joints: indices of the joints there.
        outer: indices into `BodyHistory.outer` of the loads there.
        ground: holds the body to the ground.
        path: its place at every step where it slides along the member, (n,) m; None: it stays.
    """

    place: float
    masses: Masses
    joints: tuple[int, ...]
    outer: tuple[int, ...]
    ground: bool
    path: Array | None = None


class BodyHistory:
    """Motion of a body and the loads on it in its own frame, over all steps of a recording.

    Attributes:
        data: the body.
        members: its straight stretches.
        gaps: gaps between parts that are taken as fastened together, (name, name, m), over 30 mm.
        turn: rotation, (n, 3, 3).
        centre: of mass, (n, 3) m.
        base: histories of which every load on a cut is a sum with constant factors, (k, n): what a unit of mass, of
            first moment and of second moment feels, and the six components of each joint and line element.
    """

    def __init__(self, loads: JointLoads, index: int):
        assembly = loads.recording.assembly
        track = loads.recording.track
        self.loads, self.index, self.data = loads, index, assembly.bodies[index]
        self.found = pieces(self.data)
        self.turn = matrices(track.rotation[:, index])
        self.centre = track.position[:, index]
        gravity = np.asarray(assembly.rig.run.gravity)
        self.floor = grounded(self.data, self.found, _feet(assembly))
        self.links = links(self.found, self.floor.keys())
        self.members = made_of(index, self.data, self.found)
        self.outer = outer_loads(loads, index)
        self._owner = [nearest_piece(self.found, o.point) for o in self.outer]
        inertial = inertial_rows(
            self._inward(gravity - track.acceleration[:, index]),
            self._inward(track.spin[:, index]),
            self._inward(track.spin_acceleration[:, index]),
        )
        self.base = np.concatenate([inertial, *(self._about_origin(o) for o in self.outer)])

    @property
    def gaps(self) -> tuple[tuple[str, str, float], ...]:
        """Parts drawn apart that are taken as fastened together: (name, name, gap m)."""
        names = [part_name(self.data, p.shape) for p in self.found]
        return tuple((names[x.first], names[x.second], x.gap) for x in self.links if x.gap > TOUCH)

    @property
    def frames(self) -> tuple[tuple[str, str], ...]:
        """Pairs of parts that close a frame, which was cut open between them to tell the loads."""
        names = [part_name(self.data, p.shape) for p in self.found]
        return tuple((names[x.first], names[x.second]) for x in closed_frames(self.found, self.links))

    def _inward(self, world: Array) -> Array:
        return np.asarray(np.einsum("nji,nj->ni", self.turn, world))

    def _about_origin(self, load: Outer) -> Array:
        """Force, and moment about the body's origin, of an outer load in the body frame, (6, n)."""
        force, arm = self._inward(load.force), self._inward(load.place - self.centre)
        return np.concatenate([force.T, (self._inward(load.moment) + np.cross(arm, force)).T])

    def hangs(self, member: Member) -> tuple[Hang, ...]:
        """What hangs on a member, besides its own mass."""
        if member.piece not in self._hung:
            self._hung[member.piece] = self._found(member)
        return self._hung[member.piece]

    @cached_property
    def _hung(self) -> dict[int, tuple[Hang, ...]]:
        """What hangs on each member that was asked for, by its piece."""
        return {}

    def _found(self, member: Member) -> tuple[Hang, ...]:
        sides: list[tuple[float, set[int]]] = []
        for link in self.links:
            if member.piece in (link.first, link.second):
                other = link.second if link.first == member.piece else link.first
                on = link.on_first if link.first == member.piece else link.on_second
                place = float(np.clip((on - member.start) @ member.along, 0.0, member.length))
                sides.append((place, self._branch(other, member.piece)))
        found = [self._hang(place, group) for place, group in sides]
        for k, load in enumerate(self.outer):
            if self._owner[k] == member.piece:
                joints = (load.index,) if load.kind == "joint" else ()
                at, path = self._place(member, load.point), self._path(member, load)
                found.append(Hang(at, NOTHING, joints, (k,), False, path))
        if member.piece in self.floor:
            found.append(Hang(self._place(member, self.floor[member.piece]), NOTHING, (), (), True))
        return tuple(sorted(found, key=lambda h: h.place))

    def _path(self, member: Member, load: Outer) -> Array | None:
        """Place of a load on a member at every step, if it slides along this body; else None.

        Of the two bodies of a sliding joint the one with the longer stretch along the axis is the rail; the other
        carries the place of contact.
        """
        assembly, track = self.loads.recording.assembly, self.loads.recording.track
        world = load.place
        if load.kind == "line":
            return None
        if load.kind == "joint":
            joint = assembly.joints[load.index]
            if joint.kind.guide is None:
                return None
            one, two = (
                _rail(assembly.bodies[i], joint.point, joint.axis) for i in (joint.first, joint.second)
            )
            rail, guide = (joint.first, joint.second) if one > two else (joint.second, joint.first)
            if rail != self.index:
                return None
            local = joint.point - assembly.bodies[guide].com
            world = track.position[:, guide] + matrices(track.rotation[:, guide]) @ local
        inside = self._inward(world - self.centre)
        return np.clip((inside - member.start) @ member.along, 0.0, member.length)

    def _place(self, member: Member, point: Array) -> float:
        return float(np.clip((point - member.start) @ member.along, 0.0, member.length))

    def _branch(self, start: int, without: int) -> set[int]:
        group, queue = {start}, [start]
        while queue:
            here = queue.pop()
            for link in self.links:
                for a, b in ((link.first, link.second), (link.second, link.first)):
                    if a == here and b != without and b not in group:
                        group.add(b)
                        queue.append(b)
        return group

    def _hang(self, place: float, group: set[int]) -> Hang:
        masses = total([masses_of(p.weight) for k, p in enumerate(self.found) if k in group])
        outer = tuple(k for k, piece in enumerate(self._owner) if piece in group)
        joints = tuple(self.outer[k].index for k in outer if self.outer[k].kind == "joint")
        return Hang(place, masses, joints, outer, bool(group & self.floor.keys()))

    def cut(self, member: Member, place: float, after: bool = True) -> SectionLoads | None:
        """Loads on the cross-section of a member at a place, over all steps.

        Args:
            place: along the member, m.
            after: what hangs exactly at `place` counts as before the cut (else as beyond it).

        Returns:
            The loads, or None where the body is held to the ground on both sides: statics alone doesn't tell.
        """
        plan = self._plan(member, place, after)
        if plan is None:
            return None
        factors, sliding = plan
        loads = factors @ self.base
        for there, columns, way in sliding:
            loads = loads + (way @ self.base[columns]) * there
        return SectionLoads(*loads)

    def moments(self, member: Member, place: float, after: bool, row: int) -> Array | None:
        """Moments about u and v on a cut at one step, and their means over all steps.

        Args:
            place: along the member, m.
            after: see `cut`.
            row: physics step.

        Returns:
            (4,) N*m: about u and v at the step, about u and v in the mean; None as for `cut`.
        """
        plan = self._plan(member, place, after)
        if plan is None:
            return None
        factors, sliding = plan
        now, mean = factors[4:] @ self.base[:, row], factors[4:] @ self.mean
        for there, columns, way in sliding:
            now = now + (way[4:] @ self.base[columns, row]) * there[row]
            mean = mean + way[4:] @ (self.base[columns] * there).mean(axis=1)
        return np.concatenate([now, mean])

    @cached_property
    def mean(self) -> Array:
        """Mean of each row of `base`, (k,)."""
        return np.asarray(self.base.mean(axis=1))

    def _plan(
        self, member: Member, place: float, after: bool
    ) -> tuple[Array, list[tuple[NDArray[np.bool_], slice, Array]]] | None:
        """Factors on `base` that give the six loads on a cut, (6, k), and what slides: when, rows, factors."""
        hangs = self.hangs(member)
        limit = place + 1e-9 if after else place - 1e-9
        beyond = [h for h in hangs if h.path is None and h.place > limit]
        before = [h for h in hangs if h.path is None and h.place <= limit]
        flip, side, stretch = 1.0, beyond, (place, member.length)
        if any(h.ground for h in beyond):
            if any(h.ground for h in before):
                return None
            flip, side, stretch = -1.0, before, (0.0, place)
        axes = np.array([member.along, member.u, member.v]) * flip
        at = member.start + place * member.along
        masses = total(
            [self._own(member, self.found[member.piece].weight.mass, *stretch), *[h.masses for h in side]]
        )
        whole = np.zeros((6, len(self.base)))
        whole[:, :INERTIAL] = felt(masses)
        for k in (k for h in side for k in h.outer):
            whole[:, _columns(k)] += np.eye(6)
        sliding = []
        for hang in (h for h in hangs if h.path is not None):
            there = (np.asarray(hang.path) > limit) == (flip > 0)
            sliding += [(there, _columns(k), on_section(axes, at, np.eye(6))) for k in hang.outer]
        return on_section(axes, at, whole), sliding

    def _own(self, member: Member, mass: float, low: float, high: float) -> Masses:
        length = high - low
        if length <= 1e-12:
            return NOTHING
        share = mass * length / member.length
        start, end = member.start + low * member.along, member.start + high * member.along
        return masses_of(self.data.shapes[member.shape].part_of(share, start, end))


def _feet(assembly: Assembly) -> list[Array]:
    stand = assembly.rig.stand
    return [] if stand is None else [np.array(p[:3]) for p in stand.feet]


def _columns(k: int) -> slice:
    """Rows of `BodyHistory.base` that outer load k takes."""
    return slice(INERTIAL + 6 * k, INERTIAL + 6 * k + 6)


def made_of(index: int, body: BodyData, found: tuple[Piece, ...]) -> tuple[Member, ...]:
    """The straight stretches of a body that have a section, from its pieces.

    Args:
        index: of the body.
        body: in its own frame.
        found: its pieces.
    """
    rows = [k for k, p in enumerate(found) if body.shapes[p.shape].section() is not None]
    return tuple(_member(index, body, found, k) for k in rows)


def _member(index: int, body: BodyData, found: tuple[Piece, ...], k: int) -> Member:
    piece = found[k]
    shape = body.shapes[piece.shape]
    length, along = piece.length, piece.unit
    v = shape.thin(along)
    u = np.cross(v, along)
    last = len(shape.path) - 2
    name = part_name(body, piece.shape)
    if last > 0:
        name += f", stretch {piece.corner + 1}"
    return Member(
        index,
        k,
        piece.shape,
        name,
        piece.start,
        piece.end,
        along,
        u,
        v,
        length,
        (piece.corner > 0, piece.corner < last),
    )


def part_name(body: BodyData, index: int) -> str:
    """What a person would call a part: its own name, or body, material and kind with a number among its like.

    Args:
        index: of the part in `shapes`.
    """
    shape = body.shapes[index]
    if not shape.name.startswith("bodies."):
        return shape.name if shape.name == body.name else f"{body.name}: {shape.name}"
    same = [i for i, s in enumerate(body.shapes) if (s.word, s.material) == (shape.word, shape.material)]
    number = f" {same.index(index) + 1}" if len(same) > 1 else ""
    return f"{body.name} {shape.material} {shape.word}{number}".replace("  ", " ")


def _rail(body: BodyData, point: Array, axis: Array) -> float:
    """Length of the straight stretch of a body that runs along an axis through a point, m; 0 where there is none."""
    found = pieces(body)
    if not found:
        return 0.0
    piece = found[nearest_piece(found, point - body.com)]
    return piece.length if abs(float(piece.unit @ axis)) > 0.99 else 0.0
