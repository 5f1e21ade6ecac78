"""Dry (Coulomb) friction as an explicit force that brakes within one step but never reverses the motion."""

from __future__ import annotations


def coulomb(limit: float, rate: float, step: float, effective_mass: float) -> float:
    """Friction force against a motion, no larger than what stops it within one step.

    -sign(rate) * min(limit, effective_mass * |rate| / step).

    Args:
        limit: Coulomb friction, N or N*m, 0 or more.
        rate: m/s or rad/s.
        step: s.
        effective_mass: that the friction brakes, kg or kg*m^2; too small a value only softens the sticking.

    Returns:
        N, or N*m for a pin.

    Example:
        >>> coulomb(2.0, 1.0, 1e-3, 0.5), round(coulomb(2.0, 1e-3, 1e-3, 0.5), 9)
        (-2.0, -0.5)
    """
    stopping = effective_mass * rate / step
    return -max(-limit, min(limit, stopping))
