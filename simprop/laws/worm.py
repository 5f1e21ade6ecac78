"""Worm gears: efficiency with the worm driving and with the wheel driving, and self-locking.

Formulas: J. E. Shigley, Mechanical Engineering Design, worm gearing (from memory). Valid for a friction
coefficient below ``cos(pressure angle) / tan(lead angle)``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from simprop.errors import SimpropError


def forward_efficiency(
    lead_angle: float, friction: float, pressure_angle: float = math.radians(14.5)
) -> float:
    """Efficiency when the worm drives the wheel: ``(cos p - mu tan l) / (cos p + mu cot l)``.

    Args:
        lead_angle: of the worm, rad, above 0.
        friction: coefficient at the mesh, plain number.
        pressure_angle: normal pressure angle, rad.

    Example:
        >>> round(forward_efficiency(math.radians(5), 0.09), 2)
        0.48
    """
    _check(lead_angle, friction)
    cos, tan = math.cos(pressure_angle), math.tan(lead_angle)
    return (cos - friction * tan) / (cos + friction / tan)


def backward_efficiency(
    lead_angle: float, friction: float, pressure_angle: float = math.radians(14.5)
) -> float:
    """Efficiency when the wheel drives the worm: ``(cos p - mu cot l) / (cos p + mu tan l)``; zero or
    below: it can't.

    Args:
        lead_angle: of the worm, rad, above 0.
        friction: coefficient at the mesh, plain number.
        pressure_angle: normal pressure angle, rad.

    Example:
        >>> backward_efficiency(math.radians(5), 0.09) < 0
        True
    """
    _check(lead_angle, friction)
    cos, tan = math.cos(pressure_angle), math.tan(lead_angle)
    return (cos - friction / tan) / (cos + friction * tan)


def backward_from_forward(forward: float) -> float:
    """Efficiency backwards of a sliding drive of which only the efficiency forwards is known: ``2 - 1 /
    forward``.

    Exact where the friction loss is the same force both ways (small lead angles; the loss when driven
    forwards is ``1 / forward - 1`` of the work done, and the same loss is taken from the work put in
    backwards); so a drive of efficiency 0.5 or less can't be driven backwards. Textbook rule, no single
    source.

    Args:
        forward: efficiency forwards, 0 to 1.

    Example:
        >>> backward_from_forward(0.5), round(backward_from_forward(0.9), 3)
        (0.0, 0.889)
    """
    if not 0 < forward <= 1:
        raise SimpropError(f"an efficiency lies between 0 and 1, not {forward:.3g}")
    return 2 - 1 / forward


def self_locking(lead_angle: float, friction: float, pressure_angle: float = math.radians(14.5)) -> bool:
    """True if the wheel can't drive the worm: ``mu >= cos p tan l``. Vibration can defeat a narrow margin.

    Args:
        lead_angle: of the worm, rad.
        friction: coefficient at the mesh.
        pressure_angle: normal pressure angle, rad.

    Example:
        >>> self_locking(math.radians(4), 0.1), self_locking(math.radians(20), 0.1)
        (True, False)
    """
    return friction >= math.cos(pressure_angle) * math.tan(lead_angle)


@dataclass(frozen=True)
class Gear:
    """A reduction gear seen from its output.

    Attributes:
        ratio: input turns for one turn of the output.
        forward: efficiency with the input driving, 0 to 1.
        backward: efficiency with the load driving; zero or below means self-locking.
    """

    ratio: float
    forward: float
    backward: float


def input_torque(gear: Gear, load: float) -> float:
    """Torque at the input for steady turning in the positive sense against a torque at the output.

    Args:
        gear: the gear.
        load: torque at the output against the motion, N*m; negative where the load helps.

    Returns:
        N*m; stays positive with a helping load if the gear is self-locking: it must be driven even then.

    Example:
        >>> input_torque(Gear(60.0, 0.48, -0.08), 12.0) > 0 < input_torque(Gear(60.0, 0.48, -0.08), -12.0)
        True
    """
    if load >= 0:
        return load / (gear.ratio * gear.forward)
    return load * gear.backward / gear.ratio


def _check(lead_angle: float, friction: float) -> None:
    if not 0 < lead_angle < math.pi / 2 or friction < 0:
        raise SimpropError("a worm has a lead angle between 0 and 90 degrees and a friction of zero or more")
