"""What a drive can do at a supply, over its speed, and for a load: the words in which every class answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import nan

import numpy as np

from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.laws.supply import Load, Source, share


@dataclass(frozen=True)
class Able:
    """What a drive can do from one supply.

    Attributes:
        voltage: V; NaN for mains and air.
        speed: without load, rad/s or m/s; 0 when it doesn't start.
        stall: greatest net torque or force, of a linear actuator at most its rated one, N*m or N; 0 when it
            doesn't start; NaN where not known.
        idle_current: A; NaN where not known.
        stall_current: A; NaN where not known.
        pulse: greatest torque or force within a pulse of one that is fed by pulses; None where not known.
    """

    voltage: float
    speed: float
    stall: float
    idle_current: float = nan
    stall_current: float = nan
    pulse: float | None = None

    def within(self, limit: float) -> Able:
        """The same with no more than a limit, N*m or N."""
        pulse = None if self.pulse is None else min(self.pulse, limit)
        return replace(self, stall=min(self.stall, limit), pulse=pulse)


@dataclass(frozen=True)
class Curves:
    """A drive over its speed at one voltage, standstill to no load.

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


@dataclass(frozen=True)
class Demand:
    """What a prop asks of a drive: loads without its own friction and rotor, N*m or N, and speed, rad/s or m/s."""

    peak_load: float
    mean_load: float
    rms_load: float
    speed: float


@dataclass(frozen=True)
class Candidate:
    """A class that would carry a load.

    Attributes:
        voltage: V; NaN for mains and air.
        speed: at the mean load, rad/s or m/s; NaN where it has no line.
        pace: that over the speed of the run; NaN where not known, and for what follows commands of place.
        margin: 1 - peak load / what it can give at standstill.
        current: at the peak load, A; NaN where not known.
        name: of the catalogue.
    """

    voltage: float
    speed: float
    pace: float
    margin: float
    current: float
    name: str = ""


def volts_across(source: Source, part: float, conductance: float) -> float:
    """Voltage at a plain resistance (a coil) from a supply with its wire, V.

    Args:
        part: share of full voltage, 0 to 1.
        conductance: 1/ohm.

    Example:
        >>> volts_across(Source(12.0, resistance=2.0), 1.0, 0.25)
        8.0
    """
    return part * share(source, [Load(part * conductance)]).voltage


def from_line(line: DcLine, source: Source, part: float = 1.0) -> Able:
    """What a straight line can do from a supply with its wire, at a share of full voltage.

    Under a share (pulses, a controller) the supply gives that share of the motor's current: its limit holds
    back the mean, and within a pulse the motor takes more.

    Args:
        part: share of full voltage, 0 to 1.

    Example:
        >>> motor = DcLine(0.8, 2.3, 15 / 13.5, 1.5, 12.0)
        >>> round(from_line(motor, Source(12.0, limit=5.0)).stall, 2)
        3.89
        >>> half = from_line(motor, Source(12.0, limit=5.0), 0.6)
        >>> round(half.stall, 2), round(half.pulse, 2)
        (7.59, 13.77)
    """
    bus = share(source, [Load(part**2 / line.resistance)]).voltage
    amperes = part * bus / line.resistance
    volts = part * source.voltage
    stall = line.torque_constant * (amperes - line.friction_current)
    if stall <= 0:
        return Able(volts, 0.0, 0.0, nan, amperes)
    idle = part * line.friction_current
    loaded = part * (source.voltage - source.resistance * min(source.limit, idle))
    speed = (loaded - line.friction_current * line.resistance) / line.speed_constant
    crest = line.torque_constant * (bus / line.resistance - line.friction_current)
    return Able(volts, speed, stall, line.friction_current, amperes, crest)


def speed_at(line: DcLine, voltage: float, load: float) -> float:
    """Speed of a straight line at a voltage and a net load, rad/s or m/s; 0 beyond its stall.

    Args:
        voltage: V.
        load: net, N*m or N.

    Example:
        >>> round(speed_at(DcLine(0.8, 2.3, 15 / 13.5, 1.5, 12.0), 12.0, 7.5), 3)
        2.348
    """
    current = load / line.torque_constant + line.friction_current
    return max(0.0, (voltage - line.resistance * current) / line.speed_constant)


def curves_of(line: DcLine, voltage: float, points: int = 101) -> Curves:
    """Curves of a straight line; empty when the voltage doesn't start it.

    Args:
        voltage: V.
        points: how many.

    Example:
        >>> len(curves_of(DcLine(0.8, 2.3, 15 / 13.5, 1.5, 12.0), 1.0).speed)
        0
    """
    top = from_line(line, Source(voltage))
    speed = np.linspace(0.0, top.speed, points) if top.stall > 0 else np.zeros(0)
    current = (voltage - line.speed_constant * speed) / line.resistance
    torque = line.torque_constant * (current - line.friction_current)
    power = torque * speed
    with np.errstate(divide="ignore", invalid="ignore"):
        efficiency = np.where(current > 0, power / (voltage * current), 0.0)
    return Curves(voltage, speed, torque, current, power, efficiency)
