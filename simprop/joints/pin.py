"""A pin joint."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.friction import Surfaces
from simprop.fasteners.base import AXLE
from simprop.fasteners.hexagon import hexagon_bolt
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.joints.kinds import JOINTS, LAST, JointKind, Loss, Pair, rubbing, surfaces_of
from simprop.joints.play import Play, check_play
from simprop.reading.fields import Direction, Number, Size, Stiffness, TurningDamping, fault
from simprop.reading.friction import TorqueOrSurfaces


@JOINTS.add
class Pin(JointKind):
    """A hinge: turns about its axis.

    Attributes:
        friction: a torque, or a coefficient or pair of surfaces: then mu F r with the force across the pin, or, where
            the bearing is stated, mu (N1 + N2) r with the reactions at the bearing's two ends.
        diameter: of the pin, m; None: that of the bolt or pin it is held by.
        bearing: length of the pin in its hole, m; None: of a loose pin its diameter (assumed).
        clearance: of a loose pin: diameter of the hole less that of the pin, m.
        stiffness: of pin and wall of a loose pin where they touch, N/m; None: from their materials.
        loss: damping ratio of that contact; None: from the materials.
    """

    moves = ("turn",)
    pivot = True
    mark = "hinge"

    kind: Literal["pin"] = "pin"
    between: Pair = Field(alias="pin")
    axis: Direction
    friction: TorqueOrSurfaces = 0.0
    viscous: TurningDamping = 0.0
    diameter: Size | None = None
    bearing: Size | None = None
    clearance: Size | None = None
    stiffness: Stiffness | None = None
    loss: Number | None = None

    @model_validator(mode="after")
    def _sized(self) -> Pin:
        if self.thick is None and (isinstance(self.friction, Surfaces) or self.clearance is not None):
            why = "friction by a coefficient" if self.clearance is None else "a loose pin"
            raise fault(f"{why} needs the diameter of the pin", "diameter: 6 mm, or held_by: {bolt: 1/4-20}")
        check_play(self.clearance, self.stiffness, self.loss, self.friction, self.thick)
        return self

    @property
    def thick(self) -> float | None:
        """Its diameter as stated, else that of what holds it, m."""
        return self.diameter or super().thick

    @property
    def direction(self) -> Array:
        return np.array(self.axis)

    @property
    def bed(self) -> float | None:
        """Its bearing."""
        return self.bearing

    @property
    def losses(self) -> tuple[Loss, ...]:
        """Of the turn: a torque, mu F r, or with a bearing mu (N1 + N2) r of its two ends."""
        return (rubbing(self.friction, self.viscous, (self.thick or 0.0) / 2, self.bearing or 0.0),)

    @property
    def play(self) -> Play | None:
        if self.clearance is None:
            return None
        thick = self.thick or 0.0
        length, rub = self.bearing or thick, surfaces_of(self.friction)
        return Play(self.clearance, thick, length, (0.0,), self.stiffness, self.loss, rub)

    @property
    def order(self) -> int:
        """With play it closes a loop rather than anything else."""
        return 2 if self.clearance is None else LAST

    def drawn(self, start: float, end: float) -> Surface | None:
        return pin_drawn(self, start, end)


def pin_drawn(joint: JointKind, start: float, end: float) -> Surface:
    """What goes through a pivot: what holds it, or a bolt where that isn't said.

    Args:
        joint: the pivot.
        start, end: as for `JointKind.drawn`.
    """
    held = joint.held_by
    return hexagon_bolt(start, end, AXLE) if held is None else held.drawn(start, end)
