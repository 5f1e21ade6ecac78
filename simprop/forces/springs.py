"""Springs and stops."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from simprop.joints.kinds import Pair
from simprop.reading.base import Record
from simprop.reading.fields import (
    Angle,
    Damping,
    Force,
    Length,
    Place,
    Size,
    Stiffness,
    Torque,
    TurningDamping,
    TurningStiffness,
    fault,
)
from simprop.reading.kinds import Kinds

STORED = "Springs store energy with the power off: let them down before work, shield the ends."


class LineSpring(Record):
    """A spring between a point on each of two bodies.

    Attributes:
        rate: force per length, N/m.
        free_length: distance of the two points at which the spring (behind its slack) carries no force, m.
        preload: initial tension of a close-wound extension spring, N.
        slack: free play of hooks or rope before the spring is taken up, m.
    """

    cautions: ClassVar[tuple[str, ...]] = (STORED,)
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    rate: Stiffness
    free_length: Size
    preload: Force = 0.0
    slack: Length = 0.0
    damping: Damping = 0.0


class ExtensionSpring(LineSpring):
    """Pulls when longer than its free length, goes slack when shorter."""

    kind: Literal["extension"] = "extension"
    between: Pair = Field(alias="extension")


class CompressionSpring(LineSpring):
    """Pushes when shorter than its free length, comes loose when longer."""

    kind: Literal["compression"] = "compression"
    between: Pair = Field(alias="compression")


class TwoWaySpring(LineSpring):
    """Pulls and pushes: fastened at both ends."""

    kind: Literal["two_way"] = "two_way"
    between: Pair = Field(alias="two_way")


class TorsionSpring(Record):
    """A spring about a pin: torque = -rate * (angle - free_angle) - preload in the sense of the angle."""

    cautions: ClassVar[tuple[str, ...]] = (STORED,)
    kind: Literal["torsion"] = "torsion"
    joint: str = Field(alias="torsion")
    rate: TurningStiffness
    free_angle: Angle = 0.0
    preload: Torque = 0.0
    slack: Angle = 0.0
    damping: TurningDamping = 0.0


SPRINGS: Kinds[Record] = Kinds("spring")
"""The kinds of spring."""

for _kind in (ExtensionSpring, CompressionSpring, TwoWaySpring, TorsionSpring):
    SPRINGS.add(_kind)

Spring = Annotated[ExtensionSpring | CompressionSpring | TwoWaySpring | TorsionSpring, SPRINGS]


class TurningStop(Record):
    """End stops of a pin, as angles from the start pose, springy with a loss; never rigid."""

    kind: Literal["pin_stop"] = "pin_stop"
    joint: str = Field(alias="pin_stop")
    below: Angle | None = None
    above: Angle | None = None
    arm: Size | None = None
    of: str = "rubber"
    stiffness: TurningStiffness | None = None
    damping: TurningDamping | None = None

    @model_validator(mode="after")
    def _sides(self) -> TurningStop:
        _check_sides(self.below, self.above)
        return self


class SlidingStop(Record):
    """End stops of a slider, as distances from the start pose, springy with a loss; never rigid."""

    kind: Literal["slide_stop"] = "slide_stop"
    joint: str = Field(alias="slide_stop")
    below: Length | None = None
    above: Length | None = None
    of: str = "rubber"
    stiffness: Stiffness | None = None
    damping: Damping | None = None

    @model_validator(mode="after")
    def _sides(self) -> SlidingStop:
        _check_sides(self.below, self.above)
        return self


def _check_sides(below: float | None, above: float | None) -> None:
    if below is None and above is None:
        raise fault("a stop says where it is", "below: -10 deg, above: 80 deg, or both")
    if below is not None and above is not None and below >= above:
        raise fault("the stop below must lie under the stop above")


STOPS: Kinds[Record] = Kinds("stop")
"""The kinds of stop."""

STOPS.add(TurningStop)
STOPS.add(SlidingStop)

Stop = Annotated[TurningStop | SlidingStop, STOPS]
