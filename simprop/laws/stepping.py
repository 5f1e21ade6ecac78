"""A stepper: its rotor hangs on the stepping field like a pendulum, and falls behind by whole cycles where it must."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import copysign, floor, isfinite, pi, sin

import numpy as np

from simprop.geometry.arrays import Array
from simprop.laws.cues import Signal
from simprop.laws.forms import PlainLoad

CYCLE = 4
"""Full steps in one cycle of the windings of a two-phase motor: it falls behind by whole cycles."""


@dataclass(frozen=True)
class Course:
    """What the driver asks of a stepper: stretches of constant acceleration.

    Attributes:
        times: at which each begins, s.
        places: rad.
        speeds: rad/s.
        gains: rad/s^2.
    """

    times: tuple[float, ...]
    places: tuple[float, ...]
    speeds: tuple[float, ...]
    gains: tuple[float, ...]

    def at(self, time: float) -> tuple[float, float]:
        """Place and speed at a time, rad and rad/s."""
        i = max(0, bisect_right(self.times, time) - 1)
        t = time - self.times[i]
        return (
            self.places[i] + t * (self.speeds[i] + 0.5 * t * self.gains[i]),
            self.speeds[i] + t * self.gains[i],
        )


def ramped(signal: Signal | None, pace: float, ramp: float) -> Course:
    """The course of a driver that is told a share of its full pace and changes its speed by a ramp.

    Args:
        signal: share, -1 to 1, in steps or straight lines; None: full from the start on.
        pace: full, rad/s.
        ramp: rad/s^2; inf: at once.

    Example:
        >>> course = ramped(Signal((1.0, 3.0), (0.5, 0.0)), pace=2.0, ramp=1.0)
        >>> [course.at(t) for t in (1.0, 2.0, 3.0, 5.0)]
        [(0.0, 0.0), (0.5, 1.0), (1.5, 1.0), (2.0, 0.0)]
    """
    points = [(0.0, 1.0)] if signal is None else list(zip(signal.times, signal.values, strict=True))
    rows = [(0.0, 0.0, 0.0, 0.0)]

    def go(until: float, goal: float) -> None:
        """On with the ramp towards a speed."""
        time, place, speed, _ = rows[-1]
        missing = goal - speed
        if not isfinite(ramp):
            rows[-1] = (time, place, goal, 0.0)
        elif missing:
            gain = copysign(ramp, missing)
            rows[-1] = (time, place, speed, gain)
            needs = missing / gain
            if time + needs < until:
                rows.append((time + needs, place + needs * (speed + 0.5 * needs * gain), goal, 0.0))
        time, place, speed, gain = rows[-1]
        if isfinite(until) and until > time:
            t = until - time
            rows.append((until, place + t * (speed + 0.5 * t * gain), speed + t * gain, 0.0))

    goal, last = 0.0, 0.0
    for begin, value in points:
        if begin > last:
            go(begin, goal)
            last = begin
        goal = pace * value
    go(np.inf, goal)
    return Course(*(tuple(column) for column in zip(*rows, strict=True)))


@dataclass(frozen=True)
class Stepping(PlainLoad):
    """Torque of the field on the rotor: -T sin(z (angle - asked)) - c (speed - asked speed).

    Attributes:
        course: asked.
        teeth: z, of the rotor: a quarter of the full steps of a turn.
        microstep: the field goes in steps of so much, rad.
        torques: (speed rad/s, pull-out torque N*m), rising; straight between, 0 from the last zero on.
        damping: c, N*m*s/rad.

    Source: hybrid stepper with one harmonic, any text on stepping motors (Acarnley).
    """

    course: Course
    teeth: int
    microstep: float
    torques: tuple[tuple[float, float], ...]
    damping: float
    steady: float | None = None

    @property
    def rate(self) -> float:
        """Stiffness about the place that it holds, N*m/rad."""
        return self.torques[0][1] * self.teeth

    @property
    def loss(self) -> float:
        """N*m*s/rad."""
        return self.damping

    @property
    def holds(self) -> bool:
        """The driver keeps the current on."""
        return True

    def most(self, speed: float) -> float:
        """Pull-out torque at a speed, N*m.

        Args:
            speed: rad/s.
        """
        speeds, torques = zip(*self.torques, strict=True)
        return float(np.interp(abs(speed), speeds, torques))

    def load(self, coordinate: float, rate: float, time: float) -> float:
        place, speed = self.course.at(time)
        stepped = self.microstep * floor(place / self.microstep + 1e-9)
        return -self.most(speed) * sin(self.teeth * (coordinate - stepped)) - self.damping * (rate - speed)

    def behind(self, time: Array, place: Array) -> Array:
        """How many full steps the rotor has lost (negative: is ahead), whole cycles, (n,).

        Args:
            time: (n,) s.
            place: of the rotor, (n,) rad.
        """
        asked = np.array([self.course.at(t)[0] for t in time.tolist()])
        return np.asarray(CYCLE * np.rint((asked - place) * self.teeth / (2 * pi)))


def table(rows: Sequence[tuple[float, float]], holding: float) -> tuple[tuple[float, float], ...]:
    """Pull-out torque over speed from standstill on.

    Args:
        rows: (speed, torque), rising.
        holding: at standstill, N*m, where the rows don't begin there.

    Example:
        >>> table([(10.0, 0.2)], 0.4)
        ((0.0, 0.4), (10.0, 0.2))
    """
    return tuple(rows) if rows and rows[0][0] == 0.0 else ((0.0, holding), *rows)
