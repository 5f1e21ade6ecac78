"""A roll pin (slotted spring pin) through a hub and its shaft, or as a pivot."""

from __future__ import annotations


def pin_shear(double_shear: float, planes: int) -> float:
    """Breaking shear force of a roll pin, N.

    Args:
        double_shear: rated for both planes together, N (ISO 8752).
        planes: 1 or 2.

    Example:
        >>> pin_shear(6320.0, 1)
        3160.0
    """
    return double_shear * planes / 2


def cross_pin_torque(double_shear: float, shaft: float) -> float:
    """Torque at which a pin across a shaft shears at both sides, N*m.

    Args:
        double_shear: N.
        shaft: diameter, m.

    Source: statics: half of the force at each side, at the shaft's radius.

    Example:
        >>> round(cross_pin_torque(6320.0, 0.010), 1)
        31.6
    """
    return double_shear * shaft / 2


def shaft_bearing_torque(stress: float, pin: float, shaft: float) -> float:
    """Torque at which a cross pin crushes the hole in the shaft, N*m.

    Args:
        stress: greatest bearing stress in the shaft, Pa.
        pin: diameter, m.
        shaft: diameter, m.

    Source: statics, pressure growing linearly from the middle: s d D^2 / 6.

    Example:
        >>> round(shaft_bearing_torque(250e6, 3e-3, 10e-3), 1)
        12.5
    """
    return stress * pin * shaft**2 / 6
