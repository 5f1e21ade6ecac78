"""Cues as the builder writes them: scenes, what starts them, interlocks and the stop."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from simprop.drives.base import Share
from simprop.errors import nearest
from simprop.laws.cues import Cue
from simprop.reading.base import Record
from simprop.reading.fields import Angle, Time, fault, read_scalar, scope_of
from simprop.reading.kinds import Kinds

SHORTEST = 0.02
"""Shortest time in which a controller starts a scene again, s (assumed: one period of 50 Hz)."""


class CueBase(Record):
    """What every cue says: when, from the start of its scene.

    Attributes:
        WHO: which drives obey it: any, one that is on or off (a drive), a servo, or a servo as a jaw.
    """

    at: Time
    WHO: ClassVar[Literal["any", "drive", "servo", "jaw"]] = "any"

    @abstractmethod
    def told(self) -> Cue:
        """What it tells which output."""


class SwitchCue(CueBase):
    """A cue that tells one output its own kind and no more."""

    kind: Literal["on", "off", "forward", "backward"]
    output: str

    def told(self) -> Cue:
        return Cue(self.at, self.output, self.kind)


class OnCue(SwitchCue):
    """Switches a drive on, at its last speed and direction."""

    kind: Literal["on"] = "on"
    output: str = Field(alias="on")


class OffCue(SwitchCue):
    """Switches a drive off."""

    kind: Literal["off"] = "off"
    output: str = Field(alias="off")


class ForwardCue(SwitchCue):
    """Switches a drive on forwards."""

    kind: Literal["forward"] = "forward"
    output: str = Field(alias="forward")
    WHO = "drive"


class BackwardCue(SwitchCue):
    """Switches a drive on backwards."""

    kind: Literal["backward"] = "backward"
    output: str = Field(alias="backward")
    WHO = "drive"


class SpeedCue(CueBase):
    """Sets the share of full voltage, 0 to 1 (by pulses where the motor has `pwm`)."""

    kind: Literal["speed"] = "speed"
    output: str = Field(alias="speed")
    to: Share
    WHO = "drive"

    def told(self) -> Cue:
        return Cue(self.at, self.output, "speed", self.to)


class PoseCue(CueBase):
    """Sends a servo to an angle from the start pose, evenly over a time."""

    kind: Literal["pose"] = "pose"
    output: str = Field(alias="pose")
    to: Angle
    over: Time = 0.0
    WHO = "servo"

    def told(self) -> Cue:
        return Cue(self.at, self.output, "pose", self.to, self.over)


class SoundCue(CueBase):
    """Plays a sound; a servo named in `jaw` opens with its loudness."""

    kind: Literal["sound"] = "sound"
    file: str = Field(alias="sound")
    jaw: str | None = None
    opening: Angle | None = None
    WHO = "jaw"

    @model_validator(mode="after")
    def _jaw(self) -> SoundCue:
        if (self.jaw is None) != (self.opening is None):
            raise fault("a jaw and its opening go together", "jaw: mouth, opening: 20 deg")
        return self

    def told(self) -> Cue:
        return Cue(self.at, self.jaw or "", "sound", self.opening or 0.0, 0.0, self.file)


CUES: Kinds[CueBase] = Kinds("cue")
"""The kinds of cue."""

for _kind in (OnCue, OffCue, ForwardCue, BackwardCue, SpeedCue, PoseCue, SoundCue):
    CUES.add(_kind)


def _times(value: Any, info: ValidationInfo) -> Any:
    rows = value if isinstance(value, list) else [value]
    return tuple(read_scalar(v, "time", scope_of(info)) for v in rows)


WHEN = ("start", "loop", "random")
"""Words that start a scene; any other one names what triggers it."""


class SceneSpec(Record):
    """A list of cues and what starts it.

    Attributes:
        when: ``start`` (once, with the show), ``loop`` (again and again), ``random``, or what triggers it
            (motion sensor, button, message, ...) with the times in `at`.
        at: times of the triggers, s.
        rest: pause after each run, s: a loop waits so long, and what triggers a scene is ignored meanwhile.
        every: mean pause between random triggers, s.
        least: shortest pause between them, s.
        length: of the scene, s; None: up to its last cue.
        do: the cues.
    """

    when: str = "start"
    at: Annotated[tuple[float, ...], BeforeValidator(_times)] = ()
    rest: Time = 0.0
    every: Time | None = None
    least: Time = 0.0
    length: Time | None = None
    do: tuple[Annotated[CueBase, CUES], ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _trigger(self) -> SceneSpec:
        if self.when == "random" and (self.every is None or self.every <= max(self.least, SHORTEST)):
            raise fault(
                f"random triggers say how often they come, more than the least pause and {SHORTEST:g} s",
                "every: 20 s, least: 5 s",
            )
        near = nearest(self.when, WHEN)
        if near is not None and near != self.when:
            raise fault("a scene starts by itself or by what triggers it", ", ".join(WHEN), near)
        if self.when not in WHEN and not self.at:
            raise fault(f"a scene started by {self.when!r} says at what times", "at: [5 s, 31 s]")
        end = self.length or max(c.at for c in self.do)
        if self.when == "loop" and end + self.rest < SHORTEST:
            raise fault(f"a loop needs a cue, a length or a rest later than {SHORTEST:g} s", "rest: 6 s")
        return self


class InterlockSpec(Record):
    """Holds an output: it may run only while all of `while_on` are on and all of `while_off` are off."""

    hold: str
    while_on: tuple[str, ...] = ()
    while_off: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _others(self) -> InterlockSpec:
        if not self.while_on and not self.while_off:
            raise fault("an interlock says while what is on or off it may run", "while_off: [gate]")
        if self.hold in (*self.while_on, *self.while_off):
            raise fault("an output can't hold itself", "the names of other outputs")
        return self


class Cues(Record):
    """What the controller does and when; random triggers take the seed of `run`."""

    scenes: dict[str, SceneSpec]
    interlocks: tuple[InterlockSpec, ...] = ()
    stop: Time | None = None

    def late(self, duration: float) -> Iterator[str]:
        """Cues that no run of so many seconds comes to, each with its field."""
        for name, scene in self.scenes.items():
            begins = min(scene.at, default=0.0)
            for i, cue in enumerate(scene.do):
                if begins + cue.at > duration:
                    yield f"cues.scenes.{name}.do.{i}: comes at {begins + cue.at:g} s, after the end of the run"
