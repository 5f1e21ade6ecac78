"""What the exudyn engine records, row by row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.exudyn.touch import EULER
from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array


@dataclass(frozen=True)
class Log:
    """Rows of a run, each at the start of its step.

    Attributes:
        state: places, speeds and accelerations as the engine counts them, (n, 3, C).
        applied: loads on the axes, (n, 5, A).
        line_force: (n, L) N.
        voltage, current: (n, M).
        touch_force, touch_point: (n, T, 3).
        slip_force: (n, S) N.
    """

    state: Array
    applied: Array
    line_force: Array
    voltage: Array
    current: Array
    touch_force: Array
    touch_point: Array
    slip_force: Array

    @staticmethod
    def empty(assembly: Assembly, actuation: Actuation, steps: int) -> Log:
        """Rows to be filled."""
        axes, lines, touches = len(assembly.axes), len(actuation.lines), len(actuation.touches)
        moving = sum(not b.fixed for b in assembly.bodies)
        return Log(
            np.zeros((steps, 3, EULER * moving)),
            np.zeros((steps, len(APPLIED), axes)),
            np.zeros((steps, lines)),
            np.full((steps, actuation.columns), np.nan),
            np.full((steps, actuation.columns), np.nan),
            np.zeros((steps, touches, 3)),
            np.zeros((steps, touches, 3)),
            np.zeros((steps, len(actuation.slips))),
        )
