"""Linear actuator by its motor and its screw."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from math import pi
from typing import Annotated, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator
from typing_extensions import Self

from simprop.catalog.friction import surfaces
from simprop.drives.able import Able
from simprop.drives.base import PusherDrive, Share, Use, grown, possible
from simprop.drives.linear import LinearPusher
from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.laws.forms import LinePull, Mounting, Note
from simprop.laws.supply import Source
from simprop.laws.threads import Mesh, screw_mesh
from simprop.reading.fields import (
    AboveZero,
    Angle,
    Current,
    Force,
    Size,
    Spin,
    Stiffness,
    Time,
    Torque,
    Voltage,
    fault,
)
from simprop.reading.friction import Rubbing
from simprop.reading.inside import altered


class SpindlePusher(PusherDrive):
    """An actuator by the motor that turns its spindle, and by the spindle: what pushes, how fast, and whether it holds
    by itself follow from those.

    Attributes:
        spindle_speed: of the spindle without load, behind the motor's gears.
        stall_torque: on the spindle.
        lead: travel for one turn, m.
        diameter: outside the thread, m.
        starts: threads side by side.
        thread_angle: between the flanks; 30 deg of a trapezoidal thread.
        friction: of the thread.
        force: that it may be asked for, N.
        stroke, longest_run, duty, stiffness: as of a `linear` one.
    """

    word: ClassVar[str] = "linear actuator"
    title: ClassVar[str] = "Linear actuators by their screw"
    cautions: ClassVar[tuple[str, ...]] = LinearPusher.cautions
    spare: ClassVar[float] = LinearPusher.spare
    varied: ClassVar[tuple[str, ...]] = ("torque", "speed")

    kind: Literal["spindle"] = "spindle"
    rated_voltage: Annotated[Voltage, AboveZero]
    spindle_speed: Annotated[Spin, AboveZero]
    stall_torque: Annotated[Torque, AboveZero]
    idle_current: Current
    stall_current: Current
    lead: Size
    diameter: Size
    starts: Annotated[int, Field(ge=1, le=20, strict=True)] = 1
    thread_angle: Annotated[Angle, Field(ge=0.0, le=1.3)] = pi / 6
    friction: Rubbing = surfaces("greased steel on bronze")
    force: Annotated[Force, AboveZero]
    stroke: Size
    longest_run: Time = 120.0
    duty: Share = 0.1
    stiffness: Stiffness | None = None

    @model_validator(mode="after")
    def _pushes(self) -> SpindlePusher:
        try:
            _ = self.mesh
        except ValueError as error:
            raise fault(str(error), "a smaller lead, more starts or a larger diameter") from None
        if not 0 <= self.idle_current < self.stall_current:
            raise fault("stalled it takes more current than without load", "stall_current: 4 A")
        if self.force >= self.most:
            raise fault(
                f"its motor stalls at {self.most:.4g} N behind this screw", f"force: {0.5 * self.most:.3g} N"
            )
        possible(self.whole.line())
        return self

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its motor's torque stalled and speed without load; the force that it may be asked for stays."""
        torque, speed, power = grown(off, "torque", "speed")
        return altered(
            self,
            stall_torque=torque * self.stall_torque,
            spindle_speed=speed * self.spindle_speed,
            idle_current=power * self.idle_current,
            stall_current=power * self.stall_current,
        )

    @property
    def mesh(self) -> Mesh:
        """The flanks of its screw."""
        return screw_mesh(self.lead, self.diameter, self.starts, self.thread_angle)

    @property
    def efficient(self) -> float:
        """Share of the torque that pushes, 0 to 1."""
        mesh = self.mesh
        return mesh.reach / (mesh.reach + mesh.lost(self.friction.kinetic))

    @property
    def most(self) -> float:
        """Force at which the motor stalls, N."""
        return self.stall_torque * self.efficient / self.mesh.reach

    @property
    def locks(self) -> bool:
        """Whether its load can't turn it at rest."""
        return self.mesh.lost(self.friction.static, driven=True) >= self.mesh.reach

    @cached_property
    def whole(self) -> LinearPusher:
        """The same by what it pushes and how fast."""
        share, free = self.force / self.most, self.spindle_speed * self.mesh.reach
        return LinearPusher.model_construct(
            rated_voltage=self.rated_voltage,
            force=self.force,
            no_load_speed=free,
            loaded_speed=(1.0 - share) * free,
            idle_current=self.idle_current,
            full_load_current=self.idle_current + share * (self.stall_current - self.idle_current),
            stroke=self.stroke,
            self_locking=self.locks,
            longest_run=self.longest_run,
            duty=self.duty,
            stiffness=self.stiffness,
        )

    def line(self) -> DcLine:
        """In N and m/s."""
        return self.whole.line()

    @property
    def limit(self) -> float | None:
        return self.force

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """As of the whole."""
        return self.whole.able(source, part)

    def pull(self, mounting: Mounting, note: Note) -> LinePull:
        """As of the whole, and what its screw makes of the motor."""
        holds = "holds by itself" if self.locks else "the load pushes it back where the motor is off"
        note(
            f"{100 * self.efficient:.0f} % of the torque pushes, {1e3 * self.whole.no_load_speed:.3g} mm/s without "
            f"load, stalls at {self.most:.3g} N; {holds}"
        )
        return self.whole.pull(mounting, note)

    def within(self, out: Array) -> NDArray[np.bool_]:
        """As of the whole."""
        return self.whole.within(out)

    def remarks(self, use: Use) -> list[str]:
        return self.whole.remarks(use)
