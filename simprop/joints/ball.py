"""A ball joint."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simprop.fasteners.hexagon import STEEL
from simprop.geometry.solids import sphere
from simprop.geometry.surface import Surface
from simprop.joints.kinds import JOINTS, JointKind, Pair


@JOINTS.add
class BallJoint(JointKind):
    """A ball joint: turns every way."""

    moves = ("ball",)

    kind: Literal["ball"] = "ball"
    between: Pair = Field(alias="ball")

    @property
    def order(self) -> int:
        """After pins: it closes a loop well."""
        return 4

    def drawn(self, start: float, end: float) -> Surface:
        return sphere(0.02, STEEL)
