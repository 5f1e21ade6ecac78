"""Blind rivets in shear and tension."""

from __future__ import annotations


def rivet_use(shear: float, tension: float, shear_limit: float, tension_limit: float) -> float:
    """Use of a rivet that carries shear and tension together; 1 is the limit.

    Args:
        shear: N.
        tension: N.
        shear_limit: N.
        tension_limit: N.

    Source: linear interaction, the safe side of the ellipse in design texts.

    Example:
        >>> rivet_use(130.0, 160.0, 260.0, 320.0)
        1.0
    """
    return shear / shear_limit + max(tension, 0.0) / tension_limit
