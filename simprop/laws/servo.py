"""Hobby (RC) servo: a small gearmotor that turns to a commanded angle, with speed, torque and dead band.

The motor is the straight speed-torque line of a DC motor, scaled by the supply voltage; its electronics drive
it in full when the error is larger than a few degrees, in proportion under that, and not at all within the
dead band (common practice, no source). Friction of the gears holds it when it isn't driven.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.errors import SimpropError
from simprop.geometry.arrays import Array


@dataclass(frozen=True)
class Servo:
    """A servo at its output shaft.

    Attributes:
        no_load_speed: rad/s at the rated voltage.
        stall_torque: N*m at the rated voltage.
        stall_current: A at the rated voltage.
        idle_current: A while it holds without load.
        rated_voltage: V.
        dead_band: error that it ignores, rad to either side.
        full_band: error from which it drives in full, rad.
        friction: of its gears, N*m; there too when it isn't driven.
        run_up: time constant of its own run-up, s (sets its inertia).
    """

    no_load_speed: float
    stall_torque: float
    stall_current: float
    idle_current: float
    rated_voltage: float
    dead_band: float = 0.01
    full_band: float = 0.09
    friction: float = 0.0
    run_up: float = 0.02


def speed_from_time(seconds_per_60_deg: float) -> float:
    """Speed of a servo by the time it takes for 60 degrees, rad/s.

    Args:
        seconds_per_60_deg: without load, s, above 0.

    Example:
        >>> round(speed_from_time(0.20) * 30 / np.pi, 9)
        50.0
    """
    if seconds_per_60_deg <= 0:
        raise SimpropError("the time for 60 degrees must be above 0 s")
    return float(np.pi / 3 / seconds_per_60_deg)


def inertia(servo: Servo) -> float:
    """Inertia of motor and gears at the output shaft: run-up time constant x stall torque / no-load speed.

    Returns:
        kg*m^2.

    Example:
        >>> round(inertia(Servo(5.0, 0.4, 1.0, 0.01, 5.0, run_up=0.02)), 6)
        0.0016
    """
    return servo.run_up * servo.stall_torque / servo.no_load_speed


def drive(servo: Servo, error: float, rate: float = 0.0) -> float:
    """Share of the supply voltage that the electronics put on the motor, -1 to 1.

    Args:
        error: commanded angle less angle, rad.
        rate: of the output, rad/s; the electronics look one run-up time ahead, so that it doesn't overshoot.

    Example:
        >>> box = Servo(5.0, 0.4, 1.0, 0.01, 5.0, dead_band=0.01, full_band=0.11)
        >>> drive(box, 0.005), round(drive(box, -0.06), 6), drive(box, 2.0)
        (0.0, -0.5, 1.0)
    """
    ahead = error - servo.run_up * rate
    over = abs(ahead) - servo.dead_band
    if over <= 0:
        return 0.0
    share = min(1.0, over / (servo.full_band - servo.dead_band))
    return share if ahead > 0 else -share


def follow(
    servo: Servo, time: Array, command: Array, voltage: float | None = None, load_inertia: float = 0.0
) -> Array:
    """Angle of a servo without load torque that follows a command.

    Args:
        time: instants, (n,) s, evenly spaced, 5 ms apart or closer.
        command: commanded angle at those, (n,) rad.
        voltage: at the servo, V; None for its rated voltage.
        load_inertia: of what it turns, kg*m^2.

    Returns:
        Angle, (n,) rad, from the first command at rest.

    Raises:
        SimpropError: when the instants are further apart than 5 ms.

    Example:
        >>> t = np.arange(0, 1, 0.002)
        >>> box = Servo(5.0, 0.4, 1.0, 0.01, 5.0)
        >>> angle = follow(box, t, np.where(t > 0.1, 1.0, 0.0))
        >>> bool(abs(angle[-1] - 1.0) < 0.02)
        True
    """
    gap = float(time[1] - time[0])
    if gap > 0.005 + 1e-9:
        raise SimpropError("a servo is followed at instants 5 ms apart or closer")
    parts = max(1, int(np.ceil(gap / min(0.0005, servo.run_up / 20))))
    h = gap / parts
    mass = inertia(servo) + load_inertia
    volts = servo.rated_voltage if voltage is None else voltage
    slope = servo.stall_torque / servo.no_load_speed
    angle, rate = float(command[0]), 0.0
    out = np.empty(len(command))
    for i, goal in enumerate(command):
        out[i] = angle
        for _ in range(parts):
            push = servo.stall_torque * drive(servo, goal - angle, rate) * volts / servo.rated_voltage
            free = (rate + h * push / mass) / (1 + h * slope / mass)
            held = h * servo.friction / mass
            rate = 0.0 if abs(free) <= held else free - held * (1.0 if free > 0 else -1.0)
            angle += h * rate
    return out
