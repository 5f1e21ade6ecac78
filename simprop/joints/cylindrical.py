"""A cylindrical joint."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.friction import Surfaces
from simprop.geometry.arrays import Array
from simprop.joints.kinds import JOINTS, Grip, Guide, JointKind, Loss, Pair, rubbing, surfaces_of
from simprop.joints.play import Play, check_guided, check_play, guide_play
from simprop.reading.fields import Damping, Direction, Number, Size, Stiffness, Torque, TurningDamping
from simprop.reading.friction import ForceOrSurfaces


@JOINTS.add
class Cylindrical(JointKind):
    """Slides along its axis and turns about it, as a pipe that bobs and turns in a tee; loose in it by `clearance`.

    Attributes:
        bearing: guided length, centred on `at` and carried by the first body, m.
        friction: a force along the slide, or a coefficient or pair of surfaces: then mu (N1 + N2), and with a
            `diameter` also mu (N1 + N2) r on the turn.
        turning_friction: of the turn alone, N*m.
        diameter: of what slides, m; counts for a loose guide with friction.
        clearance: of a loose guide: its bore less the diameter of what slides in it, m.
        stiffness: of each end of a loose guide where it touches, N/m; None: from the materials.
        loss: damping ratio of that contact; None: from the materials.
    """

    moves = ("slide", "turn")
    needs_fastener = False
    mark = "diamond"

    kind: Literal["cylindrical"] = "cylindrical"
    between: Pair = Field(alias="cylindrical")
    axis: Direction
    bearing: Size | None = None
    friction: ForceOrSurfaces = 0.0
    viscous: Damping = 0.0
    turning_friction: Torque = 0.0
    turning_viscous: TurningDamping = 0.0
    diameter: Size | None = None
    clearance: Size | None = None
    stiffness: Stiffness | None = None
    loss: Number | None = None

    @model_validator(mode="after")
    def _guided(self) -> Cylindrical:
        check_guided(self.bearing, self.friction, self.clearance)
        check_play(self.clearance, self.stiffness, self.loss, self.friction, self.diameter)
        return self

    @property
    def direction(self) -> Array:
        return np.array(self.axis)

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
        grip = None
        if isinstance(self.friction, Surfaces) and self.diameter is not None:
            grip = Grip(self.friction, self.diameter / 2, self.bearing or 0.0)
        slide = rubbing(self.friction, self.viscous, length=self.bearing or 0.0)
        return slide, Loss(self.turning_friction, self.turning_viscous, grip)

    @property
    def play(self) -> Play | None:
        """Two rings, as of a slider."""
        return guide_play(self)

    @property
    def guide(self) -> Guide:
        return Guide(self.bearing, surfaces_of(self.friction))
