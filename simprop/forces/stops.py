"""End stops: what the rig says of them, and their law against what runs onto them."""

from __future__ import annotations

from abc import abstractmethod
from math import pi, sqrt
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.bought import Bought
from simprop.geometry.arrays import Array
from simprop.geometry.finish import finish_of
from simprop.geometry.freedom import square
from simprop.geometry.prism import prism
from simprop.geometry.surface import Surface
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


STEEL = finish_of("steel")
THICK = 0.006
"""Of a ratchet's wheel and pawl, m; for the picture alone (assumed)."""
CATCHING_ARM = 0.02
"""Distance of a pawl or roller from its axis where none is stated, m (assumed)."""


PadName = Annotated[str, known(pad_of)]


class Stop(Record):
    """What every stop says: springy with a loss, never rigid.

    Attributes:
        joint: that it stops; its kind's key names it.
        of: material of its pad.
        stiffness: N*m/rad or N/m; None: of a pad of its material.
        damping: N*m*s/rad or N*s/m; None: from the loss of its material.
        MOTION: of the joint, that it stops.
    """

    if TYPE_CHECKING:
        kind: str
        joint: str
        of: str
        stiffness: float | None
        damping: float | None
    MOTION: ClassVar[Literal["turn", "slide"]]

    @property
    @abstractmethod
    def bounds(self) -> tuple[float | None, float | None]:
        """Where it begins below and above, from the start pose, rad or m."""

    def bought(self) -> tuple[Bought, ...]:
        """What stops it: a pad at each end."""
        ends = sum(bound is not None for bound in self.bounds)
        return (Bought("stops", f"pad or bumper of {self.of}", ends, wears="it hardens and tears"),)

    @property
    def pitch(self) -> float | None:
        """See `StopLaw`."""
        return None

    def drawn(self, axis: Array) -> tuple[Surface, Surface] | None:
        """What is seen of it about the joint's point on the second and on the first body, world axes of the start pose.

        Args:
            axis: of the joint, unit (3,).
        """
        return None

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
        lost = damping if self.damping is None else self.damping
        return StopLaw(*self.bounds, stiffness, lost, self.pitch), assumed


class EndStop(Stop):
    """A stop that stays where it is.

    Attributes:
        below: where the lower stop begins, from the start pose, rad or m.
        above: where the upper one begins.
    """

    if TYPE_CHECKING:
        below: float | None
        above: float | None

    @model_validator(mode="after")
    def _sides(self) -> EndStop:
        if self.below is None and self.above is None:
            raise fault("a stop says where it is", "below: -10 deg, above: 80 deg, or both")
        if self.below is not None and self.above is not None and self.below >= self.above:
            raise fault("the stop below must lie under the stop above")
        return self

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        return self.below, self.above


class TurningStop(EndStop):
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


class SlidingStop(EndStop):
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


class Catch(Stop):
    """What lets a pin turn one way only; it begins caught in the start pose.

    Attributes:
        turns: the second body may turn with the joint's axis (right-handed) against the first, or against it.
        arm: where it catches, from the axis, m.
    """

    of: PadName = "steel"
    turns: Literal["with", "against"] = "with"
    arm: Size | None = None
    stiffness: TurningStiffness | None = None
    damping: TurningDamping | None = None
    MOTION: ClassVar[Literal["turn", "slide"]] = "turn"

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        return (0.0, None) if self.turns == "with" else (None, 0.0)

    def pad(self, moving: float) -> tuple[float, float, str]:
        arm = CATCHING_ARM if self.arm is None else self.arm
        return *pad_pin(self.of, arm, moving), f" {arm * 1e3:g} mm from the axis"


class Ratchet(Catch):
    """A toothed wheel with a pawl: a pin turns one way and falls back by no more than a tooth.

    Attributes:
        teeth: of the wheel.
    """

    kind: Literal["ratchet"] = "ratchet"
    joint: str = Field(alias="ratchet")
    teeth: Annotated[int, Field(ge=3, le=400, strict=True)]

    def bought(self) -> tuple[Bought, ...]:
        words = f"ratchet wheel, {self.teeth} teeth, with its pawl and spring"
        return (Bought("stops", words, 1, wears="the pawl's edge wears"),)

    @property
    def pitch(self) -> float | None:
        return 2 * pi / self.teeth

    def drawn(self, axis: Array) -> tuple[Surface, Surface] | None:
        """A wheel with saw teeth, and its pawl above."""
        arm, sense = self.arm or CATCHING_ARM, 1.0 if self.turns == "with" else -1.0
        one, two = square(axis)
        angle = np.repeat(np.arange(self.teeth), 2) * (
            2 * pi / self.teeth
        )  # a tooth falls steeply from tip to root
        outline = np.tile([0.8 * arm, arm], self.teeth)[:, None] * np.stack(
            [np.cos(angle), np.sin(angle)], axis=1
        )
        frame = np.array([one, sense * two, sense * axis])
        wheel = prism([outline], -0.5 * THICK * frame[2], frame, THICK, STEEL)
        pawl = arm * np.array([[0.98, 0.05], [1.6, -0.75], [1.75, -0.65], [1.15, 0.12]])
        return wheel, prism([pawl], -0.5 * THICK * frame[2], frame, THICK, STEEL)


class OneWay(Catch):
    """A one-way clutch (free-wheel, roller clutch bearing): a pin turns one way and doesn't fall back."""

    kind: Literal["one_way"] = "one_way"
    joint: str = Field(alias="one_way")

    def bought(self) -> tuple[Bought, ...]:
        return (Bought("stops", "one-way clutch or roller bearing", 1),)

    @property
    def pitch(self) -> float | None:
        return 0.0


STOPS: Kinds[Stop] = Kinds("stop")
"""The kinds of stop."""

for _kind in (TurningStop, SlidingStop, Ratchet, OneWay):
    STOPS.add(_kind)

AnyStop = Annotated[Stop, STOPS]
