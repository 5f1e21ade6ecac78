"""Hose clamps and straps on a pipe: slip along it and round it."""

from __future__ import annotations

from math import pi

CREDIT = 0.5
"""Of the ideal band's grip: real contact and creep of the plastic. Assumed, practice."""
BAND_TENSION = 500.0
"""Tension of a worm-drive band at 3 to 4.5 N*m on its screw, N: low end of 0.5 to 2 kN, practice, from memory."""
FRICTION_ON_PVC = 0.2
"""Steel band on PVC: low end of 0.2 to 0.3, practice, from memory."""


def band_pull(tension: float, friction: float, credit: float = CREDIT) -> float:
    """Pull along the pipe at which a band slips, N.

    Args:
        tension: of the band, N.
        friction: coefficient.
        credit: share of the ideal band that counts.

    Source: ideal band, 2 pi mu T.

    Example:
        >>> round(band_pull(1000.0, 0.25), 1)
        785.4
    """
    return credit * 2 * pi * friction * tension


def band_torque(tension: float, friction: float, radius: float, credit: float = CREDIT) -> float:
    """Torque about the pipe at which a band slips, N*m.

    Args:
        tension: of the band, N.
        friction: coefficient.
        radius: of the pipe, m.
        credit: share of the ideal grip that counts.

    Source: ideal band, 2 pi mu T r.

    Example:
        >>> round(band_torque(1000.0, 0.25, 0.0134), 2)
        10.52
    """
    return band_pull(tension, friction, credit) * radius
