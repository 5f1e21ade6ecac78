"""Solenoid."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from math import nan
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator
from typing_extensions import Self

from simprop.drives.able import Able, volts_across
from simprop.drives.base import PusherDrive, grown
from simprop.laws import actuator
from simprop.laws.forms import LinePull, Mounting, Note, PullState
from simprop.laws.supply import Load, Source
from simprop.reading.fields import Current, Voltage, fault, read_scalar, scope_of
from simprop.reading.inside import altered

END_STIFFNESS = 5e4
"""Of its closed end, N/m (assumed)."""


@dataclass(frozen=True)
class Plunger(LinePull):
    """A magnet and the end that its plunger meets."""

    magnet: actuator.Solenoid
    rate = END_STIFFNESS

    def begin(self, mounting: Mounting) -> PullState:
        return _Running(self.magnet, mounting)


@dataclass
class _Running(PullState):
    magnet: actuator.Solenoid
    mounting: Mounting
    current: float = field(default=0.0, init=False)

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        gap = self.mounting.out(length)
        closed = END_STIFFNESS * min(gap, 0.0)
        if volts is None:
            self.current = 0.0
            return closed
        self.current = self.magnet.current * abs(volts) / self.magnet.rated_voltage
        return closed + actuator.pull(self.magnet, gap, volts)

    def draw(self, share: float) -> Load | None:
        return Load(abs(share) * self.magnet.current / self.magnet.rated_voltage)


def _gap_and_force(value: Any, info: ValidationInfo) -> Any:
    match = re.fullmatch(r"\s*(\S+\s*[a-z]+)\s+(\S+\s*[A-Za-z]+)\s*", str(value))
    if match is None:
        raise fault("a row of the table is a gap and a pull", "5 mm 10 N")
    return read_scalar(match[1], "length", scope_of(info)), read_scalar(match[2], "force", scope_of(info))


class SolenoidPusher(PusherDrive):
    """A magnet that pulls its two ends together, by a table of pull against gap from the pulled-in end."""

    word: ClassVar[str] = "solenoid"
    coil: ClassVar[bool] = True
    title: ClassVar[str] = "Solenoids"
    runs_up: ClassVar[bool] = False
    varied: ClassVar[tuple[str, ...]] = ("force",)

    kind: Literal["solenoid"] = "solenoid"
    rated_voltage: Voltage
    current: Current
    table: tuple[Annotated[tuple[float, float], BeforeValidator(_gap_and_force)], ...] = Field(min_length=2)

    @model_validator(mode="after")
    def _rises(self) -> SolenoidPusher:
        gaps = [gap for gap, _ in self.table]
        if min(force for _, force in self.table) < 0:
            raise fault("a magnet pulls", "forces of 0 N or more")
        if gaps[0] != 0 or any(b <= a for a, b in pairwise(gaps)):
            raise fault("the gaps of a solenoid's table rise from 0 mm", "table: [0 mm 40 N, 5 mm 10 N]")
        if self.rated_voltage <= 0:
            raise fault("a solenoid's voltage is above zero", "rated_voltage: 12 V")
        return self

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its pull at every gap."""
        (force, _) = grown(off, "force")
        return altered(self, table=tuple((gap, force * pull) for gap, pull in self.table))

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """Closed, its pull goes with the square of the voltage."""
        source = source or Source(self.rated_voltage)
        volts = volts_across(source, part, self.current / self.rated_voltage)
        share = volts / self.rated_voltage
        return Able(volts, nan, share**2 * self.table[0][1], stall_current=share * self.current)

    def pull(self, mounting: Mounting, note: Note) -> Plunger:
        gaps, forces = zip(*self.table, strict=True)
        return Plunger(actuator.Solenoid(gaps, forces, self.rated_voltage, self.current))
