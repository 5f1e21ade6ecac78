"""A sliding joint."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.geometry.arrays import Array
from simprop.joints.kinds import JOINTS, Guide, JointKind, Loss, Pair, rubbing, surfaces_of
from simprop.joints.play import Play, check_guided, check_play, guide_play
from simprop.reading.fields import Damping, Direction, Number, Size, Stiffness
from simprop.reading.friction import ForceOrSurfaces


@JOINTS.add
class Slider(JointKind):
    """Slides along a line and doesn't turn.

    Attributes:
        bearing: guided length, centred on `at` and carried by the first body, m.
        friction: a force, or a coefficient or pair of surfaces: then mu (N1 + N2) with the reactions at the two ends
            of the bearing.
        clearance: of a loose guide: its bore less the diameter of what slides in it, m.
        stiffness: of each end of a loose guide where it touches, N/m; None: from the materials.
        loss: damping ratio of that contact; None: from the materials.
        diameter: of what slides, m; counts for a loose guide with friction.
    """

    moves = ("slide",)
    needs_fastener = False
    mark = "square"

    kind: Literal["slider"] = "slider"
    between: Pair = Field(alias="slider")
    along: Direction
    bearing: Size | None = None
    friction: ForceOrSurfaces = 0.0
    viscous: Damping = 0.0
    diameter: Size | None = None
    clearance: Size | None = None
    stiffness: Stiffness | None = None
    loss: Number | None = None

    @model_validator(mode="after")
    def _guided(self) -> Slider:
        check_guided(self.bearing, self.friction, self.clearance)
        check_play(self.clearance, self.stiffness, self.loss, self.friction, self.diameter)
        return self

    @property
    def direction(self) -> Array:
        return np.array(self.along)

    @property
    def thick(self) -> float | None:
        """Diameter of what slides, m."""
        return self.diameter

    @property
    def bed(self) -> float | None:
        """Its bearing."""
        return self.bearing

    @property
    def losses(self) -> tuple[Loss, ...]:
        """Of the slide: a force, or mu (N1 + N2)."""
        return (rubbing(self.friction, self.viscous, length=self.bearing or 0.0),)

    @property
    def play(self) -> Play | None:
        return guide_play(self)

    @property
    def guide(self) -> Guide:
        return Guide(self.bearing, surfaces_of(self.friction))
