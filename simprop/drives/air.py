"""Air cylinder with its valve."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from math import nan, pi
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator
from typing_extensions import Self

from simprop.drives.able import Able
from simprop.drives.base import PusherDrive, Switch, Use, grown
from simprop.laws import pneumatic
from simprop.laws.forms import LinePull, Mounting, Note, PullState
from simprop.laws.supply import Source
from simprop.reading.fields import Force, Length, NotNegative, Number, Pressure, Size, Stiffness, fault
from simprop.reading.inside import altered

SEAL_SHARE = 0.05
"""Friction of a cylinder's seals over its static push where none is stated (assumed)."""
SLAM = 1.1
"""A cylinder slams where it pushes so many times its static force (assumed)."""


@dataclass(frozen=True)
class Valved(LinePull):
    """A cylinder, and whether it starts without pressure."""

    cylinder: pneumatic.Cylinder
    vented: bool

    @property
    def rate(self) -> float:
        """Of piston on end cap, N/m."""
        return self.cylinder.end_stiffness

    def begin(self, mounting: Mounting) -> PullState:
        held = pneumatic.Air(pneumatic.ATMOSPHERE, self.cylinder.supply)
        return _Running(self.cylinder, mounting, pneumatic.Air() if self.vented else held)


@dataclass
class _Running(PullState):
    cylinder: pneumatic.Cylinder
    mounting: Mounting
    air: pneumatic.Air
    current: float = field(default=0.0, init=False)

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        from simprop.laws.chambers import advance  # compiled: only a run wants it

        law, out = self.cylinder, self.mounting.out(length)
        valve = 1 if volts is not None and volts > 0 else -1
        push = pneumatic.push(law, pneumatic.force(law, self.air), out)
        self.air = advance(law, self.air, valve, (out, rate), step)
        return self.mounting.rubbed(rate, step, law.friction) - push


class AirPusher(PusherDrive):
    """An air cylinder with its five-port valve: on pushes out, reversed or off pulls in.

    Attributes:
        pressure: over atmosphere, Pa.
        cv: flow coefficient of valve and hose.
        exhaust_share: part of that left by the exhaust throttle, 0 to 1.
        cushion: length of the end cushions, m.
        cushion_share: part of the exhaust left within them.
        friction: of the seals, N; 5 % of the static push where not given (assumed).
        vented: both sides without pressure at the start, instead of held in.
        end_stiffness: of piston on end cap with the brackets, N/m.
    """

    word: ClassVar[str] = "air cylinder"
    coil: ClassVar[bool] = True  # of its valve
    title: ClassVar[str] = "Air cylinders"
    direct: ClassVar[bool] = False
    electric: ClassVar[bool] = False
    cautions: ClassVar[tuple[str, ...]] = (pneumatic.CAUTION,)
    runs_up: ClassVar[bool] = False
    varied: ClassVar[tuple[str, ...]] = ("pressure",)

    kind: Literal["air"] = "air"
    bore: Size
    rod: Annotated[Length, NotNegative] = 0.0
    stroke: Size
    pressure: Pressure
    cv: Annotated[Number, Field(gt=0.0)]
    exhaust_share: Annotated[Number, Field(gt=0.0, le=1.0)] = 1.0
    cushion: Annotated[Length, NotNegative] = 0.0
    cushion_share: Annotated[Number, Field(gt=0.0, le=1.0)] = 0.05
    friction: Annotated[Force, NotNegative] | None = None
    vented: Switch = False
    end_stiffness: Stiffness = 2e5

    @model_validator(mode="after")
    def _fits(self) -> AirPusher:
        if not 0 <= self.rod < self.bore:
            raise fault("the rod is thinner than the bore", "bore: 25 mm, rod: 10 mm")
        if self.pressure <= 0:
            raise fault("the pressure over atmosphere is above zero", "pressure: 6 bar")
        if not 0 <= self.cushion < self.stroke / 2:
            raise fault("each cushion is shorter than half the stroke", "cushion: 10 mm")
        return self

    @property
    def facts(self) -> str:
        """Its bore, its pressure, and the free air that a double stroke takes."""
        swept = pi / 4 * (2 * self.bore**2 - self.rod**2) * self.stroke
        litres = 1e3 * swept * (self.pressure / pneumatic.ATMOSPHERE + 1)
        return f"{1e3 * self.bore:g} mm, {self.pressure / 1e5:g} bar, {litres:.2g} l/cycle"

    @property
    def air(self) -> float | None:
        return self.pressure

    def through(self, told: Collection[str], pulsed: bool) -> str:
        """Its valve."""
        return "valve"

    @property
    def _static(self) -> float:
        return pneumatic.extend_force(self.bore, self.pressure)

    def piece(self, off: Mapping[str, float]) -> Self:
        """The pressure of its air."""
        (pressure, _) = grown(off, "pressure")
        return altered(self, pressure=pressure * self.pressure)

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        return Able(nan, nan, self._static)

    def pull(self, mounting: Mounting, note: Note) -> Valved:
        conductance, friction = pneumatic.conductance_from_cv(self.cv), self.friction
        if friction is None:
            friction = SEAL_SHARE * self._static
            note(f"seals rub with {friction:.3g} N (assumed)")
        cylinder = pneumatic.Cylinder(
            self.bore,
            self.rod,
            self.stroke,
            self.pressure + pneumatic.ATMOSPHERE,
            conductance,
            conductance * self.exhaust_share,
            friction=friction,
            cushion=self.cushion,
            cushion_share=self.cushion_share,
            end_stiffness=self.end_stiffness,
        )
        return Valved(cylinder, self.vented)

    def remarks(self, use: Use) -> list[str]:
        """How hard it meets its end, and the caution that goes with compressed air."""
        push = float(np.abs(use.seen.given).max())
        found = [f"moves at up to {np.abs(use.seen.speed).max():.2g} m/s"]
        if push > SLAM * self._static:
            found.append(
                f"slams: up to {push:.3g} N at the end of its stroke (its cushion counted), "
                f"{push / self._static:.2g} times its static {self._static:.3g} N"
            )
        return [*found, pneumatic.CAUTION]
