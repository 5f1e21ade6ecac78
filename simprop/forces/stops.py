"""End stops: what the rig says of them, and their law against what runs onto them."""

from __future__ import annotations

from abc import abstractmethod
from math import sqrt
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from simprop.laws.stops import PADS, StopLaw, pad_of, pad_pin, pad_slide
from simprop.reading.base import Record
from simprop.reading.catalogue import known
from simprop.reading.fields import (
    Angle,
    Damping,
    Length,
    Size,
    Stiffness,
    TurningDamping,
    TurningStiffness,
    fault,
)
from simprop.reading.kinds import Kinds

ASSUMED_ARM = 0.1
"""Distance of a pin's stop from its axis where none is stated, m (assumed)."""


PadName = Annotated[str, known(pad_of)]


class Stop(Record):
    """What every stop says: springy with a loss, never rigid.

    Attributes:
        joint: that it stops; its kind's key names it.
        below: where the lower stop begins, from the start pose, rad or m.
        above: where the upper one begins.
        of: material of its pad.
        stiffness: N*m/rad or N/m; None: of a pad of its material.
        damping: N*m*s/rad or N*s/m; None: from the loss of its material.
        MOTION: of the joint, that it stops.
    """

    if TYPE_CHECKING:
        kind: str
        joint: str
        below: float | None
        above: float | None
        of: str
        stiffness: float | None
        damping: float | None
    MOTION: ClassVar[Literal["turn", "slide"]]

    @model_validator(mode="after")
    def _sides(self) -> Stop:
        if self.below is None and self.above is None:
            raise fault("a stop says where it is", "below: -10 deg, above: 80 deg, or both")
        if self.below is not None and self.above is not None and self.below >= self.above:
            raise fault("the stop below must lie under the stop above")
        return self

    @abstractmethod
    def pad(self, moving: float) -> tuple[float, float, str]:
        """Stiffness and damping of a pad of its material, and where that is, in words.

        Args:
            moving: mass, or inertia about the axis, that runs onto it, kg or kg*m^2.
        """

    def law(self, moving: float) -> tuple[StopLaw, str]:
        """Its law, and what was assumed for it, in words or "".

        Args:
            moving: mass, or inertia about the axis, that runs onto it, kg or kg*m^2.
        """
        stiffness, damping, where = self.pad(moving)
        assumed = f"stiffness of a {self.of} pad{where} (assumed)"
        if self.stiffness is not None:
            stiffness, assumed = self.stiffness, ""
            damping = 2.0 * PADS[self.of].loss * sqrt(stiffness * moving)
        return StopLaw(
            self.below, self.above, stiffness, damping if self.damping is None else self.damping
        ), assumed


class TurningStop(Stop):
    """End stops of a pin, as angles from the start pose, springy with a loss; never rigid."""

    kind: Literal["pin_stop"] = "pin_stop"
    joint: str = Field(alias="pin_stop")
    below: Angle | None = None
    above: Angle | None = None
    arm: Size | None = None
    of: PadName = "rubber"
    stiffness: TurningStiffness | None = None
    damping: TurningDamping | None = None
    MOTION: ClassVar[Literal["turn", "slide"]] = "turn"

    def pad(self, moving: float) -> tuple[float, float, str]:
        arm = ASSUMED_ARM if self.arm is None else self.arm
        return *pad_pin(self.of, arm, moving), f" {arm * 1e3:g} mm from the axis"


class SlidingStop(Stop):
    """End stops of a slider, as distances from the start pose, springy with a loss; never rigid."""

    kind: Literal["slide_stop"] = "slide_stop"
    joint: str = Field(alias="slide_stop")
    below: Length | None = None
    above: Length | None = None
    of: PadName = "rubber"
    stiffness: Stiffness | None = None
    damping: Damping | None = None
    MOTION: ClassVar[Literal["turn", "slide"]] = "slide"

    def pad(self, moving: float) -> tuple[float, float, str]:
        return *pad_slide(self.of, moving), ""


STOPS: Kinds[Stop] = Kinds("stop")
"""The kinds of stop."""

STOPS.add(TurningStop)
STOPS.add(SlidingStop)

AnyStop = Annotated[Stop, STOPS]
