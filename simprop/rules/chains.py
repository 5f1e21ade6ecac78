"""What roller chains break at."""

from __future__ import annotations

CHAINS = {
    6.35e-3: 3500.0,
    8e-3: 4400.0,
    9.525e-3: 7900.0,
    12.7e-3: 13900.0,
    15.875e-3: 21800.0,
    19.05e-3: 31300.0,
}
"""Least breaking load of a single chain by its pitch, N by m: 04C, 05B, 06C, 08A, 10A and 12A of ISO 606 (from memory;
of one pitch the weaker series)."""
FACTOR = 7.0
"""Least factor of a chain's breaking load over the pull of its tight side (7 to 8: common practice of chain makers,
from memory)."""


def breaking_load(pitch: float) -> float | None:
    """Least breaking load of a single roller chain, N; None where no standard chain has this pitch within 1 %.

    Args:
        pitch: from pin to pin, m.

    Example:
        >>> breaking_load(12.7e-3), breaking_load(5e-3)
        (13900.0, None)
    """
    return next((load for size, load in CHAINS.items() if abs(pitch / size - 1) < 0.01), None)
