"""Inner loops of what touches, for the exudyn engine: forces of the bodies that touch, and how they change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.compiled import compiled
from simprop.engine.contact.touches import TouchData
from simprop.engine.contact.touching import Touching, touched
from simprop.geometry.arrays import Array

_EULER = 7
_NEAR, _SLOW = 1e-9, 1e-7
"""Changes of places (m, Euler parameters) and speeds from which slopes are taken: far below how deep things press."""


class Generalised:
    """Generalised forces of the bodies that touch, on their shifts and Euler parameters.

    Args:
        assembly: the prop.
        data: where it touches.
        step: s.
        bodies: that move and touch something, by index.
        rows: place of touch, body among those, and sense of the force on it, of each push.

    Attributes:
        force, point: of each place of touch as last worked out, (C, 3) N and m.
    """

    def __init__(
        self,
        assembly: Assembly,
        data: Sequence[TouchData],
        step: float,
        bodies: Sequence[int],
        rows: Sequence[tuple[int, int, int]],
    ):
        self._touching = Touching(assembly, data, step)
        self.force, self.point = self._touching.force, self._touching.point
        self._which = np.array(bodies, dtype=np.int64)
        self._rows = np.array(rows, dtype=np.int64).reshape(-1, 3)
        self._centres = np.array([assembly.bodies[b].com for b in bodies]).reshape(-1, 3)
        self._step = step

    def at(self, places: Array, speeds: Array, elapsed: float, commit: bool) -> Array:
        """Forces at places and speeds, (7 b,); `commit`: these begin a step."""
        found = np.zeros(len(places))
        given = (self._touching.state, self._which, self._centres, self._rows)
        _pushed(*given, self.force, self.point, places, speeds, elapsed, self._step, commit, found)
        return found

    def slope(self, places: Array, speeds: Array, elapsed: float, of_place: float, of_speed: float) -> Array:
        """What they lose for a change of places times `of_place` and of speeds times `of_speed`, (7 b, 7 b)."""
        found = np.zeros((len(places), len(places)))
        given = (self._touching.state, self._which, self._centres, self._rows)
        force, point = self.force.copy(), self.point.copy()
        _sloped(*given, force, point, places, speeds, elapsed, self._step, of_place, of_speed, found)
        return found


@compiled
def placed(which: Any, centres: Any, places: Any, speeds: Any, bodies: Any) -> None:
    """Poses and speeds of bodies from their shifts and Euler parameters."""
    position, turn, velocity, spin = bodies
    unit = np.empty(4)
    for k in range(len(which)):
        b, at = which[k], _EULER * k
        unit[0] = 1.0 + places[at + 3]
        for j in range(3):
            position[b, j] = centres[k, j] + places[at + j]
            velocity[b, j] = speeds[at + j]
            unit[j + 1] = places[at + 4 + j]
        r, x, y, z = unit[0], unit[1], unit[2], unit[3]
        dr, dx, dy, dz = speeds[at + 3], speeds[at + 4], speeds[at + 5], speeds[at + 6]
        spin[b, 0] = 2.0 * (-x * dr + r * dx - z * dy + y * dz)
        spin[b, 1] = 2.0 * (-y * dr + z * dx + r * dy - x * dz)
        spin[b, 2] = 2.0 * (-z * dr - y * dx + x * dy + r * dz)
        size = r * r + x * x + y * y + z * z
        turn[b, 0, 0] = 1.0 - 2.0 * (y * y + z * z) / size
        turn[b, 0, 1] = 2.0 * (x * y - r * z) / size
        turn[b, 0, 2] = 2.0 * (x * z + r * y) / size
        turn[b, 1, 0] = 2.0 * (x * y + r * z) / size
        turn[b, 1, 1] = 1.0 - 2.0 * (x * x + z * z) / size
        turn[b, 1, 2] = 2.0 * (y * z - r * x) / size
        turn[b, 2, 0] = 2.0 * (x * z - r * y) / size
        turn[b, 2, 1] = 2.0 * (y * z + r * x) / size
        turn[b, 2, 2] = 1.0 - 2.0 * (x * x + y * y) / size


@compiled
def generalised(rows: Any, which: Any, force: Any, point: Any, position: Any, places: Any, out: Any) -> None:
    """Forces at points as generalised forces of the bodies."""
    out[:] = 0.0
    for m in range(len(rows)):
        c, k, sign = rows[m]
        b, at = which[k], _EULER * k
        u, v, w = sign * force[c, 0], sign * force[c, 1], sign * force[c, 2]
        p, q, s = (
            point[c, 0] - position[b, 0],
            point[c, 1] - position[b, 1],
            point[c, 2] - position[b, 2],
        )
        mx, my, mz = q * w - s * v, s * u - p * w, p * v - q * u
        r, x, y, z = 1.0 + places[at + 3], places[at + 4], places[at + 5], places[at + 6]
        out[at] += u
        out[at + 1] += v
        out[at + 2] += w
        out[at + 3] += 2.0 * (-x * mx - y * my - z * mz)
        out[at + 4] += 2.0 * (r * mx + z * my - y * mz)
        out[at + 5] += 2.0 * (-z * mx + r * my + x * mz)
        out[at + 6] += 2.0 * (y * mx - x * my + r * mz)


@compiled
def _pushed(
    state: Any, which: Any, centres: Any, rows: Any, force: Any, point: Any, places: Any, speeds: Any,
    elapsed: float, step: float, commit: bool, out: Any,
) -> None:  # fmt: skip
    what, vectors, scalars, bodies, memory = state
    placed(which, centres, places, speeds, bodies)
    touched(what, vectors, scalars, bodies, memory, force, point, elapsed, step, commit, True)
    generalised(rows, which, force, point, bodies[0], places, out)


@compiled
def _sloped(
    state: Any, which: Any, centres: Any, rows: Any, force: Any, point: Any, places: Any, speeds: Any,
    elapsed: float, step: float, of_place: float, of_speed: float, out: Any,
) -> None:  # fmt: skip
    count = len(places)
    base, moved = np.zeros(count), np.zeros(count)
    where, pace = places.copy(), speeds.copy()
    _pushed(state, which, centres, rows, force, point, where, pace, elapsed, step, False, base)
    for j in range(count):
        where[j] += _NEAR
        _pushed(state, which, centres, rows, force, point, where, pace, elapsed, step, False, moved)
        where[j] = places[j]
        for i in range(count):
            out[i, j] = -of_place * (moved[i] - base[i]) / _NEAR
        pace[j] += _SLOW
        _pushed(state, which, centres, rows, force, point, where, pace, elapsed, step, False, moved)
        pace[j] = speeds[j]
        for i in range(count):
            out[i, j] -= of_speed * (moved[i] - base[i]) / _SLOW
