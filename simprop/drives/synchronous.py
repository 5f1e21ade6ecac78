"""Mains synchronous gearmotor."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import nan, pi
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field
from typing_extensions import Self

from simprop.drives.able import Able
from simprop.drives.base import RUN_UP, MotorDrive, Seen, Switch, Use, Wiring, grown
from simprop.geometry.arrays import Array
from simprop.laws.forms import Note, Shaft
from simprop.laws.supply import Source
from simprop.laws.synchronous import STALLED, SynchronousLaw
from simprop.reading.fields import (
    AboveZero,
    Current,
    Frequency,
    NotNegative,
    Power,
    Spin,
    Time,
    Torque,
    Voltage,
)
from simprop.reading.inside import altered

LOCKOUT = 0.1
"""After it has turned back, it doesn't do so again for so long, s (assumed)."""


class SynchronousMotor(MotorDrive):
    """A mains gearmotor: one speed up to its pull-out torque; reverses when it stalls unless `reverses:
    false`.

    `speed` is that at `rated_frequency`; from a supply that states its frequency it turns in proportion.

    Attributes:
        run_up: time in which its pull-out torque brings its own rotor to speed, which sets the rotor's inertia, s;
            20 ms where not given (assumed); 0 for an ideal drive without a rotor.
        poles: of its rotor, which turns by the frequency over half of them; 24 where not given (assumed).
    """

    word: ClassVar[str] = "mains gearmotor"
    title: ClassVar[str] = "Mains synchronous gearmotors"
    direct: ClassVar[bool] = False
    mains: ClassVar[bool] = True
    replaces: ClassVar[tuple[str, ...]] = ("dc", "synchronous")
    cautions: ClassVar[tuple[str, ...]] = (
        "Mains outdoors: only on a ground-fault device (GFCI or RCD), with outdoor-rated cord, boxes and drip "
        "loops; have it checked by a licensed electrician.",
    )
    varied: ClassVar[tuple[str, ...]] = ("torque",)

    kind: Literal["synchronous"] = "synchronous"
    speed: Annotated[Spin, AboveZero]
    pull_out_torque: Annotated[Torque, AboveZero]
    reverses: Switch = True
    reverse_delay: Time = 0.05
    starts: Literal["forward", "backward", "either"] = "forward"
    current: Current = 0.0
    rated_frequency: Annotated[Frequency, AboveZero] = 50.0
    rated_voltage: Annotated[Voltage, AboveZero] | None = None
    power: Annotated[Power, AboveZero] | None = None
    run_up: Annotated[Time, NotNegative] = RUN_UP
    poles: Annotated[int, Field(ge=2, le=96)] = 24

    @property
    def facts(self) -> str:
        """Its mains and what it takes."""
        volts = "" if self.rated_voltage is None else f"{self.rated_voltage:g} V "
        return f"{volts}{self.rated_frequency:g} Hz" + ("" if self.power is None else f", {self.power:g} W")

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its pull-out torque; its speed is the mains', and its rotor stays as heavy."""
        (torque, _) = grown(off, "torque")
        return altered(self, pull_out_torque=torque * self.pull_out_torque, run_up=self.run_up / torque)

    def goes_round(self, source: Source, duration: float) -> float:
        """Its speed, less a twentieth for its start."""
        return 0.95 * duration * self.speed

    @property
    def turns_back(self) -> bool:
        """Unless it is told not to."""
        return self.reverses

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """Its speed up to its pull-out torque, whatever it is told."""
        return Able(self.rated, self.speed, self.pull_out_torque)

    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        """Its speed, in proportion to the supply's frequency."""
        supply = wiring.supply
        pace = 1.0 if supply is None or supply.frequency is None else supply.frequency / self.rated_frequency
        law = SynchronousLaw(
            self.speed * pace,
            self.pull_out_torque,
            self.reverses,
            self.reverse_delay,
            self.starts,
            LOCKOUT,
            wiring.seed,
        )
        current = self._current()
        if self.run_up == 0.0:
            note("its rotor has no inertia (run_up: 0 s): it starts with its whole pull-out torque")
            return Shaft(law, rated_current=current)
        ratio = 2 * pi * self.rated_frequency / (self.poles / 2) / self.speed
        inertia = self.pull_out_torque * self.run_up / self.speed
        assumed = {"run_up", "poles"} - self.model_fields_set
        if assumed:
            note(
                f"its rotor counts {inertia:.3g} kg*m^2 at the output, from a run_up of {1e3 * self.run_up:g} ms and "
                f"{self.poles} poles ({' and '.join(sorted(assumed, reverse=True))} assumed: state them where you know)"
            )
        return Shaft(law, inertia, ratio, current)

    def _current(self) -> float:
        """As stated, or from power and voltage, A; NaN where neither is known."""
        if self.current:
            return self.current
        return nan if self.power is None or not self.rated_voltage else self.power / self.rated_voltage

    def asked(self, seen: Seen, inertia: float) -> tuple[Array, Array]:
        """Only while it is in step: a stalled one gives less than its pull-out torque, and hums."""
        way = np.where(seen.speed < 0, -1.0, 1.0)
        in_step = np.abs(seen.speed) >= STALLED * self.speed
        net = np.maximum(0.0, (seen.given - inertia * seen.gain) * way)
        return way, np.where(in_step, net, 0.0)

    def through(self, told: Collection[str], pulsed: bool) -> str:
        """What a licensed person puts in the mains."""
        return "switch for the mains"

    def remarks(self, use: Use) -> list[str]:
        """What standing still does to it."""
        return [
            "a small mains motor takes about the same current stalled as running, so stalling doesn't burn it "
            "(usual of the kind, from memory)"
        ]
