"""A motor behind a self-locking gear: the load can't drive it, and it holds when it is off.

While the load resists, motor and load move as one and the motor's straight line acts. Once the load would
drive the motor, the gear wedges: the output turns no faster than the motor turns by itself, which no longer
feels the load but for the torque that a gear of negative backward efficiency asks for even then (see
`simprop.laws.worm`). It holds up to the holding torque; beyond that the gear strips.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign

from simprop.laws.dc import DcLine, friction_torque

NOISE = 2e-3
"""Torques under this share of the stall torque count as none."""


@dataclass(frozen=True)
class Locking:
    """A DC motor with a self-locking gear, at its output (a turn, or a slide in N and m/s).

    Attributes:
        line: the motor.
        inertia: of the rotor at the output, kg*m^2 or kg.
        holding: torque or force at which the gear strips, N*m or N.
        breakaway: extra torque that it needs to start from rest, N*m or N.
        wedging: share of a helping load that the motor must give to let it down: minus the product of the
            efficiencies forwards and backwards, 0 or more.
    """

    line: DcLine
    inertia: float
    holding: float
    breakaway: float = 0.0
    wedging: float = 0.0


@dataclass(frozen=True)
class Wedge:
    """Whether the gear is wedged, and how fast the motor's side of it turns.

    Attributes:
        held: True: the output is held to `speed`; False: motor and output move as one.
        speed: of the motor's side at the output, rad/s or m/s.
    """

    held: bool = True
    speed: float = 0.0


def drive_torque(line: DcLine, voltage: float | None, speed: float) -> float:
    """Electromagnetic torque at the output, N*m; none with the motor cut off (None).

    Args:
        voltage: at its terminals, V; None: cut off.
        speed: of the output, rad/s.
    """
    if voltage is None:
        return 0.0
    return line.torque_constant * (voltage - line.speed_constant * speed) / line.resistance


def free_speed(
    gear: Locking, speed: float, voltage: float | None, step: float, helping: float = 0.0
) -> float:
    """Speed of the motor's side one step later when it turns by itself against its own friction.

    Args:
        speed: before, rad/s.
        voltage: at its terminals, V; None: cut off.
        step: s.
        helping: load that the gear lets down, N*m.

    Example:
        >>> motor = Locking(DcLine(0.8, 2.3, 1.1, 1.5, 12.0), 0.06, 30.0)
        >>> 0.0 < free_speed(motor, 0.0, 12.0, 1e-3) < 0.5, free_speed(motor, 0.01, None, 1e-3)
        (True, 0.0)
    """
    line = gear.line
    push = slope = 0.0
    if voltage is not None:
        push = line.torque_constant * voltage / line.resistance
        slope = line.torque_constant * line.speed_constant / line.resistance
    brake = 1 + step * slope / gear.inertia
    moved = (speed + step * push / gear.inertia) / brake
    lost = step * (friction_torque(line) + gear.wedging * abs(helping)) / gear.inertia / brake
    return 0.0 if abs(moved) <= lost else moved - copysign(lost, moved)


def advance(
    gear: Locking, wedge: Wedge, voltage: float | None, rate: float, *, contact: float, step: float
) -> Wedge:
    """The wedge for the coming step.

    Args:
        voltage: at its terminals in the coming step, V; None: cut off.
        rate: of the output now, rad/s.
        contact: torque that the gear put on the output in the last step, N*m, in the sense of the rate.
        step: s.

    Example:
        >>> motor = Locking(DcLine(0.8, 2.3, 1.1, 1.5, 12.0), 0.06, 30.0)
        >>> advance(motor, Wedge(), None, 0.0, contact=5.0, step=1e-3)
        Wedge(held=True, speed=0.0)
        >>> advance(motor, Wedge(), 12.0, 0.0, contact=5.0, step=1e-3)
        Wedge(held=False, speed=0.0)
    """
    line = gear.line
    noise = NOISE * line.torque_constant * line.rated_voltage / line.resistance
    push = drive_torque(line, voltage, 0.0)
    spare = abs(push) - friction_torque(line) - gear.breakaway
    if not wedge.held:
        way = wedge.speed if wedge.speed != 0.0 else push
        if rate * way < 0 or (rate == 0.0 and spare <= 0):
            return Wedge(True, 0.0)
        if contact * rate < 0 and abs(contact) > noise:
            return Wedge(True, free_speed(gear, rate, voltage, step, contact))
        return Wedge(False, rate)
    if wedge.speed != 0.0:
        if contact * wedge.speed > 0 and abs(contact) > noise:
            return Wedge(False, wedge.speed)
        return Wedge(True, free_speed(gear, wedge.speed, voltage, step, contact))
    if spare <= 0:
        return wedge
    if contact * push < 0 and abs(contact) > noise:
        return Wedge(True, free_speed(gear, 0.0, voltage, step, contact))
    return Wedge(False, 0.0) if spare > abs(contact) or abs(contact) <= noise else wedge
