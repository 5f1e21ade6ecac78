"""Joints between bodies. The coordinate of a joint is the motion of the second body against the first,
positive along (or right-handed about) its axis, and zero in the start pose."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Tag

from simprop.rig.base import TAG, Record, by_key
from simprop.rig.fasteners import Holding
from simprop.rig.fields import Damping, Direction, Force, Places, Size, Torque, TurningDamping

Pair = tuple[str, str]


class JointBase(Record):
    """What every joint says: where it is, and what holds it.

    `at` is one point, or one point for each body (measured on each); `held_by` names the fastener.
    """

    at: Places
    held_by: Holding | None = None


class Pin(JointBase):
    """A hinge: turns about its axis."""

    kind: Literal["pin"] = "pin"
    between: Pair = Field(alias="pin")
    axis: Direction
    friction: Torque = 0.0
    viscous: TurningDamping = 0.0


class Slider(JointBase):
    """Slides along a line and doesn't turn; `bearing` is the guided length."""

    kind: Literal["slider"] = "slider"
    between: Pair = Field(alias="slider")
    along: Direction
    bearing: Size | None = None
    friction: Force = 0.0
    viscous: Damping = 0.0


class Cylindrical(JointBase):
    """Slides along its axis and turns about it."""

    kind: Literal["cylindrical"] = "cylindrical"
    between: Pair = Field(alias="cylindrical")
    axis: Direction
    bearing: Size | None = None
    friction: Force = 0.0
    viscous: Damping = 0.0
    turning_friction: Torque = 0.0
    turning_viscous: TurningDamping = 0.0


class BallJoint(JointBase):
    """A ball joint: turns every way."""

    kind: Literal["ball"] = "ball"
    between: Pair = Field(alias="ball")


class Fixed(JointBase):
    """Fastened together: no motion; the load through it is reported."""

    kind: Literal["fixed"] = "fixed"
    between: Pair = Field(alias="fixed")


Joint = Annotated[
    Annotated[Pin, Tag(TAG + "pin")]
    | Annotated[Slider, Tag(TAG + "slider")]
    | Annotated[Cylindrical, Tag(TAG + "cylindrical")]
    | Annotated[BallJoint, Tag(TAG + "ball")]
    | Annotated[Fixed, Tag(TAG + "fixed")],
    by_key("pin", "slider", "cylindrical", "ball", "fixed", what="joint"),
]
