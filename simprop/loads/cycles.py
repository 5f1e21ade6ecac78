"""How often a joint goes round, or to and fro."""

from __future__ import annotations

import math

import numpy as np

from simprop.geometry.arrays import Array


def goes_round(coordinate: Array, turning: bool) -> bool:
    """Whether a joint goes round, and not to and fro: it turns, and ends a whole turn or more from where it began.

    Args:
        coordinate: (n,) rad or m, unwrapped.
        turning: the joint turns.

    Example:
        >>> goes_round(np.linspace(0, 7, 50), True), goes_round(np.sin(np.linspace(0, 7, 50)), True)
        (True, False)
    """
    return turning and abs(float(coordinate[-1] - coordinate[0])) >= 2 * math.pi * (1 - 1e-9)


def cycle_marks(coordinate: Array, time: Array, turning: bool) -> Array:
    """When each cycle of a joint coordinate begins, the last mark being the end of the last whole one.

    For a joint that goes round: passages of its start angle after a first turn (or from the start where fewer than
    two turns are made). For one that goes to and fro: its rises from the lowest quarter of its travel to the highest,
    or its falls where these tell more cycles, each timed at the middle.

    Args:
        coordinate: (n,) rad or m, unwrapped.
        time: (n,) s.
        turning: the joint turns.

    Returns:
        (k,) s, rising; fewer than two where there is no whole cycle.

    Example:
        >>> t = np.linspace(0, 4, 4001)
        >>> cycle_marks(np.sin(2 * np.pi * t + 0.1), t, True).round(3).tolist()
        [0.984, 1.984, 2.984]
    """
    if goes_round(coordinate, turning):
        way = math.copysign(1.0, float(coordinate[-1] - coordinate[0]))
        gone = (coordinate - coordinate[0]) * way / (2 * math.pi)
        turns = math.floor(float(gone[-1]) + 1e-9)
        first = 1 if turns >= 2 else 0
        return np.array([_first_reach(gone, time, float(n)) for n in range(first, turns + 1)])
    if float(np.ptp(coordinate)) < 1e-9:
        return np.zeros(0)
    rises, falls = (_rises(way * coordinate, time) for way in (1.0, -1.0))
    return rises if len(rises) > 1 or len(falls) < 2 else falls


def _rises(values: Array, time: Array) -> Array:
    """When it passes the middle from its lowest quarter to its highest, (k,) s."""
    low, high = float(values.min()), float(values.max())
    quarter = 0.25 * (high - low)
    side = np.where(values > high - quarter, 1, np.where(values < low + quarter, -1, 0))
    seen = np.flatnonzero(side)
    rises = np.flatnonzero((side[seen[:-1]] < 0) & (side[seen[1:]] > 0))
    rows = (slice(int(seen[k]), int(seen[k + 1]) + 1) for k in rises)
    return np.array([float(np.interp((low + high) / 2, values[own], time[own])) for own in rows])


def cycle_rate(coordinate: Array, time: Array, turning: bool) -> float | None:
    """Cycles a minute of a joint coordinate: the mean over all that `cycle_marks` tells.

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
    marks = cycle_marks(coordinate, time, turning)
    return 60.0 * (len(marks) - 1) / float(marks[-1] - marks[0]) if len(marks) > 1 else None


def _first_reach(gone: Array, time: Array, level: float) -> float:
    row = int(np.argmax(gone >= level - 1e-9))
    if row == 0:
        return float(time[0])
    step = gone[row] - gone[row - 1]
    return float(time[row - 1] + (level - gone[row - 1]) / step * (time[row] - time[row - 1]))
