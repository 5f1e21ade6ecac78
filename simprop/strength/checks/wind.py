"""The push of the wind on a prop: on its stand, and through its joints and members."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.contact.touches import TouchData
from simprop.engine.world import APPLIED, Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.loads.newton_euler import Shares, wrenches
from simprop.rig.site import Wind
from simprop.rules import stability
from simprop.strength.checks.holding import Holding, holding
from simprop.strength.members.pieces import pieces

COMPASS = 8
"""Wind directions that are tried on the stand where none is stated."""
THROUGH = 4
"""And on joints and members."""
_FACES = 25
"""Poses of a moving part at which the area that it shows is worked out."""
_SAMPLES = 240
"""Instants of a run at which the wind is put on joints and members, besides those of the peaks."""


@dataclass(frozen=True)
class Blow:
    """The wind on one part.

    Attributes:
        body: index.
        point: where it acts in the start pose, body frame, (3,) m.
        place: where it acts, (n, 3) m.
        force: (n, 3) N.
    """

    body: int
    point: Array
    place: Array
    force: Array


def ways(wind: Wind, count: int) -> list[Array]:
    """Directions in which it may blow, unit (3,) each.

    Args:
        wind: as the rig states it.
        count: of directions round the compass where none is stated.
    """
    if wind.toward is not None:
        return [np.asarray(wind.toward)]
    angles = 2 * np.pi * np.arange(count) / count
    return [np.array([np.cos(a), np.sin(a), 0.0]) for a in angles]


def blows(assembly: Assembly, track: Trajectory, wind: Wind, way: Array) -> Iterator[Blow]:
    """The wind on each part that stands in it, or on the area that the rig states.

    Args:
        assembly: what stands in the wind.
        track: its motion.
        wind: as the rig states it.
        way: unit direction, (3,).

    Source: drag equation; each part by itself, none in the lee of another.
    """
    n = len(track.time)

    def blow(body: int, point: Array, area: Array) -> Blow:
        place = track.position[:, body] + matrices(track.rotation[:, body]) @ point
        size = stability.wind_force(wind.speed, wind.drag) * area
        return Blow(body, point, place, size[:, None] * way)

    own = [i for i, body in enumerate(assembly.bodies) if not body.scenery]
    if wind.area is not None:
        at = np.array(wind.at[:3]) if wind.at is not None else _middle(assembly)
        bodies = [i for i in own if assembly.bodies[i].shapes]
        near = min(bodies, key=lambda i: _distance(assembly, i, at))
        yield blow(near, at - assembly.bodies[near].com, np.full(n, wind.area))
        return
    few = np.unique(np.linspace(0, n - 1, _FACES).astype(int))
    for i in own:
        rows = few[:1] if assembly.bodies[i].fixed else few
        seen = np.einsum("nji,j->ni", matrices(track.rotation[rows, i]), way)
        for shape in assembly.bodies[i].shapes:
            areas = [shape.face(one) for one in seen]
            middle = shape.path.mean(axis=0) if len(shape.path) > 1 else shape.box()[0]
            yield blow(i, middle, np.interp(np.arange(n), rows, areas))


def pushes(
    loads: JointLoads, wind: Wind | None, origin: Array, assumed: list[str]
) -> tuple[tuple[Array, Array], ...]:
    """Wind force and moment about the origin for each direction tried, ((n, 3), (n, 3)); one calm pair without wind.

    Args:
        loads: of a run.
        wind: as the rig states it.
        origin: that moments are about, (3,) m.
        assumed: takes what was assumed.
    """
    assembly, track = loads.recording.assembly, loads.recording.track
    calm = np.zeros((len(track.time), 3))
    if wind is None or wind.speed == 0:
        return ((calm, calm),)
    if wind.toward is None:
        assumed.append("the wind from its worst side")
    if wind.area is None:
        assumed.append(f"wind area estimated from the drawn parts, drag {wind.drag:g}")
    found = []
    for way in ways(wind, COMPASS):
        each = list(blows(assembly, track, wind, way))
        force = sum((b.force for b in each), calm)
        moment = sum((np.cross(b.place - origin, b.force) for b in each), calm)
        found.append((force, moment))
    return tuple(found)


def in_the_wind(loads: JointLoads, wind: Wind) -> list[JointLoads]:
    """The loads of a run with the wind as a steady load on top, one for each direction tried.

    At the instants of the peaks and at even times between them. Motors and pushers hold their place against the wind;
    what nothing holds gives way to it.

    Args:
        loads: of the run.
        wind: as the rig states it.
    """
    track, assembly, laws = loads.recording.track, loads.recording.assembly, loads.recording.laws
    moving = sum(not b.fixed for b in assembly.bodies)
    count = max(12, min(_SAMPLES, 6 * _SAMPLES // max(moving, 1)))
    even = np.linspace(0, len(track.time) - 1, count).astype(int)
    sizes = [np.linalg.norm(x, axis=2) for x in (loads.wrenches.force, loads.wrenches.moment)]
    rows = np.unique([*even, *(r for size in sizes for r in size.argmax(axis=0))])
    thin = _rows(track, rows)
    gusts = [list(blows(assembly, thin, wind, way)) for way in ways(wind, THROUGH)]
    held = holding(assembly, thin, laws, [[(b.body, b.force, b.place) for b in each] for each in gusts])
    return [
        _blown(loads, thin, rows, (each, against), laws) for each, against in zip(gusts, held, strict=True)
    ]


def _rows(track: Trajectory, rows: NDArray[np.int64]) -> Trajectory:
    arrays: dict[str, Any] = {
        name: values[rows]
        for name, values in vars(track).items()
        if isinstance(values, np.ndarray) and len(values)
    }
    return replace(track, **arrays)


def _blown(
    loads: JointLoads,
    track: Trajectory,
    rows: NDArray[np.int64],
    gust: tuple[list[Blow], Holding],
    laws: Actuation,
) -> JointLoads:
    """The run at some of its steps, with the wind on its bodies and all that holds against it."""
    assembly, n = loads.recording.assembly, len(track.time)
    each, held = gust
    touches = tuple(_touch(b) for b in each)
    push = np.stack([b.force for b in each], axis=1)
    place = np.stack([b.place for b in each], axis=1)
    # the wind alone: no weight, no motion, no load but it and what holds against it
    none = ("velocity", "spin", "rate", "applied", "outer_force", "outer_moment")
    still = {name: np.zeros_like(getattr(track, name)) for name in none}
    applied = still["applied"].copy()
    for k, motor in enumerate(laws.motors):
        applied[:, APPLIED.index("motor"), motor.axis] += held.motors[:, k]
    alone = replace(
        track,
        **(still | {"applied": applied}),
        acceleration=held.acceleration,
        spin_acceleration=held.spin_acceleration,
        line_force=held.lines,
        touch_force=push,
        touch_point=place,
    )
    rig = assembly.rig.model_copy(
        update={"run": assembly.rig.run.model_copy(update={"gravity": (0.0, 0.0, 0.0)})}
    )
    more = wrenches(replace(assembly, rig=rig), alone, replace(laws, touches=touches))
    known = loads.wrenches
    whole = replace(
        known,
        point=known.point[rows],
        force=known.force[rows] + more.force,
        moment=known.moment[rows] + more.moment,
        recovered=known.recovered[rows],
        applied=known.applied[rows],
        shares={j: _added(known.shares[j], rows, more.shares[j]) for j in known.shares if j in more.shares},
    )
    blown = replace(
        track,
        acceleration=track.acceleration + held.acceleration,
        spin_acceleration=track.spin_acceleration + held.spin_acceleration,
        line_force=track.line_force + held.lines,
        touch_force=np.concatenate([track.touch_force.reshape(n, -1, 3), push], axis=1),
        touch_point=np.concatenate([track.touch_point.reshape(n, -1, 3), place], axis=1),
    )
    both = replace(laws, touches=(*laws.touches, *touches))
    recording = replace(loads.recording, track=blown, laws=both)
    return replace(loads, recording=recording, wrenches=whole, lasting=False)


def _added(calm: Shares, rows: NDArray[np.int64], wind: Shares) -> Shares:
    """All that a joint can bear of both: the least sum of squares elsewhere is linear in the loads.

    The sizes are those of either alone, added up: no less than those of both.
    """
    equal, alone, most = (
        tuple(a[rows] + b for a, b in zip(getattr(calm, name), getattr(wind, name), strict=True))
        for name in ("equal", "alone", "most")
    )
    return Shares((equal[0], equal[1]), (alone[0], alone[1]), (most[0], most[1]))


def _touch(blow: Blow) -> TouchData:
    none = np.zeros(3)
    return TouchData(
        "wind",
        "ball",
        -1,
        -1,
        blow.body,
        none,
        none,
        blow.point,
        none,
        none,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
    )


def _distance(assembly: Assembly, index: int, at: Array) -> float:
    body = assembly.bodies[index]
    return min(max(p.distance(at - body.com), 0.0) for p in pieces(body))


def _middle(assembly: Assembly) -> Array:
    own = [b for b in assembly.bodies if not b.scenery]
    return np.asarray(sum((b.mass * b.com for b in own), np.zeros(3)) / max(sum(b.mass for b in own), 1e-12))
