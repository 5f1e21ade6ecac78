"""Fillet welds in steel, and how aluminium softens beside a weld."""

from __future__ import annotations

from math import sqrt

GAMMA = 1.25
"""Partial factor of welds, EN 1993-1-8."""
BETA = 0.8
"""Correlation factor of S235-class steel, EN 1993-1-8 table 4.1, from memory."""
WELDED_6061_YIELD = 80e6
"""Yield of 6061-T6 beside a weld, Pa: low end of 80 to 105 MPa, from memory."""
FATIGUE_STRESS, FATIGUE_CYCLES, FATIGUE_SLOPE = 36e6, 2e6, 3.0
"""Detail category 36 (root of a fillet weld): range Pa at cycles, slope; EN 1993-1-9, from memory."""


def throat(leg: float) -> float:
    """Throat of an equal-leg fillet weld, m.

    Args:
        leg: m.

    Example:
        >>> round(throat(4e-3) * 1e3, 2)
        2.83
    """
    return leg / sqrt(2)


def fillet_load(throat_size: float, length: float, ultimate: float) -> float:
    """Design load of a fillet weld in any direction, N; it already holds the partial factor 1.25.

    Args:
        throat_size: m.
        length: m.
        ultimate: tensile strength of the weaker part, Pa.

    Source: EN 1993-1-8 simplified method: fu / (sqrt(3) beta gamma) a L.

    Example:
        >>> round(fillet_load(3e-3, 0.05, 360e6))
        31177
    """
    return ultimate / (sqrt(3) * BETA * GAMMA) * throat_size * length
