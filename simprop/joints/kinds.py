"""Joints between bodies. The coordinate of a joint is the motion of the second body against the first,
positive along (or right-handed about) its axis, and zero in the start pose."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from simprop.catalog.friction import Surfaces
from simprop.fasteners.kinds import Holding
from simprop.reading.base import Record
from simprop.reading.fields import (
    Damping,
    Direction,
    Number,
    Places,
    Size,
    Stiffness,
    Torque,
    TurningDamping,
    fault,
)
from simprop.reading.friction import ForceOrSurfaces, TorqueOrSurfaces
from simprop.reading.kinds import Kinds

Pair = tuple[str, str]


class JointBase(Record):
    """What every joint says: where it is, and what holds it.

    `at` is one point, or one point for each body (measured on each); `held_by` names the fastener.
    """

    at: Places
    held_by: Holding | None = None


class Pin(JointBase):
    """A hinge: turns about its axis.

    Attributes:
        friction: a torque, or a coefficient or pair of surfaces: then mu * F * r with the force across the pin.
        diameter: of the pin, m; None: that of the bolt or pin it is held by.
        bearing: length of the pin in its hole, m; None: its diameter (assumed; counts for a loose pin alone).
        clearance: of a loose pin: diameter of the hole less that of the pin, m.
        stiffness: of pin and wall of a loose pin where they touch, N/m; None: from their materials.
        loss: damping ratio of that contact; None: from the materials.
    """

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
        if pin_diameter(self) is None and (isinstance(self.friction, Surfaces) or self.clearance is not None):
            why = "friction by a coefficient" if self.clearance is None else "a loose pin"
            raise fault(f"{why} needs the diameter of the pin", "diameter: 6 mm, or held_by: {bolt: 1/4-20}")
        _play(self.clearance, self.stiffness, self.loss, self.friction)
        return self


def pin_diameter(pin: Pin) -> float | None:
    """Diameter of a pin as stated, else of what holds it, m; None where neither is known."""
    if pin.diameter is not None:
        return pin.diameter
    return None if pin.held_by is None else pin.held_by.diameter


class Slider(JointBase):
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
        if self.bearing is None and (isinstance(self.friction, Surfaces) or self.clearance is not None):
            why = "friction by a coefficient" if self.clearance is None else "a loose guide"
            raise fault(f"{why} needs the guided length", "bearing: 40 mm")
        _play(self.clearance, self.stiffness, self.loss, self.friction)
        return self


class Cylindrical(JointBase):
    """Slides along its axis and turns about it; `bearing` and `friction` as for a slider.

    Where `friction` is by a coefficient and a `diameter` is given, it also acts on the turn: mu (N1 + N2) r.
    """

    kind: Literal["cylindrical"] = "cylindrical"
    between: Pair = Field(alias="cylindrical")
    axis: Direction
    bearing: Size | None = None
    friction: ForceOrSurfaces = 0.0
    viscous: Damping = 0.0
    turning_friction: Torque = 0.0
    turning_viscous: TurningDamping = 0.0
    diameter: Size | None = None

    @model_validator(mode="after")
    def _guided(self) -> Cylindrical:
        if self.bearing is None and isinstance(self.friction, Surfaces):
            raise fault("friction by a coefficient needs the guided length", "bearing: 40 mm")
        return self


def _play(clearance: float | None, stiffness: float | None, loss: float | None, friction: object) -> None:
    if clearance is None and (stiffness is not None or loss is not None):
        raise fault("stiffness and loss belong to a joint with play", "clearance: 0.3 mm")
    if clearance is not None and isinstance(friction, float) and friction > 0.0:
        raise fault("friction of a joint with play is a coefficient or a pair of surfaces", "friction: 0.35")
    if loss is not None and not 0.0 <= loss < 1.0:
        raise fault("a damping ratio lies from 0 to below 1", "loss: 0.08")


class BallJoint(JointBase):
    """A ball joint: turns every way."""

    kind: Literal["ball"] = "ball"
    between: Pair = Field(alias="ball")


class Fixed(JointBase):
    """Fastened together: no motion; the load through it is reported."""

    kind: Literal["fixed"] = "fixed"
    between: Pair = Field(alias="fixed")


JOINTS: Kinds[Record] = Kinds("joint")
"""The kinds of joint."""

for _kind in (Pin, Slider, Cylindrical, BallJoint, Fixed):
    JOINTS.add(_kind)

Joint = Annotated[Pin | Slider | Cylindrical | BallJoint | Fixed, JOINTS]
