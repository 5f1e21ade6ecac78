"""Side clearance of parts that pass each other on a bolt, with washers between them."""

from __future__ import annotations

LEAST_CLEARANCE = 0.5e-3
"""Side play to leave on a moving joint, m. Common practice, no source."""


def side_clearance(spacing: float, first_half: float, second_half: float) -> float:
    """Side gap between two parts beside each other on a bolt, m; negative: they run into each other.

    Args:
        spacing: between their middle planes, m.
        first_half: half of the first part's width along the bolt, m.
        second_half: of the second part's, m.

    Example:
        >>> round(side_clearance(0.025, 0.0107, 0.0107) * 1e3, 1)
        3.6
    """
    return spacing - first_half - second_half
