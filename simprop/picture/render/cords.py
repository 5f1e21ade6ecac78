"""Cords as they are drawn: short pieces along their whole way, round wheels and sagging where they are slack."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import actuate
from simprop.engine.acting.cords import CordData, Cording
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices

SAG, ARC = 8, 16
"""Pieces in which a span and the arc on a round thing are drawn."""


def cord_pieces(assembly: Assembly) -> list[tuple[str, float]]:
    """Name and diameter (m) of each piece in which the cords of a prop are drawn, in the order of `along_cords`."""
    found = []
    for name, cord in assembly.rig.cords.items():
        arcs = sum(place.diameter is not None for place in cord.places)
        found += [(name, cord.diameter)] * (SAG * (len(cord.places) - 1) + ARC * arcs)
    return found


def with_cords(assembly: Assembly, track: Trajectory) -> Trajectory:
    """A track to be drawn: behind its lines stand the pieces of its cords as further lines."""
    if not assembly.rig.cords:
        return track
    start, end = along_cords(assembly, track.position, track.rotation)
    ends = ((track.line_start, start), (track.line_end, end))
    starts, stops = (np.concatenate(both, axis=1) for both in ends)
    return replace(track, line_start=starts, line_end=stops)


def along_cords(assembly: Assembly, position: Array, rotation: Array) -> tuple[Array, Array]:
    """Ends of all those pieces at n poses that follow each other, (n, k, 3) m each.

    Args:
        position: centres of mass, (n, B, 3) m.
        rotation: of the bodies from the start, (n, B, 4).
    """
    data, n = actuate(assembly).cords, len(position)
    laid = Cording(assembly, data)
    turns = matrices(rotation.reshape(-1, 4)).reshape(n, -1, 3, 3)
    point, bent = np.zeros((n, *laid.point.shape)), np.zeros((n, len(laid.bent)))
    loose = np.zeros((n, len(laid.loose)))
    for row in range(n):
        laid.bodies[0][:-1], laid.bodies[1][:-1] = position[row], turns[row]
        laid.act(commit=True)
        point[row], bent[row], loose[row] = laid.point, np.maximum(laid.bent, 0.0), laid.loose
    starts, ends, span, place = [], [], 0, 0
    for cord in data:
        path = _path(cord, point[:, 2 * span :], bent[:, place:], loose[:, span:], (position, turns))
        for piece in path:
            starts += list(np.moveaxis(piece[:, :-1], 1, 0))
            ends += list(np.moveaxis(piece[:, 1:], 1, 0))
        span, place = span + len(cord.places) - 1, place + len(cord.places)
    return np.stack(starts, axis=1), np.stack(ends, axis=1)


def _path(cord: CordData, point: Array, bent: Array, loose: Array, poses: tuple[Array, Array]) -> list[Array]:
    """Corners of the arcs and spans of a cord, (n, k, 3) m each."""
    found, last = [], len(cord.places) - 1
    for i, place in enumerate(cord.places):
        if place.radius > 0.0:
            turn = poses[1][:, place.body]
            centre, axis = poses[0][:, place.body] + turn @ place.point, turn @ place.axis
            angle = np.full(len(bent), -2 * np.pi) if i == 0 else bent[:, i]
            angle = np.full(len(bent), 2 * np.pi) if i == last else angle
            arm = point[:, 0 if i == 0 else 2 * i - 1] - centre
            by = place.way * angle[:, None] * np.linspace(0.0, 1.0, ARC + 1)
            side = np.cross(axis, arm)
            found.append(
                centre[:, None] + np.cos(by)[..., None] * arm[:, None] + np.sin(by)[..., None] * side[:, None]
            )
        if i < last:
            found.append(_sagging(point[:, 2 * i], point[:, 2 * i + 1], loose[:, i]))
    return found


def _sagging(start: Array, end: Array, loose: Array) -> Array:
    """A span that hangs through by what it is longer than straight, (n, SAG + 1, 3) m.

    Source: a shallow arc of a parabola is 8 f^2 / (3 l) longer than its chord.
    """
    line = end - start
    length = np.maximum(np.linalg.norm(line, axis=1), 1e-9)[:, None]
    unit = line / length
    way = np.array(
        [0.02, 0.01, -1.0]
    )  # not quite down, so that a span that hangs straight down sags sideways
    across = way - unit * (unit @ way)[:, None]
    across /= np.maximum(np.linalg.norm(across, axis=1), 1e-9)[:, None]
    deep = np.sqrt(3.0 / 8.0 * length[:, 0] * loose)[:, None, None]
    t = np.linspace(0.0, 1.0, SAG + 1)[:, None]
    return np.asarray(start[:, None] + t * line[:, None] + 4.0 * deep * t * (1.0 - t) * across[:, None])
