"""Sizes that are sold, for what to change a part to."""

from __future__ import annotations

STEPS_MM = (2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 38, 50, 64, 75, 100)
"""Thicknesses and diameters, mm: common stock, no source."""


def larger(size: float, most: float = float("inf")) -> list[float]:
    """Sizes of stock over a size, up to `most` times as large, m.

    Example:
        >>> larger(0.049, 2.0)
        [0.05, 0.064, 0.075]
    """
    return [s * 1e-3 for s in STEPS_MM if size * 1.02 < s * 1e-3 <= most * size]
