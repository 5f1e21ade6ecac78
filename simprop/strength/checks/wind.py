"""The push of the wind on a prop."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rig.site import Wind
from simprop.rules import stability

COMPASS = 8
"""Wind directions that are tried where none is stated."""


def pushes(
    loads: JointLoads, wind: Wind | None, origin: Array, assumed: list[str]
) -> tuple[tuple[Array, Array], ...]:
    """Wind force and moment about the origin for each direction tried, ((n, 3), (n, 3)); one calm pair without wind.

    Args:
        origin: that moments are about, (3,) m.
        assumed: takes what was assumed.
    """
    n = len(loads.recording.track.time)
    calm = (np.zeros((n, 3)), np.zeros((n, 3)))
    if wind is None or wind.speed == 0:
        return (calm,)
    if wind.toward is not None:
        ways = [np.asarray(wind.toward)]
    else:
        angles = 2 * np.pi * np.arange(COMPASS) / COMPASS
        ways = [np.array([np.cos(a), np.sin(a), 0.0]) for a in angles]
        assumed.append("the wind from its worst side")
    if wind.area is None:
        assumed.append(f"wind area estimated from the drawn parts, drag {wind.drag:g}")
    return tuple(_push(loads, wind, origin, way) for way in ways)


def _push(loads: JointLoads, wind: Wind, origin: Array, way: Array) -> tuple[Array, Array]:
    assembly, track = loads.recording.assembly, loads.recording.track
    n = len(track.time)
    force, moment = np.zeros((n, 3)), np.zeros((n, 3))
    if wind.area is not None:
        one = stability.wind_force(wind.speed, wind.drag * wind.area) * way
        at = np.array(wind.at[:3]) if wind.at is not None else _middle(assembly)
        return force + one, moment + np.cross(at - origin, one)
    for i, body in enumerate(assembly.bodies):
        if body.scenery:
            continue
        turn = matrices(track.rotation[:, i])
        for shape in body.shapes:
            one = stability.wind_force(wind.speed, wind.drag * shape.face(way)) * way
            at = track.position[:, i] + turn @ shape.path.mean(axis=0)
            force += one
            moment += np.cross(at - origin, np.tile(one, (n, 1)))
    return force, moment


def _middle(assembly: Assembly) -> Array:
    own = [b for b in assembly.bodies if not b.scenery]
    return np.asarray(sum((b.mass * b.com for b in own), np.zeros(3)) / max(sum(b.mass for b in own), 1e-12))
