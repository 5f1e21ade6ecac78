"""Springs: what the rig says of them, their law, and what is seen of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from simprop.fasteners.ends import Ended, Held
from simprop.forces.coil import coil
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.joints.kinds import Pair
from simprop.laws.springs import AxisLaw, Coil, Compression, Extension, LineLaw, Torsion, TwoWay
from simprop.reading.fields import (
    Angle,
    Damping,
    Force,
    Length,
    NotNegative,
    Place,
    Size,
    Stiffness,
    Torque,
    TurningDamping,
    TurningStiffness,
    apart,
)
from simprop.reading.kinds import Kinds

STORED = "Springs store energy with the power off: let them down before work, shield the ends."


@dataclass(frozen=True)
class Line:
    """A law between a point on each of two bodies, places of the start pose."""

    between: Pair
    start: Place
    end: Place
    law: LineLaw


class Spring(Ended):
    """What any room may ask of a spring; its kind's key names its two bodies, or the joint that it acts about.

    Attributes:
        PIVOTED: it acts about a joint that only turns; else between two bodies.
    """

    kind: str
    PIVOTED: ClassVar[bool] = False
    cautions: ClassVar[tuple[str, ...]] = (STORED,)

    def line(self) -> Line | None:
        """What it is between two points; None where it acts about a joint."""
        return None

    def about(self) -> tuple[str, AxisLaw] | None:
        """The joint that it acts about, and its law; None where it acts between two points."""
        return None

    def drawn(self, lengths: Array) -> Surface:
        """What is seen of it along x from 0 to 1, to be stretched to its length; `lengths`: over the run, (n,) m."""
        return coil(float(lengths.mean()))


class LineSpring(Spring):
    """A coil spring between a point on each of two bodies.

    Attributes:
        rate: force per length, N/m.
        free_length: distance of the two points at which the spring (behind its slack) carries no force, m.
        preload: initial tension of a close-wound extension spring, N.
        slack: free play of hooks or rope before the spring is taken up, m.
        held_by: what holds its ends to the bodies; None: not named.
        LAW: of its kind.
    """

    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    rate: Stiffness
    free_length: Size
    preload: Annotated[Force, NotNegative] = 0.0
    slack: Annotated[Length, NotNegative] = 0.0
    damping: Damping = 0.0
    held_by: Held = None
    if TYPE_CHECKING:
        between: Pair
    LAW: ClassVar[type[Coil]]

    @model_validator(mode="after")
    def _straight(self) -> LineSpring:
        apart(self.start, self.end)
        return self

    def line(self) -> Line:
        law = self.LAW(self.rate, self.free_length, self.preload, self.slack, self.damping)
        return Line(self.between, self.start, self.end, law)


class ExtensionSpring(LineSpring):
    """Pulls when longer than its free length, goes slack when shorter."""

    kind: Literal["extension"] = "extension"
    between: Pair = Field(alias="extension")
    LAW: ClassVar[type[Coil]] = Extension

    def drawn(self, lengths: Array) -> Surface:
        """With straight hooks at its ends."""
        return coil(float(lengths.mean()), hook=0.12)


class CompressionSpring(LineSpring):
    """Pushes when shorter than its free length, comes loose when longer."""

    hooked: ClassVar[bool] = False
    kind: Literal["compression"] = "compression"
    between: Pair = Field(alias="compression")
    LAW: ClassVar[type[Coil]] = Compression


class TwoWaySpring(LineSpring):
    """Pulls and pushes: fastened at both ends."""

    kind: Literal["two_way"] = "two_way"
    between: Pair = Field(alias="two_way")
    LAW: ClassVar[type[Coil]] = TwoWay


class TorsionSpring(Spring):
    """A spring about a pin: torque = -rate * (angle - free_angle) - preload in the sense of the angle."""

    kind: Literal["torsion"] = "torsion"
    joint: str = Field(alias="torsion")
    rate: TurningStiffness
    free_angle: Angle = 0.0
    preload: Torque = 0.0
    slack: Annotated[Angle, NotNegative] = 0.0
    damping: TurningDamping = 0.0
    PIVOTED: ClassVar[bool] = True

    def about(self) -> tuple[str, AxisLaw]:
        return self.joint, Torsion(self.rate, self.free_angle, self.preload, self.slack, self.damping)


SPRINGS: Kinds[Spring] = Kinds("spring")
"""The kinds of spring."""

for _kind in (ExtensionSpring, CompressionSpring, TwoWaySpring, TorsionSpring):
    SPRINGS.add(_kind)

AnySpring = Annotated[Spring, SPRINGS]
