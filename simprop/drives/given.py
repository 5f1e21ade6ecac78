"""A motion that is given, for looking at a mechanism before there is a motor."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from math import nan
from typing import Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from simprop.drives.able import Able
from simprop.drives.base import MotorDrive, Switch, Wiring
from simprop.laws.forms import Note, Shaft
from simprop.laws.given import FollowedMotion, GivenMotion, against, straight, swaying, through
from simprop.laws.supply import Source
from simprop.reading.fields import AboveZero, Angle, Frequency, fault, read_scalar, scope_of

STILL = 1e-6
"""Speed under which a course counts as beginning at rest, rad/s."""


def _row(kind: str, example: str) -> Any:
    """Reads `1 s 40 deg` as a time and a value."""

    def read(value: Any, info: ValidationInfo) -> tuple[float, float]:
        match = re.fullmatch(r"\s*(\S+\s*[a-z]+)\s+(\S+\s*[A-Za-z/]+)\s*", str(value))
        if match is None:
            raise fault("a row of the table is a time and where or how fast it is then", example)
        return read_scalar(match[1], "time", scope_of(info)), read_scalar(match[2], kind, scope_of(info))

    return BeforeValidator(read)


def _pair(example: str) -> Any:
    """Reads `90 deg 20 deg` as two angles."""

    def read(value: Any, info: ValidationInfo) -> tuple[float, float]:
        match = re.fullmatch(r"\s*(\S+\s*[a-z]+)\s+(\S+\s*[a-z]+)\s*", str(value))
        if match is None:
            raise fault("a row of the table is the other joint's angle and its own", example)
        both = (read_scalar(text, "angle", scope_of(info)) for text in match.groups())
        return next(both), next(both)

    return BeforeValidator(read)


Places = Annotated[
    tuple[Annotated[tuple[float, float], _row("angle", "1 s 40 deg")], ...], Field(min_length=2)
]
Leads = Annotated[tuple[Annotated[tuple[float, float], _pair("90 deg 20 deg")], ...], Field(min_length=2)]
Speeds = Annotated[
    tuple[Annotated[tuple[float, float], _row("spin", "0.5 s 30 rpm")], ...], Field(min_length=2)
]


class GivenDrive(MotorDrive):
    """A joint whose motion is given: it goes just so, whatever that takes, which is told as its load.

    One of `angle`, `speed` and `swing` says how. It begins at rest, or at the speed of `run.start_speeds`.

    Attributes:
        angle: from the start pose at some times; it goes through all of them as smoothly as can be (a cubic spline),
            and stands still at the first and the last.
        speed: at some times, in straight lines between: constant accelerations.
        swing: to and fro from the start pose to this angle, as a sine.
        pace: of that, to and fro in a second.
        repeat: angle or speed begin again after the last time, `over` after the last angle.
        led_by: another joint, by whose angle it goes; that one feels nothing of it.
        over: angle of that joint and its own, both from the start pose, as smoothly as can be between.
    """

    word: ClassVar[str] = "given motion"
    unwired: ClassVar[str] = "its motion is given: it has no motor yet"
    direct: ClassVar[bool] = False
    electric: ClassVar[bool] = False
    sized: ClassVar[bool] = False
    runs_up: ClassVar[bool] = False

    kind: Literal["given"] = "given"
    angle: Places | None = None
    speed: Speeds | None = None
    swing: Angle | None = None
    pace: Annotated[Frequency, AboveZero] | None = None
    repeat: Switch = False
    led_by: str | None = None
    over: Leads | None = None

    @model_validator(mode="after")
    def _one(self) -> GivenDrive:
        times = [t for t, _ in self.angle or self.speed or ()]
        if times and (times[0] < 0.0 or any(b <= a for a, b in pairwise(times))):
            raise fault("the times of a table begin at 0 s or later and rise", "[0 s 0 deg, 1 s 40 deg]")
        if (self.led_by is None) != (self.over is None):
            raise fault(
                "what is led by a joint has a table", "led_by: crank, over: [0 deg 0 deg, 180 deg 30 deg]"
            )
        if sum(v is not None for v in (self.angle, self.speed, self.swing, self.over)) != 1:
            raise fault(
                "a motion is given one way",
                "angle: [0 s 0 deg, 1 s 40 deg], or speed:, or swing: with pace:, or led_by: with over:",
            )
        if self.over is not None and any(b[0] <= a[0] for a, b in pairwise(self.over)):
            raise fault("the other joint's angles rise", "over: [0 deg 0 deg, 180 deg 30 deg]")
        if (self.swing is None) != (self.pace is None):
            raise fault("a swing has a pace", "swing: 60 deg, pace: 0.5 Hz")
        if self.repeat and self.swing is not None:
            raise fault("a swing goes on by itself", "leave repeat out")
        course = self.angle or self.over
        if self.repeat and course is not None and course[0][1] != course[-1][1]:
            raise fault("what repeats ends where it began", "the last angle like the first")
        if self.repeat and self.speed is not None and self.speed[0][1] != self.speed[-1][1]:
            raise fault("what repeats ends at the speed at which it began", "the last speed like the first")
        return self

    def goes_round(self, source: Source, duration: float) -> float:
        """Where its speeds are all of one sense."""
        times, speeds = np.array(self.speed or [(0.0, 0.0)]).T
        if not (speeds.min() > 0.0 or speeds.max() < 0.0):
            return 0.0
        return (
            1.0001
            * duration
            * float(np.abs(np.interp(np.linspace(0.0, duration, 200), times, speeds)).mean())
        )

    @property
    def span(self) -> tuple[float, float] | None:
        """Of a swing, and of a course of angles, whose spline may go a little further."""
        angles = [self.swing] if self.swing is not None else [v for _, v in self.angle or ()]
        return (min(0.0, *angles), max(0.0, *angles)) if angles else None

    @property
    def motion(self) -> Callable[[float], float]:
        """Its speed at a time, rad/s."""
        if self.swing is not None:
            return swaying(self.swing, self.pace or 0.0)
        given, made = (self.angle, through) if self.angle is not None else (self.speed, straight)
        times, values = np.array(given).T
        return made(times, values, self.repeat)

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """Not known: nothing holds it back."""
        return Able(nan, nan, nan)

    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        """Held to its speed without limit."""
        if self.led_by is not None and self.over is not None:
            places, values = np.array(self.over).T
            return Shaft(FollowedMotion(self.led_by, against(places, values, self.repeat)))
        motion = self.motion
        begins = motion(0.0)
        if abs(begins) > STILL:
            note(f"it begins at {begins:.4g} rad/s: say so in run.start_speeds, or its first step is a blow")
        return Shaft(GivenMotion(motion))
