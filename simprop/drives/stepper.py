"""Stepper motor behind a driver."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from itertools import pairwise
from math import inf, pi, sqrt
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator
from typing_extensions import Self

from simprop.drives.able import Able
from simprop.drives.base import MotorDrive, Wiring, grown
from simprop.laws.forms import Note, Shaft
from simprop.laws.stepping import CYCLE, Stepping, ramped, table
from simprop.laws.supply import Source
from simprop.reading.fields import AboveZero, Current, Inertia, Torque, Voltage, fault, read_scalar, scope_of
from simprop.reading.inside import altered

DAMPED = 0.1
"""Damping ratio of a rotor on its field (assumed: eddy currents, bearings and the driver together)."""
_ROWS = "[0 /s 0.4 N*m, 1000 /s 0.2 N*m]: full steps a second, and the torque there"


def _row(value: Any, info: ValidationInfo) -> tuple[float, float]:
    match = re.fullmatch(r"\s*([\d.]+)\s*/s\s+(\S+\s*\S+)\s*", str(value))
    if match is None:
        raise fault("a row of the pull-out curve is a pace and a torque", _ROWS)
    return float(match[1]), read_scalar(match[2], "torque", scope_of(info))


Row = Annotated[tuple[float, float], BeforeValidator(_row)]
Paced = Annotated[float, Field(gt=0.0, le=50_000.0)]


class StepperMotor(MotorDrive):
    """A stepper and its driver: it goes where it is stepped, and loses steps where its load is more than it pulls.

    Attributes:
        holding_torque: with its rated current at standstill.
        pull_out: torque that it can bear at some paces of full steps, such as `1000 /s 0.2 N*m`; straight between.
        pace: full steps a second when told full speed.
        ramp: full steps a second gained each second; None: at once.
        steps: full steps a turn; 200 of a 1.8 deg motor.
        microsteps: that the driver makes of a full step.
        rotor_inertia: kg*m^2.
        rated_current: of each winding, A; the driver keeps it on at standstill.
    """

    word: ClassVar[str] = "stepper motor"
    steered: ClassVar[bool] = True
    title: ClassVar[str] = "Stepper motors"
    direct: ClassVar[bool] = False
    runs_up: ClassVar[bool] = False
    cautions: ClassVar[tuple[str, ...]] = (
        "A stepper is hot to the touch while it holds, and lets its load fall when its current goes.",
    )
    varied: ClassVar[tuple[str, ...]] = ("torque",)

    kind: Literal["stepper"] = "stepper"
    holding_torque: Annotated[Torque, AboveZero]
    pull_out: tuple[Row, ...] = ()
    pace: Paced = 400.0
    ramp: Annotated[float, Field(gt=0.0)] | None = None
    steps: Annotated[int, Field(ge=4, le=1000, strict=True, multiple_of=4)] = 200
    microsteps: Annotated[int, Field(ge=1, le=256, strict=True)] = 16
    rotor_inertia: Annotated[Inertia, AboveZero]
    rated_current: Annotated[Current, AboveZero] | None = None
    rated_voltage: Annotated[Voltage, AboveZero] | None = None

    @model_validator(mode="after")
    def _falls(self) -> StepperMotor:
        if any(b[0] <= a[0] or b[1] > a[1] for a, b in pairwise(self.pull_out)):
            raise fault("a pull-out curve goes on in pace and down in torque", _ROWS)
        if any(torque > self.holding_torque for _, torque in self.pull_out):
            raise fault("it pulls no more than it holds", f"at most {self.holding_torque:g} N*m")
        return self

    @property
    def facts(self) -> str:
        """Steps and current."""
        current = "" if self.rated_current is None else f", {self.rated_current:g} A"
        return f"{360 / self.steps:g} deg{current}"

    def through(self, told: Collection[str], pulsed: bool) -> str:
        """A driver of its own."""
        return "stepper driver"

    def _law(self, wiring: Wiring | None) -> Stepping:
        step = 2 * pi / self.steps
        signal = None if wiring is None else wiring.command.drive
        ramp = inf if self.ramp is None else self.ramp * step
        teeth = self.steps // CYCLE
        damping = 2 * DAMPED * sqrt(self.holding_torque * teeth * self.rotor_inertia)
        rows = [(pace * step, torque) for pace, torque in self.pull_out]
        return Stepping(
            ramped(signal, self.pace * step, ramp),
            teeth,
            step / self.microsteps,
            table(rows, self.holding_torque),
            damping,
        )

    def piece(self, off: Mapping[str, float]) -> Self:
        """What it holds and pulls at every pace."""
        (torque, _) = grown(off, "torque")
        rows = tuple((pace, torque * pull) for pace, pull in self.pull_out)
        return altered(self, holding_torque=torque * self.holding_torque, pull_out=rows)

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """Its pull-out torque at its pace."""
        pace = self.pace * 2 * pi / self.steps * part
        return Able(self.rated, pace, self._law(None).most(pace))

    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        """Its rotor on the stepping field."""
        if not self.pull_out:
            note("pulls as much at every pace as it holds (no pull_out curve is given: assumed)")
        current = float("nan") if self.rated_current is None else self.rated_current
        return Shaft(self._law(wiring), self.rotor_inertia, 1.0, current)
