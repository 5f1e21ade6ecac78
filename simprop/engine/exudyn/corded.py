"""What cords do to the bodies, for the exudyn engine: generalised forces, and how they change."""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.compiled import compiled
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.cord_kernel import pulled
from simprop.engine.acting.cords import Cording
from simprop.engine.exudyn.touch_kernel import generalised, placed
from simprop.geometry.arrays import Array

_NEAR, _SLOW = 1e-8, 1e-7
"""Changes of places (m, Euler parameters) and speeds from which slopes are taken."""


class Corded:
    """All cords, as generalised forces of the bodies that they pull at.

    Attributes:
        bodies: those that move, by index.
    """

    def __init__(self, assembly: Assembly, actuation: Actuation):
        laid = Cording(assembly, actuation.cords)
        met = [(k, b) for k, b in enumerate(laid.ends.tolist()) if not assembly.bodies[b].fixed]
        self.bodies = tuple(dict.fromkeys(b for _, b in met))
        rows = [(k, self.bodies.index(b), 1) for k, b in met]
        self._which = np.array(self.bodies, dtype=np.int64)
        self._rows = np.array(rows, dtype=np.int64).reshape(-1, 3)
        self._centres = np.array([assembly.bodies[b].com for b in self.bodies]).reshape(-1, 3)
        self._state = laid.state

    def at(self, places: Array, speeds: Array, commit: bool = False) -> Array:
        """Forces at places and speeds, (7 b,); `commit`: these begin a step."""
        found = np.zeros(len(places))
        _pushed(self._state, self._which, self._centres, self._rows, places, speeds, commit, found)
        return found

    def slope(self, places: Array, speeds: Array, of_place: float, of_speed: float) -> Array:
        """What they lose for a change of places times `of_place` and of speeds times `of_speed`, (7 b, 7 b)."""
        found = np.zeros((len(places), len(places)))
        given = (self._state, self._which, self._centres, self._rows)
        _sloped(*given, places, speeds, of_place, of_speed, found)
        return found


@compiled
def _pushed(
    state: Any, which: Any, centres: Any, rows: Any, places: Any, speeds: Any, commit: bool, out: Any
) -> None:
    cords, passed, spans, memory, bodies, found = state
    placed(which, centres, places, speeds, bodies)
    pulled(cords, passed, spans, memory, bodies, found, commit)
    generalised(rows, which, found[0], found[1], bodies[0], places, out)


@compiled
def _sloped(
    state: Any, which: Any, centres: Any, rows: Any, places: Any, speeds: Any, of_place: float,
    of_speed: float, out: Any,
) -> None:  # fmt: skip
    count = len(places)
    base, moved = np.zeros(count), np.zeros(count)
    where, pace = places.copy(), speeds.copy()
    _pushed(state, which, centres, rows, where, pace, False, base)
    for j in range(count):
        where[j] += _NEAR
        _pushed(state, which, centres, rows, where, pace, False, moved)
        where[j] = places[j]
        for i in range(count):
            out[i, j] = -of_place * (moved[i] - base[i]) / _NEAR
        pace[j] += _SLOW
        _pushed(state, which, centres, rows, where, pace, False, moved)
        pace[j] = speeds[j]
        for i in range(count):
            out[i, j] -= of_speed * (moved[i] - base[i]) / _SLOW
