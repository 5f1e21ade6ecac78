"""RC servo."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import partial
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import model_validator
from typing_extensions import Self

from simprop.drives.able import Able, from_line
from simprop.drives.base import RATIO, MotorDrive, Seen, Wiring, doubt, grown, line_asked, possible, rotor
from simprop.geometry.arrays import Array
from simprop.laws import servo
from simprop.laws.dc import DcLine, line_from_figures
from simprop.laws.forms import Control, Follower, Note, Shaft
from simprop.laws.supply import Source
from simprop.reading.fields import Angle, Current, NotNegative, Time, Torque, Voltage, fault
from simprop.reading.inside import altered


class ServoMotor(MotorDrive):
    """An RC servo: turns to the angle that a cue gives, counted from the start pose.

    Attributes:
        time_60: time for 60 degrees without load, s.
        dead_band: error that it ignores, rad to either side.
        full_band: error from which it drives in full, rad.
        friction: of its gears, which holds when it isn't driven, N*m.
        run_up: time constant of its own run-up, s.
    """

    word: ClassVar[str] = "servo"
    title: ClassVar[str] = "RC servos"
    follows: ClassVar[bool] = True
    volts: ClassVar[tuple[float, ...]] = (5.0, 6.0, 7.4)
    continuous: ClassVar[float | None] = 0.25  # 20 to 33 %, from memory
    runs_up: ClassVar[bool] = False
    varied: ClassVar[tuple[str, ...]] = ("torque", "speed")

    kind: Literal["servo"] = "servo"
    rated_voltage: Voltage
    time_60: Time
    stall_torque: Torque
    stall_current: Current
    idle_current: Current = 0.01
    dead_band: Angle = 0.01
    full_band: Angle = 0.09
    friction: Annotated[Torque, NotNegative] = 0.0
    run_up: Time = 0.02

    @model_validator(mode="after")
    def _moves(self) -> ServoMotor:
        if min(self.time_60, self.run_up, self.stall_torque, self.rated_voltage, self.stall_current) <= 0:
            raise fault(
                "a servo's time, run-up, torque, current and voltage are above zero", "time_60: 0.2 s"
            )
        if not 0 <= self.dead_band < self.full_band:
            raise fault(
                "the dead band lies under the band of full drive", "dead_band: 0.5 deg, full_band: 5 deg"
            )
        possible(self.line())
        return self

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its torque stalled, its gears' friction with it, and its speed without load."""
        torque, speed, power = grown(off, "torque", "speed")
        return altered(
            self,
            stall_torque=torque * self.stall_torque,
            friction=torque * self.friction,
            time_60=self.time_60 / speed,
            stall_current=power * self.stall_current,
        )

    def line(self) -> DcLine:
        """Its motor, whose own friction is that of the gears."""
        idle = self.stall_current * self.friction / (self.stall_torque + self.friction)
        speed = servo.speed_from_time(self.time_60)
        return line_from_figures(self.rated_voltage, speed, self.stall_torque, idle, self.stall_current)

    def through(self, told: Collection[str], pulsed: bool) -> str:
        """Nothing: it has a signal wire."""
        return ""

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        return from_line(self.line(), source or Source(self.rated_voltage), part)

    def position_law(self) -> servo.Servo:
        """Its electronics and its line."""
        return servo.Servo(
            servo.speed_from_time(self.time_60),
            self.stall_torque,
            self.stall_current,
            self.idle_current,
            self.rated_voltage,
            self.dead_band,
            self.full_band,
            self.friction,
            self.run_up,
        )

    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        line = self.line()
        doubt(line, note)
        electronics = partial(servo.drive, self.position_law())
        follower = Follower(electronics, self.idle_current, wiring.command.pose)
        control = Control(wiring.command.drive, follower=follower)
        return Shaft(line, rotor(line, self.run_up), RATIO, control=control)

    def asked(self, seen: Seen, inertia: float) -> tuple[Array, Array]:
        """By its current, driven the way its electronics send it."""
        way = np.where(seen.current < 0, -1.0, 1.0)
        return way, line_asked(self.line(), seen, way, inertia)
