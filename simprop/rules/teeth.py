"""Teeth in bending at their root, and what moves and wears between two flanks."""

from __future__ import annotations

from bisect import bisect_right
from math import inf

FORM = {
    12: 0.245, 13: 0.261, 14: 0.277, 15: 0.290, 16: 0.296, 17: 0.303, 18: 0.309, 19: 0.314, 20: 0.322, 21: 0.328,
    22: 0.331, 24: 0.337, 26: 0.346, 28: 0.353, 30: 0.359, 34: 0.371, 38: 0.384, 43: 0.397, 50: 0.409, 60: 0.422,
    75: 0.435, 100: 0.447, 150: 0.460, 300: 0.472,
}  # fmt: skip
"""Lewis' form factor by the number of teeth, 20 degrees, full depth (Shigley, table 14-2)."""
RACK = 0.485
"""Of a rack."""


def form_factor(teeth: float) -> float:
    """Lewis' form factor, straight between the rows of the table.

    Args:
        teeth: number of them, 12 and more; inf of a rack.

    Raises:
        ValueError: below 12 teeth, for which the table has none.

    Example:
        >>> form_factor(16), round(form_factor(23), 3), form_factor(float("inf"))
        (0.296, 0.334, 0.485)
    """
    counts = list(FORM)
    if teeth < counts[0]:
        raise ValueError(f"{teeth:g} teeth: the table of form factors begins at {counts[0]}")
    if teeth == inf:
        return RACK
    k = bisect_right(counts, teeth) - 1
    if k == len(counts) - 1:
        return FORM[counts[k]]
    low, high = counts[k], counts[k + 1]
    return FORM[low] + (FORM[high] - FORM[low]) * (teeth - low) / (high - low)


def velocity_factor(speed: float) -> float:
    """By how much a milled tooth at speed bears more than it would standing still.

    Args:
        speed: where the wheels roll on each other, m/s.

    Source: Barth's equation for cut or milled profiles, (6.1 + V) / 6.1 (Shigley, equation 14-6).

    Example:
        >>> round(velocity_factor(3.19), 2)
        1.52
    """
    return (6.1 + abs(speed)) / 6.1


def root_stress(force: float, width: float, module: float, teeth: float, speed: float = 0.0) -> float:
    """Stress by bending at the root of a tooth that bears the whole push, Pa.

    Args:
        force: around the wheel, N.
        width: of the teeth along the shaft, m.
        module: pitch diameter over number of teeth, m.
        teeth: number of them, 12 and more; inf of a rack.
        speed: where the wheels roll on each other, m/s.

    Source: Lewis' equation with Barth's factor, Kv W / (F m Y) (Shigley, equation 14-8).

    Raises:
        ValueError: below 12 teeth.

    Example:
        >>> round(root_stress(100.0, 8e-3, 2e-3, 20) / 1e6, 1)
        19.4
    """
    return velocity_factor(speed) * force / (width * module * form_factor(teeth))
