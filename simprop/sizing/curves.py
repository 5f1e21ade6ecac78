"""What a class of drive can do at a voltage: its line, and curves over its speed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import nan

import numpy as np
from numpy.typing import NDArray

from simprop.catalog.motors import MotorRow, motors
from simprop.drives.kinds import (
    AirPusher,
    DcMotor,
    LinearPusher,
    LockPusher,
    ServoMotor,
    SolenoidPusher,
    SteadyTorque,
    SynchronousMotor,
    figures_of,
)
from simprop.engine.acting.driving import servo_line
from simprop.laws import actuator
from simprop.laws.dc import DcLine, line_from_figures

Array = NDArray[np.float64]

MOST_VOLTAGE = 1.25
"""A drive isn't run from more than so many times its rated voltage (assumed)."""
VOLTAGES = (3.3, 5.0, 12.0)
"""Voltages that people have at hand, V."""


@dataclass(frozen=True)
class Able:
    """What a drive can do at one voltage.

    Attributes:
        voltage: V; NaN for mains and air.
        speed: without load, rad/s or m/s; 0 when it doesn't start.
        stall: greatest net torque or force, of a linear actuator at most its rated one, N*m or N; 0 when it
            doesn't start.
        idle_current: A; NaN where not known.
        stall_current: A; NaN where not known.
        turns: rad/s and N*m; False: m/s and N.
    """

    voltage: float
    speed: float
    stall: float
    idle_current: float
    stall_current: float
    turns: bool


def straight_line(figures: object) -> DcLine | None:
    """The DC line inside a drive, or None where it has none.

    Example:
        >>> round(straight_line(figures_of("wiper")).resistance, 2)
        0.8
    """
    if isinstance(figures, DcMotor):
        return line_from_figures(
            figures.rated_voltage,
            figures.no_load_speed,
            figures.stall_torque,
            figures.no_load_current,
            figures.stall_current,
        )
    if isinstance(figures, ServoMotor):
        return servo_line(figures)
    if isinstance(figures, LinearPusher):
        return actuator.line(
            actuator.LinearActuator(
                figures.rated_voltage,
                figures.force,
                figures.no_load_speed,
                figures.loaded_speed or actuator.LOADED_SPEED * figures.no_load_speed,
                figures.idle_current,
                figures.full_load_current,
                figures.stroke,
            )
        )
    return None


def at_voltage(line: DcLine, voltage: float, *, limit: float = np.inf, turns: bool = True) -> Able:
    """What a straight line can do at a voltage.

    Args:
        line: the motor.
        voltage: V.
        limit: of the supply, A.
        turns: whether it turns or slides.

    Example:
        >>> got = at_voltage(straight_line(figures_of("wiper medium low")), 5.0)
        >>> round(got.speed * 30 / np.pi, 1), round(got.stall, 1), got.stall_current
        (15.8, 5.3, 6.25)
    """
    stall_current = min(voltage / line.resistance, limit)
    stall = line.torque_constant * (stall_current - line.friction_current)
    if stall <= 0:
        return Able(voltage, 0.0, 0.0, nan, stall_current, turns)
    speed = (voltage - line.friction_current * line.resistance) / line.speed_constant
    return Able(voltage, speed, stall, line.friction_current, stall_current, turns)


def speed_at(line: DcLine, voltage: float, load: float) -> float:
    """Speed of a straight line at a voltage and a net load, rad/s or m/s; 0 beyond its stall.

    Args:
        line: the motor.
        voltage: V.
        load: net, N*m or N.

    Example:
        >>> round(speed_at(straight_line(figures_of("wiper")), 12.0, 7.5) * 30 / np.pi, 2)
        22.5
    """
    current = load / line.torque_constant + line.friction_current
    return max(0.0, (voltage - line.resistance * current) / line.speed_constant)


def able(figures: object, voltage: float | None = None) -> Able | None:
    """What a drive can do; None where that voltage is too much for it or means nothing to it (air, mains).

    Args:
        figures: of `figures_of`.
        voltage: V; None: its rated one.

    Example:
        >>> able(figures_of("door lock")).stall
        30.0
    """
    rated = getattr(figures, "rated_voltage", None)
    if voltage is not None and rated is not None and voltage > MOST_VOLTAGE * rated:
        return None
    line = straight_line(figures)
    if line is not None:
        volts = line.rated_voltage if voltage is None else voltage
        if isinstance(figures, LinearPusher):
            # its line reaches further, but it may not be asked for more than its rated force
            can = at_voltage(line, volts, turns=False)
            return replace(can, stall=min(can.stall, figures.force))
        return at_voltage(line, volts)
    if isinstance(figures, SynchronousMotor) and voltage is None:
        return Able(figures.rated_voltage or nan, figures.speed, figures.pull_out_torque, nan, nan, True)
    if isinstance(figures, LockPusher):
        share = 1.0 if voltage is None else voltage / figures.rated_voltage
        volts = share * figures.rated_voltage
        return Able(volts, share * figures.speed, share * figures.force, nan, share * figures.current, False)
    if isinstance(figures, SolenoidPusher):
        share = 1.0 if voltage is None else voltage / figures.rated_voltage
        return Able(
            share * figures.rated_voltage,
            nan,
            share**2 * figures.table[0][1],
            nan,
            share * figures.current,
            False,
        )
    if isinstance(figures, AirPusher) and voltage is None:
        return Able(nan, nan, figures.pressure * np.pi / 4 * figures.bore**2, nan, nan, False)
    if isinstance(figures, SteadyTorque) and voltage is None:
        return Able(nan, nan, figures.torque, nan, nan, True)
    return None


@dataclass(frozen=True)
class Curves:
    """A motor over its speed at one voltage, standstill to no load.

    Attributes:
        voltage: V.
        speed: (n,) rad/s or m/s.
        torque: net, (n,) N*m or N.
        current: (n,) A.
        power: at the shaft, (n,) W.
        efficiency: shaft power over electric power, (n,) 0 to 1.
    """

    voltage: float
    speed: Array
    torque: Array
    current: Array
    power: Array
    efficiency: Array


def curves(line: DcLine, voltage: float, points: int = 101) -> Curves:
    """Curves of a straight line; empty when the voltage doesn't start it.

    Args:
        line: the motor.
        voltage: V.
        points: how many.

    Example:
        >>> drawn = curves(straight_line(figures_of("wiper medium low")), 12.0)
        >>> round(float(drawn.power.max()), 1), len(curves(straight_line(figures_of("wiper")), 1.0).speed)
        (17.7, 0)
    """
    top = at_voltage(line, voltage)
    speed = np.linspace(0.0, top.speed, points) if top.stall > 0 else np.zeros(0)
    current = (voltage - line.speed_constant * speed) / line.resistance
    torque = line.torque_constant * (current - line.friction_current)
    power = torque * speed
    with np.errstate(divide="ignore", invalid="ignore"):
        efficiency = np.where(current > 0, power / (voltage * current), 0.0)
    return Curves(voltage, speed, torque, current, power, efficiency)


@dataclass(frozen=True)
class Listed:
    """A class of the catalogue with what it can do at several voltages (None where it has no line there)."""

    row: MotorRow
    at: tuple[Able | None, ...]


def listing(voltages: tuple[float, ...] = VOLTAGES) -> tuple[Listed, ...]:
    """Every class of the catalogue at several voltages; mains and air at their own.

    Example:
        >>> next(c for c in listing() if c.row.name == "wiper medium low").at[2].stall.__round__(1)
        15.0
    """
    found = []
    for row in motors():
        figures = figures_of(row.name)
        here = tuple(able(figures, v) for v in voltages)
        found.append(Listed(row, here if any(here) else (able(figures),)))
    return tuple(found)
