"""A hub held on a shaft by set screws."""

from __future__ import annotations

FACTOR_STATIC = 2.0
FACTOR_MOVING = 4.0
"""Least factors: 1.5 to 2 for steady, 4 to 8 for changing loads; holding-power chart text."""
FLAT_ADDS = 0.06
"""A flat on the shaft adds about 6 %; holding-power chart text."""
SECOND_SCREW = 1.3
"""Two screws hold this much of one, 120 degrees apart: less than twice; assumed."""


def hub_torque(holding: float, shaft: float, screws: int = 1, flat: bool = False) -> float:
    """Torque at which a hub slips on its shaft, N*m.

    Args:
        holding: axial holding force of one screw, N.
        shaft: diameter, m.
        screws: 1 or 2.
        flat: the screw sits on a flat.

    Source: machine-design textbook: holding force x shaft radius. A screw is about half the shaft's diameter.

    Example:
        >>> round(hub_torque(1000 * 4.448222, 0.0127) / 0.1129848)
        250
    """
    return hub_pull(holding, screws, flat) * shaft / 2


def hub_pull(holding: float, screws: int = 1, flat: bool = False) -> float:
    """Pull along the shaft at which a hub slips, N.

    Args:
        holding: holding force of one screw, N.
        screws: 1 or 2.
        flat: the screw sits on a flat.

    Example:
        >>> hub_pull(1000.0, 2)
        1300.0
    """
    return holding * (SECOND_SCREW if screws > 1 else 1.0) * (1 + FLAT_ADDS if flat else 1.0)
