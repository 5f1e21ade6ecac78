"""How often a joint goes round, or to and fro."""

from __future__ import annotations

import math

import numpy as np

from simprop.geometry.arrays import Array


def cycle_rate(coordinate: Array, time: Array, turning: bool) -> float | None:
    """Cycles a minute of a joint coordinate.

    For a joint that goes round: whole turns between the first and the last passage of its start angle after a first
    turn (or from the start where fewer than two turns are made). For one that goes to and fro: the mean time between
    rises from the lowest quarter of its travel to the highest, each timed at the middle.

    Args:
        coordinate: (n,) rad or m, unwrapped.
        time: (n,) s.
        turning: the joint turns.

    Returns:
        1/min, or None where there are less than one whole cycle.

    Example:
        >>> t = np.linspace(0, 4, 4001)
        >>> round(cycle_rate(2 * np.pi * 0.5 * t, t, True), 6), round(cycle_rate(np.sin(2 * np.pi * t), t, True), 3)
        (30.0, 60.0)
    """
    if turning and abs(coordinate[-1] - coordinate[0]) >= 2 * math.pi * (1 - 1e-9):
        gone = (
            (coordinate - coordinate[0])
            * math.copysign(1.0, float(coordinate[-1] - coordinate[0]))
            / (2 * math.pi)
        )
        turns = math.floor(float(gone[-1]) + 1e-9)
        first = 1 if turns >= 2 else 0
        marks = [_first_reach(gone, time, float(n)) for n in (first, turns)]
        return None if marks[1] <= marks[0] else 60.0 * (turns - first) / (marks[1] - marks[0])
    low, high = float(coordinate.min()), float(coordinate.max())
    if high - low < 1e-9:
        return None
    side = np.where(
        coordinate > high - 0.25 * (high - low), 1, np.where(coordinate < low + 0.25 * (high - low), -1, 0)
    )
    seen = np.flatnonzero(side)
    rises = np.flatnonzero((side[seen[:-1]] < 0) & (side[seen[1:]] > 0))
    crossings = []
    for k in rises:
        rows_ = slice(int(seen[k]), int(seen[k + 1]) + 1)
        crossings.append(float(np.interp((low + high) / 2, coordinate[rows_], time[rows_])))
    if len(crossings) < 2:
        return None
    return 60.0 * (len(crossings) - 1) / (crossings[-1] - crossings[0])


def _first_reach(gone: Array, time: Array, level: float) -> float:
    row = int(np.argmax(gone >= level - 1e-9))
    if row == 0:
        return float(time[0])
    step = gone[row] - gone[row - 1]
    return float(time[row - 1] + (level - gone[row - 1]) / step * (time[row] - time[row - 1]))
