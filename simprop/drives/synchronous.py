"""Mains synchronous gearmotor."""

from __future__ import annotations

from math import nan
from typing import Annotated, ClassVar, Literal

import numpy as np

from simprop.drives.able import Able
from simprop.drives.base import MotorDrive, Seen, Switch, Use, Wiring
from simprop.geometry.arrays import Array
from simprop.laws.forms import Note, Shaft
from simprop.laws.supply import Source
from simprop.laws.synchronous import STALLED, SynchronousLaw
from simprop.reading.fields import AboveZero, Current, Frequency, Power, Spin, Time, Torque, Voltage

LOCKOUT = 0.1
"""After it has turned back, it doesn't do so again for so long, s (assumed)."""


class SynchronousMotor(MotorDrive):
    """A mains gearmotor: one speed up to its pull-out torque; reverses when it stalls unless `reverses:
    false`.

    `speed` is that at `rated_frequency`; from a supply that states its frequency it turns in proportion.
    """

    title: ClassVar[str] = "Mains synchronous gearmotors"
    direct: ClassVar[bool] = False
    mains: ClassVar[bool] = True
    replaces: ClassVar[tuple[str, ...]] = ("dc", "synchronous")
    cautions: ClassVar[tuple[str, ...]] = (
        "Mains outdoors: only on a ground-fault device (GFCI or RCD), with outdoor-rated cord, boxes and drip "
        "loops; have it checked by a licensed electrician.",
    )

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
        return Shaft(law, rated_current=self._current())

    def _current(self) -> float:
        """As stated, or from power and voltage, A; NaN where neither is known."""
        if self.current:
            return self.current
        return nan if self.power is None or not self.rated_voltage else self.power / self.rated_voltage

    def asked(self, seen: Seen, inertia: float) -> tuple[Array, Array]:
        """Only while it is in step: a stalled one gives less than its pull-out torque, and hums."""
        way = np.where(seen.speed < 0, -1.0, 1.0)
        in_step = np.abs(seen.speed) >= STALLED * self.speed
        return way, np.where(in_step, np.abs(seen.given), 0.0)

    def remarks(self, use: Use) -> list[str]:
        """What standing still does to it."""
        return [
            "a small mains motor takes about the same current stalled as running, so stalling doesn't burn it "
            "(usual of the kind, from memory)"
        ]
