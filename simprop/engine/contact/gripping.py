"""Dry friction that goes with the load in its joint: its limits, step by step, for any engine.

An engine hands over the wrench that each such joint carried in the step just done; the limits it gets hold for the next
step (a lag of one step). They are the mean of the last two, so that friction that changes the very load it comes from
settles instead of jumping.

Where joints share a load in a way that rigid bodies leave open, engines split it as it comes. Joints between the same
two bodies that all rub (two hinges of a lid, two rails) therefore hand their loads together and take of them what their
give leaves to each (`simprop.assembly.giving`; the bodies between them taken as stiff): what tilts them presses one
against the other and rubs. In other loops the force counts as the engine splits it - on whichever joint it presses, it
rubs - and a moment that joints could as well leave to each other is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from simprop.assembly.giving import joint_give
from simprop.assembly.types import Assembly
from simprop.engine.track import axis_rate
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Grip

STICKS = 1e9
"""A limit that holds anything, N*m or N."""
TRIES = 40
"""How often the first step is tried, each time with the limits that its own loads ask for."""
_SURE = 1e-5


@dataclass(frozen=True)
class GripData:
    """Friction of one axis of a joint.

    Attributes:
        axis: index into `Assembly.axes`.
        joint: index of the joint.
        law: by what it goes.
        moment: projector on the part of the moment that rigid bodies determine, (3, 3), first body's start axes;
            all of it where the joints' give determines the rest.
    """

    axis: int
    joint: int
    law: Grip
    moment: Array


@dataclass(frozen=True)
class Split:
    """What one joint takes of what another one carries, between the same two bodies.

    Attributes:
        to: row of the one among the grips.
        of: row of the other.
        matrix: of force and moment about either's point, (6, 6), first body's start axes.
    """

    to: int
    of: int
    matrix: Array


def grips(assembly: Assembly) -> tuple[GripData, ...]:
    """Friction by coefficients of all joints without play, in the order of the axes."""
    found: list[GripData] = []
    parts: list[Array] = []
    for index, joint in enumerate(assembly.joints):
        if joint.kind.play is not None:
            continue  # it rubs where it touches
        own = [f.axis for f in joint.freedoms]
        for axis, loss in zip(own, joint.kind.losses, strict=True):
            if loss.grip is not None:
                parts = parts or determined(assembly)
                found.append(GripData(axis, index, loss.grip, parts[index]))
    joined = {s.to for s in splits(assembly, found)}
    return tuple(replace(g, moment=np.eye(3)) if k in joined else g for k, g in enumerate(found))


@dataclass(frozen=True)
class _Open:
    """What balance leaves open in the start pose.

    Attributes:
        free: projector on that of the joints' components, moments divided by `size`.
        places: of each joint's components.
        size: m.
    """

    free: Array
    places: tuple[slice, ...]
    size: float


def _opened(assembly: Assembly) -> _Open:
    moving = {i: 6 * k for k, i in enumerate(i for i, b in enumerate(assembly.bodies) if not b.fixed)}
    points = np.array([j.point for j in assembly.joints])
    size = max(0.02, float(np.linalg.norm(np.ptp(points, axis=0))) / 3)
    columns: list[Array] = []
    places = []
    for joint in assembly.joints:
        start = len(columns)
        for directions, turning in zip(joint.bars, (False, True), strict=True):
            for way in directions:
                column = np.zeros(6 * len(moving))
                for body, sign in ((joint.second, 1.0), (joint.first, -1.0)):
                    if body in moving:
                        row = moving[body]
                        arm = joint.point - assembly.bodies[body].com
                        column[row : row + 3] = 0.0 if turning else sign * way
                        column[row + 3 : row + 6] = sign * (way if turning else np.cross(arm, way) / size)
                columns.append(column)
        places.append(slice(start, len(columns)))
    matrix = np.array(columns).reshape(len(columns), -1).T
    _, sigma, basis = np.linalg.svd(matrix, full_matrices=True)
    rank = int(np.sum(sigma > 1e-8 * max(1e-12, float(sigma.max(initial=0.0)))))
    return _Open(basis[rank:].T @ basis[rank:], tuple(places), size)


def determined(assembly: Assembly) -> list[Array]:
    """For each joint, the projector (3, 3) on the part of its moment that balance alone determines.

    In the start pose and the first body's axes there.
    """
    open_ = _opened(assembly)
    result = []
    for joint, place in zip(assembly.joints, open_.places, strict=True):
        directions = joint.bars[1]
        own = slice(place.stop - len(directions), place.stop)
        block = open_.free[own, own]
        values, vectors = np.linalg.eigh(block) if len(directions) else (np.zeros(0), np.zeros((0, 0)))
        kept = vectors[:, values < _SURE].T @ directions
        result.append(kept.T @ kept)
    return result


def splits(assembly: Assembly, data: Sequence[GripData]) -> tuple[Split, ...]:
    """How joints between the same two bodies that all rub share what they carry together, by their give.

    Only where the balance of all others tells what they carry together. The share of a load is the same in all poses:
    in the first body's axes neither the joints' points nor their axes move.

    Args:
        data: all that rubs.

    Source: least work (see `simprop.elastic.sharing`), the bodies stiff.
    """
    nodes = [-1 if b.fixed else i for i, b in enumerate(assembly.bodies)]
    groups: dict[tuple[int, int], list[int]] = {}
    for j, joint in enumerate(assembly.joints):
        groups.setdefault((nodes[joint.first], nodes[joint.second]), []).append(j)
    rubbing = {g.joint for g in data}
    found: list[Split] = []
    open_: _Open | None = None
    for joints in groups.values():
        if len(joints) > 1 and rubbing.issuperset(joints):
            open_ = open_ or _opened(assembly)
            rows = {j: [k for k, g in enumerate(data) if g.joint == j] for j in joints}
            for (to, of), matrix in _shares(assembly, joints, open_).items():
                found += [Split(k, rows[of][0], matrix) for k in rows[to]]
    return tuple(found)


def _shares(assembly: Assembly, joints: Sequence[int], open_: _Open) -> dict[tuple[int, int], Array]:
    """What each of some joints takes of the wrench of each, (6, 6); nothing where they share nothing by themselves."""
    size, middle = open_.size, assembly.joints[joints[0]].point
    inward, outward, whole, give = [], [], [], []
    for j in joints:
        joint = assembly.joints[j]
        forces, moments = joint.bars
        arms = np.cross(joint.point - middle, forces) / size
        whole.append(
            np.hstack([np.vstack([forces.T, arms.T]), np.vstack([np.zeros((3, len(moments))), moments.T])])
        )
        ways = np.zeros((len(forces) + len(moments), 6))
        ways[: len(forces), :3], ways[len(forces) :, 3:] = forces, moments
        scale = np.repeat([1.0, size], [len(forces), len(moments)])
        inward.append(ways / scale[:, None])
        outward.append((ways * scale[:, None]).T)
        across, tilt = joint_give(assembly, joint)
        own = np.zeros((6, 6))
        own[:3, :3], own[3:, 3:] = across, size**2 * tilt
        give.append(ways @ own @ ways.T)
    together = np.hstack(whole)
    free = np.vstack([open_.free[open_.places[j]] for j in joints])
    if np.abs(free).max(initial=0.0) < _SURE or np.abs(together @ free).max(initial=0.0) > _SURE:
        return {}  # nothing is open, or what they carry together is
    stiff = np.zeros((len(free), len(free)))
    starts = np.cumsum([0, *(len(g) for g in give)])
    for k, own in enumerate(give):
        stiff[starts[k] : starts[k + 1], starts[k] : starts[k + 1]] = np.linalg.pinv(own, hermitian=True)
    take = (
        stiff
        @ together.T
        @ np.linalg.pinv(together @ stiff @ together.T, rcond=1e-12, hermitian=True)
        @ together
    )
    return {
        (one, two): outward[a] @ take[starts[a] : starts[a + 1], starts[b] : starts[b + 1]] @ inward[b]
        for a, one in enumerate(joints)
        for b, two in enumerate(joints)
    }


class Grips:
    """The limits of load-dependent friction over a run.

    Attributes:
        data: what rubs.
        wrench: of each joint in the step just done, force and moment about its point, world, (G, 6); to be set.
        turn: rotations of the first bodies, (G, 3, 3); to be set where they move.
        rate: of each axis, (G,); to be set.
        limit: present limits, N*m or N, (G,); before the first step what is at rest sticks.
    """

    def __init__(self, assembly: Assembly, data: Sequence[GripData]):
        from simprop.engine.contact.grip_kernel import limits, split

        self.data, count = tuple(data), len(data)
        self.wrench, self.turn = np.zeros((count, 6)), np.tile(np.eye(3), (count, 1, 1))
        self.rate = np.array([axis_rate(assembly, g.axis) for g in self.data])
        self.limit = np.where(self.rate == 0.0, STICKS, 0.0)
        laws = [g.law for g in self.data]
        scalars = np.array([(k.surfaces.static, k.surfaces.kinetic, k.arm, k.length) for k in laws]).reshape(
            -1, 4
        )
        vectors = (
            np.array([g.moment for g in self.data]).reshape(-1, 3, 3),
            np.array([assembly.axes[g.axis].way for g in self.data]).reshape(-1, 3),
        )
        fresh = np.full(count, -1.0)
        self._update: Callable[[], None] = partial(
            limits, scalars, vectors, self.wrench, self.turn, self.rate, fresh, self.limit
        )

        parts = splits(assembly, self.data)
        rows = np.array([(p.to, p.of) for p in parts], dtype=np.int64).reshape(-1, 2)
        blocks = np.array([p.matrix for p in parts]).reshape(-1, 6, 6)
        self._split: Callable[[], None] | None = None
        if parts:
            self._split = partial(split, rows, blocks, self.wrench, self.turn, np.zeros((count, 6)))

    def update(self) -> None:
        """Set `limit` for the next step from `wrench`, `turn` and `rate` of the step just done."""
        if self._split is not None:
            self._split()
        self._update()
