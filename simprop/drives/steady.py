"""Constant torque."""

from __future__ import annotations

from math import nan
from typing import ClassVar, Literal

from simprop.drives.able import Able
from simprop.drives.base import MotorDrive, Wiring
from simprop.laws.forms import Note, Shaft, Steady
from simprop.laws.supply import Source
from simprop.reading.fields import Torque


class SteadyTorque(MotorDrive):
    """A constant torque (a falling weight, a bench test)."""

    word: ClassVar[str] = "steady torque"
    unwired: ClassVar[str] = "a steady torque: a hand, or a weight"
    direct: ClassVar[bool] = False
    sized: ClassVar[bool] = False
    runs_up: ClassVar[bool] = False

    kind: Literal["steady"] = "steady"
    torque: Torque

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """Not known: a constant torque has no stall."""
        return Able(nan, nan, nan)

    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        return Shaft(Steady(self.torque))
