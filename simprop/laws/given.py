"""A motion that is given: a joint is held to a course of places or speeds against time, whatever that takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi

import numpy as np

from simprop.geometry.arrays import Array
from simprop.laws.forms import HeldSpeed

MOST = 1e6
"""Load up to which a given motion is held, N*m or N: no limit that a prop meets."""


@dataclass(frozen=True)
class GivenMotion(HeldSpeed):
    """A speed against time.

    Attributes:
        speed: rad/s at a time, s.
    """

    speed: Callable[[float], float]

    def start(self, count: int = 0) -> tuple[float, float]:
        """It remembers when it was last asked and half of the time between two such looks, s."""
        return 0.0, 0.0

    def advance(self, state: tuple[float, float], time: float, speed: float) -> tuple[float, float]:
        """Looked at in the middle of each step, so that the first look comes half a step after the start."""
        return time, time if state == (0.0, 0.0) else 0.5 * (time - state[0])

    def goal(self, state: tuple[float, float]) -> tuple[float, float]:
        """Speed at the end of the step, to which engines bring the joint by then, and no limit.

        Example:
            >>> GivenMotion(lambda t: 2.0 * t).goal((0.5, 0.25))
            (1.5, 1000000.0)
        """
        return self.speed(sum(state)), MOST


@dataclass(frozen=True)
class Followed:
    """What a followed motion remembers.

    Attributes:
        time: of the last look, s.
        half: half of the time between two looks, s.
        speed: to be reached at the end of the step, rad/s.
    """

    time: float = 0.0
    half: float = 0.0
    speed: float = 0.0


@dataclass(frozen=True)
class FollowedMotion(HeldSpeed):
    """A place against that of another joint; that one feels nothing of it.

    Attributes:
        joint: the other.
        course: place and its slope at a place of the other, both from the start pose.
    """

    joint: str
    course: Callable[[float], tuple[float, float]]

    @property
    def leader(self) -> str | None:
        return self.joint

    def start(self, count: int = 0) -> Followed:
        """Nothing yet."""
        return Followed()

    def advance(self, state: Followed, time: float, speed: float) -> Followed:
        """Looked at in the middle of each step."""
        return Followed(time, time if state.time == 0.0 else 0.5 * (time - state.time), state.speed)

    def led(self, state: Followed, leader: tuple[float, float], place: float) -> Followed:
        """Speed at the end of the step: the course's slope there, and a fifth of what is missing made up in a step."""
        at, rate = leader
        wanted, _ = self.course(at)
        _, slope = self.course(at + rate * state.half)
        missing = 0.1 * (wanted - place) / max(state.half, 1e-9)
        return Followed(state.time, state.half, slope * rate + missing)

    def goal(self, state: Followed) -> tuple[float, float]:
        """That speed, and no limit."""
        return state.speed, MOST


def against(places: Array, values: Array, repeat: bool) -> Callable[[float], tuple[float, float]]:
    """The smoothest curve through values at places, and its slope, counted from where the place is 0.

    Args:
        places: rising, (n,) rad or m.
        values: (n,); where it repeats the last is the first.
        repeat: it begins again after the last; else it stays there.

    Source: cubic spline, any text on numerical analysis.

    Example:
        >>> curve = against(np.array([0.0, pi, 2 * pi]), np.array([0.0, 1.0, 0.0]), True)
        >>> value, slope = curve(3 * pi)
        >>> round(value, 9), round(abs(slope), 9)
        (1.0, 0.0)
    """
    from scipy.interpolate import CubicSpline

    spline = CubicSpline(places, values, bc_type="periodic" if repeat else "clamped")
    rate = spline.derivative()
    begin, end = float(places[0]), float(places[-1])

    def inside(place: float) -> float:
        return begin + (place - begin) % (end - begin) if repeat else min(end, max(begin, place))

    zero = float(spline(inside(0.0)))

    def curve(place: float) -> tuple[float, float]:
        at = inside(place)
        still = not repeat and not begin <= place <= end
        return float(spline(at)) - zero, 0.0 if still else float(rate(at))

    return curve


def through(times: Array, places: Array, repeat: bool) -> Callable[[float], float]:
    """Speed of the smoothest motion through places at times: its acceleration runs in straight lines between them.

    It stands still at the first and the last; where it repeats, one round goes smoothly over into the next.

    Args:
        times: rising, (n,) s.
        places: (n,) rad or m; where it repeats the last is the first.
        repeat: it begins again after the last; else it stays there.

    Source: cubic spline, any text on numerical analysis.

    Example:
        >>> speed = through(np.array([0.0, 1.0]), np.array([0.0, 1.0]), False)
        >>> speed(0.0), speed(0.5), speed(2.0)  # 6 t (1 - t)
        (0.0, 1.5, 0.0)
    """
    from scipy.interpolate import CubicSpline

    rate = CubicSpline(times, places, bc_type="periodic" if repeat else "clamped").derivative()
    begin, end = float(times[0]), float(times[-1])

    def speed(time: float) -> float:
        time = _within(time, begin, end) if repeat else time
        return float(rate(time)) if begin <= time <= end else 0.0

    return speed


def straight(times: Array, speeds: Array, repeat: bool) -> Callable[[float], float]:
    """Speed that runs in straight lines between those at some times: constant accelerations.

    Args:
        times: rising, (n,) s.
        speeds: (n,) rad/s or m/s.
        repeat: it begins again after the last; else it stays at that speed.

    Example:
        >>> speed = straight(np.array([0.0, 2.0]), np.array([0.0, 1.0]), False)
        >>> speed(1.0), speed(3.0)
        (0.5, 1.0)
    """
    begin, end = float(times[0]), float(times[-1])

    def speed(time: float) -> float:
        return float(np.interp(_within(time, begin, end) if repeat else time, times, speeds))

    return speed


def _within(time: float, begin: float, end: float) -> float:
    """The time in the first round of what repeats, s."""
    return begin + (time - begin) % (end - begin) if time > begin else time


def swaying(swing: float, pace: float) -> Callable[[float], float]:
    """Speed of a sway that begins at rest in the start pose: place swing (1 - cos w t) / 2.

    Args:
        swing: from one end to the other, rad or m.
        pace: to and fro in a second, Hz.

    Example:
        >>> sway = swaying(1.0, 0.5)
        >>> sway(0.0), round(sway(0.5), 4)
        (0.0, 1.5708)
    """
    w = 2 * pi * pace
    return lambda time: 0.5 * swing * w * float(np.sin(w * time))
