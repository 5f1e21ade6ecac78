"""Linear actuator: a DC motor behind a lead screw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import copysign, sqrt
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator
from typing_extensions import Self

from simprop.catalog import spreads
from simprop.catalog.spreads import Tunable
from simprop.drives.able import Able, from_line
from simprop.drives.base import RUN_UP, PusherDrive, Share, Switch, Use, as_law, doubt, grown, possible, rotor
from simprop.geometry.arrays import Array
from simprop.laws import actuator
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.forms import LOSS, LinePull, Mounting, Note, PullState
from simprop.laws.locking import drive_torque
from simprop.laws.supply import Load, Source
from simprop.reading.fields import Current, Force, Size, Speed, Stiffness, Time, Voltage, fault
from simprop.reading.inside import altered

BRACKETS = 1e5
"""Stiffness of a linear actuator with its brackets where none is stated, N/m (assumed)."""


@dataclass(frozen=True)
class Screw(LinePull):
    """An actuator: its figures, its line in N and m/s, its rotor seen as a mass (kg), its brackets."""

    figures: actuator.LinearActuator
    line: DcLine
    mass: float
    stiffness: float
    damping: float

    @property
    def rate(self) -> float:
        """Of its brackets, N/m."""
        return self.stiffness

    def begin(self, mounting: Mounting) -> PullState:
        return _Running(self, mounting, mounting.extension)


@dataclass
class _Running(PullState):
    """The spring of its brackets between its nut and the rod; the way in which a limit switch has cut its motor."""

    law: Screw
    mounting: Mounting
    nut: float
    nut_rate: float = 0.0
    cut: float = 0.0
    current: float = field(default=0.0, init=False)

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        law, line = self.law, self.law.line
        out = self.mounting.out(length)
        push = law.stiffness * (self.nut - out) + law.damping * (self.nut_rate - rate)
        if volts is not None:
            volts = self._switched(push, volts)
        self.nut_rate = self._next(push, step, volts)
        moved = self.nut + step * self.nut_rate
        self.nut = min(max(moved, 0.0), law.figures.stroke)
        if self.nut != moved:
            self.nut_rate = 0.0
        self.current = (
            0.0 if volts is None else (volts - line.speed_constant * self.nut_rate) / line.resistance
        )
        return -push

    def _switched(self, push: float, volts: float) -> float | None:
        """The voltage behind its limit switches, set so that it runs on to the end of its stroke and no further."""
        law, way = self.law, copysign(1.0, volts)
        if self.cut != way or not law.figures.self_locking:
            brake = friction_torque(law.line) + max(0.0, push * way)
            runs_on = law.mass * self.nut_rate * abs(self.nut_rate) / (2 * brake) if brake > 0 else 0.0
            ends = actuator.switched(law.figures, self.nut + runs_on, volts) == 0.0
            self.cut = way if ends else 0.0
        return None if self.cut == way else volts

    def _next(self, push: float, step: float, volts: float | None) -> float:
        law, line, old = self.law, self.law.line, self.nut_rate
        locks = law.figures.self_locking
        drive = drive_torque(line, volts, 0.0)
        way = copysign(1.0, old) if old != 0.0 else copysign(1.0, drive) if drive != 0.0 else 0.0
        load = push if not locks or push * way > 0 else 0.0
        slope = 0.0 if volts is None else line.torque_constant * line.speed_constant / line.resistance
        brake = 1 + step * slope / law.mass
        moved = (old + step * (drive - load) / law.mass) / brake
        lost = step * friction_torque(line) / law.mass / brake
        new = 0.0 if abs(moved) <= lost else moved - copysign(lost, moved)
        backwards = locks and new * (drive if drive != 0.0 else old) < 0
        return 0.0 if backwards or (locks and volts is None and old * new <= 0) else new

    def draw(self, share: float) -> Load | None:
        line = self.law.line
        return Load(share**2 / line.resistance, line.speed_constant * self.nut_rate / share)


class LinearPusher(PusherDrive):
    """A lead-screw actuator by its speed without load and its rated force.

    Attributes:
        loaded_speed: at the rated force; three quarters of the free speed where not given (assumed).
        stroke: limit switches cut the motor at both ends, m.
        longest_run: allowed at a stretch, s.
        duty: allowed share of the time.
        stiffness: of the actuator with its brackets, N/m; 100 kN/m where not given (assumed).
    """

    word: ClassVar[str] = "linear actuator"
    title: ClassVar[str] = "Linear actuators"
    cautions: ClassVar[tuple[str, ...]] = (
        "A linear actuator pushes with its full force against whatever stops it, and holds it there unpowered: "
        "guard what it closes, and let its current cut it off.",
    )
    spare: ClassVar[float] = 1.25  # of its rated force, which it may give for long (assumed)
    tunable: ClassVar[tuple[Tunable, ...]] = (
        Tunable("no_load_speed", "speed", "no-load speed", spreads.SPEED),
        Tunable("idle_current", "current", "idle current", spreads.NO_LOAD_CURRENT),
        Tunable("full_load_current", "current", "current at full load", spreads.STALL_CURRENT),
    )
    varied: ClassVar[tuple[str, ...]] = ("force", "speed")

    kind: Literal["linear"] = "linear"
    rated_voltage: Voltage
    force: Force
    no_load_speed: Speed
    loaded_speed: Speed | None = None
    idle_current: Current
    full_load_current: Current
    stroke: Size
    self_locking: Switch = True
    longest_run: Time = 120.0
    duty: Share = 0.1
    stiffness: Stiffness | None = None

    @model_validator(mode="after")
    def _moves(self) -> LinearPusher:
        if min(self.rated_voltage, self.force, self.no_load_speed) <= 0:
            raise fault("an actuator's voltage, force and speed are above zero", "force: 330 N")
        if self.loaded_speed is not None and not 0 < self.loaded_speed < self.no_load_speed:
            raise fault("under its rated force it is slower than without load", "loaded_speed: 20 mm/s")
        if not 0 <= self.idle_current < self.full_load_current:
            raise fault(
                "under its rated force it takes more current than without load", "full_load_current: 4 A"
            )
        possible(self.line())
        return self

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its force, and its speed."""
        force, speed, power = grown(off, "force", "speed")
        return altered(
            self,
            force=force * self.force,
            no_load_speed=speed * self.no_load_speed,
            loaded_speed=None if self.loaded_speed is None else speed * self.loaded_speed,
            idle_current=power * self.idle_current,
            full_load_current=power * self.full_load_current,
        )

    def _figures(self) -> actuator.LinearActuator:
        loaded = self.loaded_speed or actuator.LOADED_SPEED * self.no_load_speed
        figures: actuator.LinearActuator = as_law(actuator.LinearActuator, self, loaded_speed=loaded)
        return figures

    def line(self) -> DcLine:
        """Through its speed without load and at its rated force, in N and m/s."""
        return actuator.line(self._figures())

    @property
    def limit(self) -> float | None:
        return self.force

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """By its line, up to its rated force."""
        return from_line(self.line(), source or Source(self.rated_voltage), part).within(self.force)

    def pull(self, mounting: Mounting, note: Note) -> Screw:
        """The spring of its brackets between its nut and its rod."""
        if self.loaded_speed is None:
            note("loses a quarter of its speed at its rated force (assumed)")
        stiffness = self.stiffness
        if stiffness is None:
            stiffness = BRACKETS
            note(f"{BRACKETS / 1e3:g} kN/m with its brackets (assumed)")
        doubt(self.line(), note)
        line, damping = self.line(), 2 * LOSS * sqrt(stiffness * mounting.moving)
        return Screw(self._figures(), line, rotor(line, RUN_UP), stiffness, damping)

    def within(self, out: Array) -> NDArray[np.bool_]:
        """Everywhere: it stops itself at its ends."""
        return np.ones(len(out), dtype=bool)

    def remarks(self, use: Use) -> list[str]:
        return list(actuator.duty_faults(self._figures(), *use.planned))
