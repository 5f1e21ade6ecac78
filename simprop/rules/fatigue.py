"""Wear over a season: cycles counted by rainflow, stress against cycles, Miner's sum, life in nights."""

from __future__ import annotations

from math import inf

import numpy as np

from simprop.catalog.strengths import FatigueLine
from simprop.geometry.arrays import Array

GATE = 0.01
"""Ranges under this share of the whole range are left out: at a slope of 3 they count a millionth."""


def turning_points(history: Array, gate: float = GATE) -> Array:
    """The peaks and valleys of a history, without wiggles under `gate` of its whole range.

    Args:
        history: (n,).
        gate: share of the whole range.

    Returns:
        (m,) the turning points in order, first and last value included.

    Example:
        >>> turning_points(np.array([0.0, 1.0, 2.0, 1.999, 2.5, 0.0, 1.0])).tolist()
        [0.0, 2.5, 0.0, 1.0]
    """
    values = np.asarray(history, float)
    if len(values) < 3:
        return values
    change = np.diff(values)
    keep = np.concatenate([[True], change != 0])
    values = np.asarray(values[keep])
    if len(values) < 3:
        return values
    bends = np.nonzero(np.diff(np.sign(np.diff(values))))[0] + 1
    points = values[np.concatenate([[0], bends, [len(values) - 1]])]
    least = gate * float(np.ptp(points))
    kept = [float(points[0])]
    for point in points[1:]:
        if abs(point - kept[-1]) >= least:
            if len(kept) > 1 and (point - kept[-1]) * (kept[-1] - kept[-2]) > 0:
                kept[-1] = float(point)
            else:
                kept.append(float(point))
        elif len(kept) > 1 and (point - kept[-1]) * (kept[-1] - kept[-2]) > 0:
            kept[-1] = float(point)
    return np.array(kept)


def count_cycles(history: Array, gate: float = GATE) -> Array:
    """Rainflow cycles of a history.

    Args:
        history: (n,) stress or force.
        gate: see `turning_points`.

    Returns:
        (m, 3) range, mean, count (1 or 0.5) of each cycle.

    Source: ASTM E1049 rainflow counting, by the package `rainflow`.

    Example:
        >>> count_cycles(np.array([0.0, 3.0, 0.0, 3.0, 0.0])).tolist()
        [[3.0, 1.5, 0.5], [3.0, 1.5, 0.5], [3.0, 1.5, 0.5], [3.0, 1.5, 0.5]]
    """
    import rainflow

    rows = [(r, m, c) for r, m, c, _, _ in rainflow.extract_cycles(turning_points(history, gate).tolist())]
    return np.array(rows, float).reshape(-1, 3)


def reversed_amplitude(amplitude: Array, mean: Array, ultimate: float) -> Array:
    """Amplitude of the reversed cycle that wears as much, Pa; infinite where the mean reaches the strength.

    Args:
        amplitude: stress amplitude, Pa.
        mean: mean stress, Pa.
        ultimate: tensile strength, Pa.

    Source: Goodman, sa / (1 - sm/Su); a pressing mean counts as zero (the safe side).

    Example:
        >>> float(reversed_amplitude(np.array(10.0), np.array(20.0), 40.0))
        20.0
    """
    room = 1 - np.maximum(mean, 0.0) / ultimate
    return np.asarray(np.where(room > 0, amplitude / np.where(room > 0, room, 1.0), np.inf))


def cycles_to_failure(line: FatigueLine, ultimate: float, amplitude: Array, mean: Array) -> Array:
    """Cycles that a stress can be borne.

    Args:
        ultimate: tensile strength, Pa.
        amplitude: Pa, any shape.
        mean: Pa, same shape.

    Returns:
        Cycles, same shape; infinite below the limit of a line that ends.

    A line taken from zero is compared with the peak of the cycle from zero that wears as much by Goodman: S = 2 A /
    (1 + A/Su) with A the reversed amplitude. A cycle from zero to S gives the line's own value.

    Example:
        >>> psi = 6894.757293168
        >>> line = FatigueLine(psi, 5.05e21, 4.906, True, False)
        >>> half = np.array(750 * psi)
        >>> round(float(cycles_to_failure(line, 7000 * psi, half, half)))
        1322476
    """
    level = reversed_amplitude(amplitude, mean, ultimate)
    if line.from_zero:
        finite = np.isfinite(level)
        safe = np.where(finite, level, 0.0)
        level = np.where(finite, 2 * safe / (1 + safe / ultimate), np.inf)
    with np.errstate(divide="ignore", over="ignore"):
        life = line.cycles * (line.stress / np.where(level > 0, level, np.nan)) ** line.slope
    life = np.where(level > 0, life, np.inf)
    if line.endless:
        life = np.where(level < line.stress, np.inf, life)
    return np.asarray(life)


def damage(line: FatigueLine, ultimate: float, cycles: Array) -> float:
    """Miner's sum of counted cycles; 1 is the end of life.

    Args:
        ultimate: tensile strength, Pa.
        cycles: (m, 3) range, mean, count, Pa.

    Source: Palmgren and Miner, sum n/N.

    Example:
        >>> line = FatigueLine(100e6, 1e6, 5.0, False, False)
        >>> damage(line, 400e6, np.array([[200e6, 0.0, 1000.0]]))
        0.001
    """
    if len(cycles) == 0:
        return 0.0
    life = cycles_to_failure(line, ultimate, cycles[:, 0] / 2, cycles[:, 1])
    return float(np.sum(cycles[:, 2] / life))


def life_nights(per_run: float, run: float, hours: float, runs_an_hour: float | None = None) -> float:
    """Life in nights.

    Args:
        per_run: Miner's sum of one recorded run.
        run: its length, s.
        hours: a night.
        runs_an_hour: how often the recorded run is played; None: one after the other without a pause.

    Example:
        >>> life_nights(1e-6, 6.0, 4.0)
        416.6666666666667
    """
    often = 3600 / run if runs_an_hour is None else runs_an_hour
    wear = per_run * often * hours
    return inf if wear == 0 else 1 / wear
