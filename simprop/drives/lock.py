"""Door-lock actuator."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Literal

from pydantic import model_validator
from typing_extensions import Self

from simprop.drives.able import Able, volts_across
from simprop.drives.base import PusherDrive, Use, as_law, grown
from simprop.laws.actuator import PulseActuator, pulse_fault
from simprop.laws.forms import LinePull, Mounting, Note, PullState
from simprop.laws.supply import Load, Source
from simprop.reading.fields import Current, Force, Size, Speed, Time, Voltage, fault
from simprop.reading.inside import altered

END_STIFFNESS = 5e4
"""Of its ends of stroke, N/m (assumed)."""


@dataclass(frozen=True)
class Shot(LinePull):
    """A pulse actuator between its ends of stroke."""

    figures: PulseActuator
    rate = END_STIFFNESS

    def begin(self, mounting: Mounting) -> PullState:
        return _Running(self.figures, mounting)


@dataclass
class _Running(PullState):
    figures: PulseActuator
    mounting: Mounting
    current: float = field(default=0.0, init=False)

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        law, out = self.figures, self.mounting.out(length)
        self.current = 0.0
        push = END_STIFFNESS * (min(max(out, 0.0), law.stroke) - out)
        if volts is None:
            return -push
        share = volts / law.rated_voltage
        self.current = law.current * abs(share)
        return self.mounting.damped(rate, step, law.force / law.speed) - push - law.force * share

    def draw(self, share: float) -> Load | None:
        return Load(abs(share) * self.figures.current / self.figures.rated_voltage)


class LockPusher(PusherDrive):
    """A door-lock actuator: shoots out, or back when reversed, on a short pulse."""

    word: ClassVar[str] = "door-lock actuator"
    coil: ClassVar[bool] = True
    title: ClassVar[str] = "Door-lock actuators"
    runs_up: ClassVar[bool] = False
    varied: ClassVar[tuple[str, ...]] = ("force", "speed")

    kind: Literal["lock"] = "lock"
    rated_voltage: Voltage
    force: Force
    stroke: Size
    speed: Speed
    current: Current
    shortest_pulse: Time = 0.2
    longest_pulse: Time = 1.0
    burns_after: Time = 5.0

    @model_validator(mode="after")
    def _moves(self) -> LockPusher:
        if min(self.rated_voltage, self.force, self.speed) <= 0:
            raise fault("a lock actuator's voltage, force and speed are above zero", "force: 30 N")
        return self

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its force, and its speed."""
        force, speed, power = grown(off, "force", "speed")
        return altered(self, force=force * self.force, speed=speed * self.speed, current=power * self.current)

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """Force and speed go with the voltage."""
        source = source or Source(self.rated_voltage)
        volts = volts_across(source, part, self.current / self.rated_voltage)
        share = volts / self.rated_voltage
        return Able(volts, share * self.speed, share * self.force, stall_current=share * self.current)

    def pull(self, mounting: Mounting, note: Note) -> Shot:
        return Shot(as_law(PulseActuator, self))

    def remarks(self, use: Use) -> list[str]:
        law = as_law(PulseActuator, self)
        faults = (pulse_fault(law, end - begin) for begin, end in use.stretches)
        return list(dict.fromkeys(f for f in faults if f is not None))
