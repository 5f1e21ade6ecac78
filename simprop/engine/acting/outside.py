"""What acts on bodies from outside of the prop's own mechanism: strips that hang on them, and the air.

Both are worked out once a step, from the poses and speeds that it begins with, and held over it (carried on by half of
what they changed by in the last one, so that they count for its middle).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Any, TypeVar

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.faces import faces_of
from simprop.errors import Fault, RigError
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.laws.forms import Note
from simprop.rules.stability import AIR
from simprop.strips.base import Strips

T = TypeVar("T")

STRETCH = 500.0
"""Pull that would stretch a strip to double its length, in its own weight: cloth gives less, and doesn't show it."""
LOSS = 0.6
"""Damping ratio of a link that stretches, which is no more than a help to hold its length."""
CREASE = 1.0
"""And of a fold as short as two links under half the weight of the strip (assumed: cloth doesn't ring)."""
FINE = 0.4
"""Step of a strip times its highest frequency."""
DOWN = np.array([0.0, 0.0, -1.0])


@dataclass(frozen=True)
class Hold:
    """Where an end of a strip is held: body by index, place in its frame (3,) m, row of `Outer`."""

    body: int
    point: Array
    row: int


@dataclass(frozen=True)
class StripData:
    """A strip in the start pose.

    Attributes:
        name: of its row of strips in the rig.
        kind: what the rig says of them.
        holds: its held ends, one or two.
        way: unit direction in which it leaves the body, in its frame, (3,).
        width: unit direction of its width there, (3,).
        points: heavy points.
        numbers: of the kernel: mass of a point kg, link m, stiffness N/m and damper N*s/m of a link, bending N/m, drag
            force at 1 m/s N, whether it is flat, damper of a crease N*s/m.
        step: longest step that it takes, s.
    """

    name: str
    kind: Strips
    holds: tuple[Hold, ...]
    way: Array
    width: Array
    points: int
    numbers: tuple[float, ...]
    step: float


@dataclass(frozen=True)
class FaceData:
    """A face of a body in the air: row of `Outer`, body, sort, point, normal or axis (3,), drag force at 1 m/s N."""

    row: int
    body: int
    sort: int
    point: Array
    normal: Array
    size: float


@dataclass(frozen=True)
class Outer:
    """Something from outside that acts on a body.

    Attributes:
        name: of the strips, or of the body that the air brakes.
        sort: strip or air.
        body: index.
        point: that its moment is about, in the frame of the body, (3,) m.
    """

    name: str
    sort: str
    body: int
    point: Array


@dataclass(frozen=True)
class OutsideData:
    """All of it; `wind` is that of the air, (3,) m/s."""

    rows: tuple[Outer, ...] = ()
    strips: tuple[StripData, ...] = ()
    faces: tuple[FaceData, ...] = ()
    wind: Array | None = None


NOTHING = OutsideData()


def outside(assembly: Assembly, note: Note) -> OutsideData:
    """What acts on a prop from outside.

    Args:
        assembly: the prop.
        note: takes what a person should know, one sentence each.

    Raises:
        RigError: where strips don't reach, or hang on one body at both ends.
    """
    rig, rows = assembly.rig, list[Outer]()
    strips: list[StripData] = []
    for name, kind in rig.strips.items():
        strips += _row(assembly, name, kind, rows)
        note(f"strips.{name}: {kind.said}")
    faces: list[FaceData] = []
    for i, body in enumerate(assembly.bodies):
        drag = rig.bodies[body.called].drag if body.called in rig.bodies else False
        if drag is False or body.fixed:
            continue
        found = [f for shape in body.shapes for f in faces_of(shape, None if drag is True else drag)]
        faces += [FaceData(len(rows), i, *face) for face in found]
        if found:
            rows.append(Outer(body.name, "air", i, np.zeros(3)))
    wind = np.zeros(3)
    if rig.run.wind and rig.wind is not None and rig.wind.toward is not None:
        wind = rig.wind.speed * np.asarray(rig.wind.toward)
    return OutsideData(tuple(rows), tuple(strips), tuple(faces), wind)


def _row(assembly: Assembly, name: str, kind: Strips, rows: list[Outer]) -> Iterator[StripData]:
    count, ends = kind.many, kind.held
    roots = [edge.roots(count) for edge in ends]
    lists: list[list[tuple[int, Array]]] = []
    for edge, found in zip(ends, roots, strict=True):
        bodies = [assembly.carrier(edge.on, place) for place, _ in found]
        lists.append([(b, assembly.bodies[b].local(p)) for b, (p, _) in zip(bodies, found, strict=True)])
    first: list[dict[int, int]] = []
    for edge, held in zip(ends, lists, strict=True):
        first.append({})
        for b in dict.fromkeys(b for b, _ in held):
            middle = np.mean([p for body, p in held if body == b], axis=0)
            first[-1][b] = len(rows)
            rows.append(Outer(name if edge is kind else f"{name} at its end", "strip", b, np.asarray(middle)))
    for k in range(count):
        holds = tuple(Hold(held[k][0], held[k][1], first[e][held[k][0]]) for e, held in enumerate(lists))
        yield _strip(assembly, name, kind, holds, roots[0][k][1])


def _strip(assembly: Assembly, name: str, kind: Strips, holds: tuple[Hold, ...], edge: Array) -> StripData:
    body = assembly.bodies[holds[0].body]
    gravity = np.asarray(assembly.rig.run.gravity)
    g = float(np.linalg.norm(gravity)) or 9.80665
    way = np.asarray(body.placement.turn @ np.asarray(kind.toward)) if kind.toward else _down(gravity)
    places = [assembly.bodies[h.body].com + h.point for h in holds]
    if len(places) == 2:
        far = float(np.linalg.norm(places[1] - places[0]))
        if far > 0.999 * kind.length:
            message = f"its two ends are {1e3 * far:.4g} mm apart, and it is {1e3 * kind.length:.4g} mm long"
            raise RigError([Fault(message, field=f"strips.{name}.length", allowed="longer than that")])
        if far > 1e-9:
            way = (places[1] - places[0]) / far if kind.toward is None else way
    width = np.asarray(body.placement.turn @ edge) if edge.any() else _across(way)
    n = kind.parts
    link, weight = kind.length / n, kind.linear * g
    mass, stiff = kind.linear * link, STRETCH * weight * kind.length / link
    bent = weight * kind.limp**3 / link**3
    most = sqrt(6.0 * stiff / mass + 40.0 * bent / mass)
    drag = 0.5 * AIR * kind.coefficient * kind.wide * link
    flat = 0.0 if kind.drawn[0] else 1.0
    crease = CREASE * mass / 8.0 * 2.0 * sqrt(0.5 * g * kind.length) / link
    numbers = (mass, link, stiff, 2.0 * LOSS * sqrt(stiff * mass), bent, drag, flat, crease)
    return StripData(name, kind, holds, way, width, n, numbers, FINE / most)


def _down(gravity: Array) -> Array:
    size = float(np.linalg.norm(gravity))
    return gravity / size if size > 0 else DOWN


def _across(way: Array) -> Array:
    """A level direction across one, x where there is a choice."""
    least = np.array([1.0, 0.0, 0.0]) if abs(way[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    found = least - way * float(least @ way)
    return np.asarray(found / np.linalg.norm(found))


class Outside:
    """The strips and the air of a run.

    Args:
        assembly: the prop.
        data: what acts on it.

    Attributes:
        bodies: position, turn, velocity and spin, to be set by the engine, as in `Touching`.
        force, moment: of each row on its body, about its point, as held over the step, (K, 3) N and N*m.
        point: world place of each row, (K, 3) m.
        which: body of each row, (K,).
        held: energy that the strips hold, what the air took from them and what they lost, (3,) J.
        places: heavy points of all strips, (P, 3) m.
    """

    def __init__(self, assembly: Assembly, data: OutsideData):
        self.data, rows, strips = data, data.rows, data.strips
        count = len(assembly.bodies) + 1
        position, velocity, spin = (np.zeros((count, 3)) for _ in range(3))
        position[:-1] = [b.com for b in assembly.bodies]
        self.bodies = position, np.tile(np.eye(3), (count, 1, 1)), velocity, spin
        self.which = np.array([r.body for r in rows], dtype=np.int64)
        self._local = np.array([r.point for r in rows]).reshape(-1, 3)
        self.force, self.moment, self.point = (np.zeros((len(rows), 3)) for _ in range(3))
        self._last: tuple[Array, Array] | None = None
        wind = np.zeros(3) if data.wind is None else data.wind
        gravity = np.asarray(assembly.rig.run.gravity, dtype=float)
        self._hold_strips(strips)
        self._faces = (
            np.array([f.body for f in data.faces], dtype=np.int64),
            np.array([f.sort for f in data.faces], dtype=np.int64),
            np.array([f.point for f in data.faces]).reshape(-1, 3),
            np.array([f.normal for f in data.faces]).reshape(-1, 3),
            np.array([f.size for f in data.faces]),
        )
        self._row = np.array([f.row for f in data.faces], dtype=np.int64)
        self._air = gravity, wind
        counts = np.array([s.points for s in strips], dtype=np.int64)
        firsts = np.concatenate([[0], np.cumsum(counts)])[: len(strips)].astype(np.int64)
        numbers = np.array([s.numbers for s in strips]).reshape(-1, 8)
        ends = np.array([len(s.holds) for s in strips], dtype=np.int64)
        self._strips = firsts, counts, ends, numbers, np.array([s.step for s in strips])
        total = int(counts.sum())
        self.places, rest = np.zeros((total, 3)), np.zeros(total + len(strips))
        self._state = self.places, np.zeros((total, 3)), rest
        self._pulls, self.held = np.zeros((len(strips), 3, 3)), np.zeros(3)
        self.ends = self._world()
        self._lay(firsts.tolist(), counts.tolist())

    def _hold_strips(self, strips: Sequence[StripData]) -> None:
        both = [(s.holds[0], s.holds[-1]) for s in strips]
        self._body = np.array([[h.body for h in pair] for pair in both], dtype=np.int64).reshape(-1, 2)
        self._point = np.array([[h.point for h in pair] for pair in both]).reshape(-1, 2, 3)
        self._of = np.array([[h.row for h in pair] for pair in both], dtype=np.int64).reshape(-1, 2)
        self._way = np.array([s.way for s in strips]).reshape(-1, 3)
        self._width = np.array([s.width for s in strips]).reshape(-1, 3)

    def _world(self) -> tuple[Array, Array, Array, Array]:
        """Places, speeds (S, 2, 3), way out and width (S, 3) of the ends of all strips."""
        from simprop.engine.acting.strip_kernel import carried

        found = tuple(np.zeros(v.shape) for v in (self._point, self._point, self._way, self._width))
        work: Any = carried
        work((self._body, self._point, self._way, self._width), self.bodies, found)
        return found[0], found[1], found[2], found[3]

    def _lay(self, firsts: list[int], counts: list[int]) -> None:
        """Lay the strips out as they leave their bodies, and bring them to rest."""
        from simprop.engine.acting.strip_kernel import settled

        place, _, way, _ = self.ends
        rest = self._state[2]
        for s, data in enumerate(self.data.strips):
            f, n, link = firsts[s], counts[s], data.numbers[1]
            at = (np.arange(n) + 0.5) / n
            rest[f + s : f + s + n + 1] = link
            rest[f + s] = rest[f + s + n] = 0.5 * link
            if len(data.holds) == 2:
                line = place[s, 1] - place[s, 0]
                far = float(np.linalg.norm(line))
                deep = sqrt(0.375 * max(far, 0.1 * n * link) * (n * link - far))
                down = _down(self._air[0]) * min(deep, 0.45 * n * link)
                self.places[f : f + n] = (
                    place[s, 0] + at[:, None] * line + (4 * at * (1 - at))[:, None] * down
                )
            else:
                self.places[f : f + n] = place[s, 0] + at[:, None] * n * link * way[s]
        if self.data.strips:
            work: Any = settled
            work(self._strips, (*self.ends, *self._air), self._state)

    def step(self, h: float) -> None:
        """Follow the bodies to where they are now, a step later, and work out what holds over the next one.

        Args:
            h: s since the last call; 0 at the start.
        """
        from simprop.engine.acting.strip_kernel import blown, stepped, summed

        before, self.ends = self.ends, self._world()
        kernel: Any = stepped
        if self.data.strips:
            out = self._pulls, self.held
            kernel(self._strips, before, (*self.ends, *self._air), self._state, h, out)
        position, turn, _, _ = self.bodies
        arm = np.einsum("kij,kj->ki", turn[self.which], self._local)
        self.point[:] = position[self.which] + arm
        force, moment = np.zeros_like(self.force), np.zeros_like(self.moment)
        add: Any = summed
        if self.data.strips:
            _, _, ends, numbers, _ = self._strips
            links = numbers[:, 1].copy()
            add(self._of, ends, links, self.ends, self._pulls, self.point, force, moment)
        air: Any = blown
        if len(self._row):
            air(self._faces, self.bodies, self._air[1], self._row, force, moment)
        old = (force, moment) if self._last is None or h == 0.0 else self._last
        self._last = force, moment
        self.force[:], self.moment[:] = 1.5 * force - 0.5 * old[0], 1.5 * moment - 0.5 * old[1]

    def about_centres(self) -> Iterator[tuple[int, Array, Array]]:
        """Body, force and moment about its centre of mass, of each row."""
        for k, b in enumerate(self.which.tolist()):
            yield (
                b,
                self.force[k],
                self.moment[k] + np.cross(self.point[k] - self.bodies[0][b], self.force[k]),
            )


class Log:
    """What acted from outside at each step of a run."""

    def __init__(self, laid: Outside):
        self._laid = laid
        self._rows: list[tuple[Array, Array, Array]] = []

    def add(self) -> None:
        """A step has begun."""
        laid = self._laid
        self._rows.append((laid.force.copy(), laid.moment.copy(), laid.held.copy()))

    def into(self, track: T) -> T:
        """A `Trajectory` with it."""
        own: Any = track
        force, moment, held = (np.array(v) for v in zip(*self._rows, strict=True))
        made: T = replace(own, outer_force=force, outer_moment=moment, held=held)
        return made


def along(assembly: Assembly, data: OutsideData, track: Any) -> Iterator[Outside]:
    """The strips and the air at each row of a track, always the same thing."""
    laid = Outside(assembly, data)
    position, turn, velocity, spin = laid.bodies
    turns = matrices(track.rotation.reshape(-1, 4)).reshape(*track.rotation.shape[:2], 3, 3)
    for n in range(len(track.time)):
        position[:-1], turn[:-1] = track.position[n], turns[n]
        velocity[:-1], spin[:-1] = track.velocity[n], track.spin[n]
        laid.step(float(track.time[n] - track.time[n - 1]) if n else 0.0)
        yield laid
