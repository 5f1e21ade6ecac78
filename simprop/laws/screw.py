"""Power screws and lead screws: torque to raise and to lower, efficiency, and whether the load stays put.

Formulas: J. E. Shigley, Mechanical Engineering Design, power screws (from memory). A trapezoidal thread
counts as a square one with the friction divided by the cosine of its half angle. Valid for friction below
``pi * d / lead``
(the screw jams there) and lead angles to about 30 degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from simprop.errors import SimpropError


@dataclass(frozen=True)
class Screw:
    """A screw and nut.

    Attributes:
        mean_diameter: of the thread, m.
        lead: travel for one turn, m.
        friction: of the thread, plain number.
        half_angle: of the thread profile, rad; 0 for a square thread, 15 deg for a metric trapezoidal one.
        collar_diameter: mean diameter of a plain thrust collar, m; 0 for a ball bearing.
        collar_friction: of that collar, plain number.
    """

    mean_diameter: float
    lead: float
    friction: float
    half_angle: float = 0.0
    collar_diameter: float = 0.0
    collar_friction: float = 0.0


def _thread_friction(screw: Screw) -> float:
    if min(screw.mean_diameter, screw.lead) <= 0 or screw.friction < 0:
        raise SimpropError("a screw needs a diameter and a lead above zero and a friction of zero or more")
    return screw.friction / math.cos(screw.half_angle)


def raising_torque(screw: Screw, load: float) -> float:
    """Torque that moves the load against its force.

    ``T = F d/2 (l + pi mu d) / (pi d - mu l) + F mu_c d_c / 2``

    Args:
        screw: the screw.
        load: axial force, N.

    Returns:
        Torque, N*m.

    Raises:
        SimpropError: when the friction is so great that no torque turns the screw.

    Example:
        >>> square = Screw(0.030, 0.008, 0.08, collar_diameter=0.040, collar_friction=0.08)
        >>> round(raising_torque(square, 6400.0), 2)
        26.18
    """
    mu, d = _thread_friction(screw), screw.mean_diameter
    below = math.pi * d - mu * screw.lead
    if below <= 0:
        raise SimpropError(
            f"thread friction {mu:.3g} jams this screw: it must be below {math.pi * d / screw.lead:.3g}"
        )
    return load * d / 2 * (screw.lead + math.pi * mu * d) / below + collar_torque(screw, load)


def lowering_torque(screw: Screw, load: float) -> float:
    """Torque that moves the load with its force; negative where the load runs down by itself.

    ``T = F d/2 (pi mu d - l) / (pi d + mu l) + F mu_c d_c / 2``

    Args:
        screw: the screw.
        load: axial force, N.

    Returns:
        Torque, N*m.

    Example:
        >>> round(lowering_torque(Screw(0.007, 0.002, 0.15, half_angle=math.radians(15)), 200.0) * 1e3, 2)
        44.41
    """
    mu, d = _thread_friction(screw), screw.mean_diameter
    thread = load * d / 2 * (math.pi * mu * d - screw.lead) / (math.pi * d + mu * screw.lead)
    return thread + collar_torque(screw, load)


def collar_torque(screw: Screw, load: float) -> float:
    """Friction torque of the plain thrust collar, N*m: ``F mu_c d_c / 2``.

    Args:
        screw: its collar.
        load: axial force, N.

    Example:
        >>> collar_torque(Screw(0.030, 0.008, 0.08, collar_diameter=0.040, collar_friction=0.08), 6400.0)
        10.24
    """
    return load * screw.collar_friction * screw.collar_diameter / 2


def efficiency(screw: Screw) -> float:
    """Work on the load over work of the torque when raising: ``F l / (2 pi T)``.

    Args:
        screw: the screw with its collar.

    Example:
        >>> round(efficiency(Screw(0.007, 0.002, 0.15, half_angle=math.radians(15))), 3)
        0.364
    """
    return screw.lead / (2 * math.pi * raising_torque(screw, 1.0))


def backward_efficiency(screw: Screw) -> float:
    """Work at the screw over work of the load when the load drives: ``-2 pi T_lower / (F l)``.

    Zero or below: the load can't drive the screw; it must be driven down.

    Args:
        screw: the screw with its collar.

    Example:
        >>> backward_efficiency(Screw(0.007, 0.002, 0.15)) < 0
        True
    """
    return -2 * math.pi * lowering_torque(screw, 1.0) / screw.lead


def self_locking(screw: Screw) -> bool:
    """True if the load stays put with no torque on the screw.

    Vibration shakes screws loose that this formula calls locking: keep a margin of friction.

    Args:
        screw: the screw with its collar.

    Example:
        >>> self_locking(Screw(0.007, 0.002, 0.15))
        True
    """
    return lowering_torque(screw, 1.0) > 0


def least_friction_to_hold(screw: Screw) -> float:
    """Thread friction at which the load just stays put without a collar: ``cos(half angle) l / (pi d)``.

    Args:
        screw: the screw; its own friction is not used.

    Returns:
        Plain number, as the coefficient of the real (inclined) flank.

    Example:
        >>> round(least_friction_to_hold(Screw(0.030, 0.008, 0.08)), 4)
        0.0849
    """
    return math.cos(screw.half_angle) * screw.lead / (math.pi * screw.mean_diameter)
