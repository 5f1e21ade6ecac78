"""Brushed DC motor as the straight line between its no-load and its stall point, at the output shaft.

Source of the model: the linear permanent-magnet DC motor of any text on electrical machines. The losses of
motor and gears are those that the two points imply: at no load the whole torque of the no-load current goes
into friction.
"""

from __future__ import annotations

from dataclasses import dataclass

from simprop.errors import Fault, RigError


@dataclass(frozen=True)
class DcLine:
    """A DC motor by its constants, all at the output shaft.

    Attributes:
        resistance: of the winding and leads, ohm.
        speed_constant: back EMF per output speed, V*s/rad.
        torque_constant: electromagnetic torque at the output per ampere, N*m/A.
        friction_current: current that its own friction takes, A.
        rated_voltage: voltage at which its figures were stated, V.
    """

    resistance: float
    speed_constant: float
    torque_constant: float
    friction_current: float
    rated_voltage: float


def line_from_figures(
    rated_voltage: float,
    no_load_speed: float,
    stall_torque: float,
    no_load_current: float,
    stall_current: float,
) -> DcLine:
    """The motor's constants from the five figures of a data sheet.

    R = V / Is, k = (V - I0 R) / w0, kt = Ts / (Is - I0).

    Args:
        rated_voltage: V, above 0.
        no_load_speed: rad/s, above 0.
        stall_torque: N*m, above 0.
        no_load_current: A, 0 or more.
        stall_current: A, above the no-load current.

    Raises:
        RigError: when the figures don't describe a motor.

    Example:
        >>> from math import pi
        >>> line = line_from_figures(12.0, 45 * pi / 30, 15.0, 1.5, 15.0)
        >>> round(line.resistance, 3), round(line.torque_constant, 4)
        (0.8, 1.1111)
    """
    faults = [
        Fault(f"the {name} of a DC motor must be above zero", field=field, value=f"{value:g} {unit}")
        for name, field, value, unit in (
            ("rated voltage", "rated_voltage", rated_voltage, "V"),
            ("no-load speed", "no_load_speed", no_load_speed, "rad/s"),
            ("stall torque", "stall_torque", stall_torque, "N*m"),
        )
        if not value > 0
    ]
    if not stall_current > no_load_current >= 0:
        faults.append(
            Fault(
                "the stall current must lie above the no-load current",
                field="stall_current",
                value=f"{stall_current:g} A",
                allowed=f"more than {no_load_current:g} A",
            )
        )
    if faults:
        raise RigError(faults)
    resistance = rated_voltage / stall_current
    return DcLine(
        resistance=resistance,
        speed_constant=(rated_voltage - no_load_current * resistance) / no_load_speed,
        torque_constant=stall_torque / (stall_current - no_load_current),
        friction_current=no_load_current,
        rated_voltage=rated_voltage,
    )


def current(line: DcLine, voltage: float, speed: float) -> float:
    """Current at a terminal voltage and an output speed, A; negative while the motor feeds back.

    Args:
        voltage: at the terminals, V.
        speed: of the output shaft, rad/s, in the sense in which a positive voltage drives.

    Example:
        >>> round(current(line_from_figures(12.0, 4.712, 15.0, 1.5, 15.0), 12.0, 4.712), 6)
        1.5
    """
    return (voltage - line.speed_constant * speed) / line.resistance


def torque(line: DcLine, voltage: float, speed: float) -> float:
    """Electromagnetic torque kt * I at the output shaft, N*m, before the motor's own friction is taken off.

    Args:
        voltage: at the terminals, V.
        speed: of the output shaft, rad/s.

    Example:
        >>> line = line_from_figures(12.0, 4.712, 15.0, 1.5, 15.0)
        >>> round(torque(line, 12.0, 0.0) - friction_torque(line), 6)
        15.0
    """
    return line.torque_constant * (voltage - line.speed_constant * speed) / line.resistance


def friction_torque(line: DcLine) -> float:
    """The motor's own friction at the output shaft, N*m: kt * I0, there too when it is switched off.

    Example:
        >>> friction_torque(DcLine(0.8, 2.3, 1.0, 1.5, 12.0))
        1.5
    """
    return line.torque_constant * line.friction_current


def limited(line: DcLine, voltage: float, speed: float, limit: float) -> tuple[float, float]:
    """Current and terminal voltage when the supply gives no more than `limit` amperes either way.

    Beyond the limit the supply folds its voltage back to what that current needs: V = I R + k w.

    Args:
        voltage: of the supply, V.
        speed: of the output shaft, rad/s.
        limit: largest current, A, inf for a supply that gives what is asked.

    Returns:
        (current, A; voltage at the terminals, V).

    Example:
        >>> limited(DcLine(0.8, 2.3, 1.0, 1.5, 12.0), 12.0, 0.0, 5.0)
        (5.0, 4.0)
    """
    amperes = (voltage - line.speed_constant * speed) / line.resistance
    if -limit <= amperes <= limit:
        return amperes, voltage
    amperes = limit if amperes > 0 else -limit
    return amperes, amperes * line.resistance + line.speed_constant * speed
