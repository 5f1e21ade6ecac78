"""The few forms in which a drive, a pull or a motor meets an engine.

A motor on an axis is a straight line (`simprop.laws.dc.DcLine`) whose voltage is decided once a step, a speed held
up to a largest load (`HeldSpeed`), or a plain load (`PlainLoad`). What acts between two points is a spring
(`simprop.laws.springs.LineLaw`) or a straight pull that is decided once a step (`LinePull`). Engines ask for these
forms and for nothing else; a kind of drive says which one it has.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from math import copysign, nan
from typing import Any

from simprop.geometry.arrays import Array
from simprop.laws.cues import Signal, largest
from simprop.laws.dc import DcLine
from simprop.laws.locking import Locking
from simprop.laws.supply import Load

Windows = tuple[tuple[float, float], ...]
Note = Callable[[str], None]
"""Takes what was assumed, one sentence each."""

LOSS = 0.7
"""Damping ratio of ropes, brackets and a motor's own end stops (assumed: greased screws, wood, knots)."""


class HeldSpeed(ABC):
    """A speed held up to a largest load, looked at once a step."""

    @abstractmethod
    def start(self, count: int = 0) -> Any:
        """What it remembers just after being switched on for the `count`-th time."""

    @abstractmethod
    def advance(self, state: Any, time: float, speed: float) -> Any:
        """What it remembers after a look at the shaft: s, and rad/s in its own sense."""

    @property
    def leader(self) -> str | None:
        """Joint whose motion it goes by; None: it needs none."""
        return None

    def led(self, state: Any, leader: tuple[float, float], place: float) -> Any:
        """What it remembers after a look at its leader as well, after `advance`.

        Args:
            state: of `advance`.
            leader: place and rate of that joint, rad or m.
            place: of its own, in its own sense.
        """
        return state

    @abstractmethod
    def goal(self, state: Any) -> tuple[float, float]:
        """Speed to hold, rad/s or m/s, and the largest load for it, N*m or N."""


class PlainLoad(ABC):
    """A torque or force by place, speed and time alone.

    Attributes:
        steady: N*m or N, where it is the same everywhere; else None.
    """

    steady: float | None

    @property
    def rate(self) -> float:
        """Its stiffness at most, N*m/rad or N/m (it decides how fine the step must be)."""
        return 0.0

    @property
    def loss(self) -> float:
        """Its damping at most, N*m*s/rad or N*s/m."""
        return 0.0

    @property
    def holds(self) -> bool:
        """Whether it acts while it is told nothing."""
        return False

    @abstractmethod
    def load(self, coordinate: float, rate: float, time: float) -> float:
        """Load on the axis at a coordinate (rad or m), its rate and a time, in the motor's own sense, N*m or N."""

    def behind(self, time: Array, place: Array) -> Array | None:
        """How many steps it is behind what it is told, (n,); None where it isn't stepped.

        Args:
            time: (n,) s.
            place: of its axis, in its own sense, (n,) rad.
        """
        return None


@dataclass(frozen=True)
class Steady(PlainLoad):
    """The same torque or force everywhere."""

    steady: float

    def load(self, coordinate: float, rate: float, time: float) -> float:
        return self.steady


@dataclass(frozen=True)
class Travel:
    """A motor's own end stops, of the coordinate, with their stiffness and damping."""

    low: float
    high: float
    stiffness: float
    damping: float


@dataclass(frozen=True)
class Follower:
    """Electronics that turn a motor to a commanded place.

    Attributes:
        share: (error, rate) -> share of the supply's voltage, -1 to 1.
        idle_current: that they take themselves, A.
        pose: where it is told to be, rad or m; None: at the start pose.
    """

    share: Callable[[float, float], float]
    idle_current: float
    pose: Signal | None


@dataclass(frozen=True)
class Control:
    """What decides about the voltage of a straight line at each step.

    Attributes:
        signal: share of full voltage that it is told, -1 to 1; None: always full.
        gear: a self-locking gear, or None.
        follower: electronics that turn it to a place, or None.
        pulses: (frequency Hz, time constant s) of the motor's pulses, or None for a smooth voltage.
        travel: the motor's own end stops, or None.
        breakaway: extra torque to start from rest, N*m (of a motor without a self-locking gear).
        source: index into `Actuation.sources`.
    """

    signal: Signal | None = None
    gear: Locking | None = None
    follower: Follower | None = None
    pulses: tuple[float, float] | None = None
    travel: Travel | None = None
    breakaway: float = 0.0
    source: int = -1

    @property
    def most(self) -> float:
        """Largest share of full voltage that it lets through, 0 to 1."""
        return 1.0 if self.signal is None or self.follower is not None else largest(self.signal)


@dataclass(frozen=True)
class Shaft:
    """A motor as engines see it.

    Attributes:
        law: its form, at the output shaft.
        inertia: of its rotor as seen at the output, kg*m^2 or kg.
        gear_ratio: turns of the rotor for one of the output.
        rated_current: what it takes while it is on where its form has no current, A; NaN where not stated.
        control: what decides about its voltage; None: it runs on its own.
    """

    law: DcLine | HeldSpeed | PlainLoad
    inertia: float = 0.0
    gear_ratio: float = 1.0
    rated_current: float = nan
    control: Control | None = None


@dataclass(frozen=True)
class Mounting:
    """How a straight drive or pull sits between its two points in the start pose.

    Attributes:
        length: distance of the points, m.
        extension: how far it is out, m.
        moving: mass that it moves, kg (the lighter of its bodies).
        gravity: m/s^2.
    """

    length: float
    extension: float
    moving: float
    gravity: float = 9.80665

    def out(self, length: float) -> float:
        """How far it is out where its points are `length` apart, m."""
        return length - self.length + self.extension

    def damped(self, rate: float, step: float, damping: float) -> float:
        """Pull of a damper, as at the end of the step, so that it can't blow up, N."""
        return damping * rate / (1 + damping * step / self.moving)

    def rubbed(self, rate: float, step: float, friction: float) -> float:
        """Pull of dry friction, no more than what stops the mass it moves, N."""
        return copysign(min(friction, self.moving * abs(rate) / step), rate)


class LinePull(ABC):
    """A straight drive or pull between two points, decided once a step."""

    @property
    @abstractmethod
    def rate(self) -> float:
        """Its own stiffness, N/m; 0 where it has none (it decides how fine the step must be)."""

    @abstractmethod
    def begin(self, mounting: Mounting) -> PullState:
        """Its state in the start pose."""


class PullState(ABC):
    """A straight drive or pull while it runs.

    Attributes:
        current: that it takes, A.
    """

    current: float = 0.0

    @abstractmethod
    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        """Pull on its two points for the coming step, N.

        Args:
            time: s.
            length: distance of its points, m.
            rate: of that, m/s.
            step: s.
            volts: put on it, signed (an air valve: its sign counts); None: cut off.
        """

    def draw(self, share: float) -> Load | None:
        """What it asks of its supply at a share of full voltage other than 0; None where it takes no current."""
        return None


def since(windows: Windows | None, time: float) -> float | None:
    """Time since the window began in which `time` lies, s; None outside of all; the time itself without windows.

    Args:
        windows: start and end of each, s, in order.
        time: s.

    Example:
        >>> since(((1.0, 2.0), (4.0, 5.0)), 4.25), since(((1.0, 2.0),), 3.0), since(None, 3.0)
        (0.25, None, 3.0)
    """
    if windows is None:
        return time
    i = bisect_right([w[0] for w in windows], time) - 1
    return time - windows[i][0] if i >= 0 and time < windows[i][1] else None


@dataclass(frozen=True)
class Mounted:
    """A straight drive or pull where it sits: the law of a line."""

    law: LinePull
    mounting: Mounting

    @property
    def rate(self) -> float:
        """Its own stiffness, N/m."""
        return self.law.rate
