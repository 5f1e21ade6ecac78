"""A pin in a slot, and a ball stud in a slot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.friction import Surfaces
from simprop.fasteners.hexagon import STEEL
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish, linear
from simprop.geometry.solids import box, cylinder, sphere
from simprop.geometry.surface import Surface, join
from simprop.joints.kinds import JOINTS, Ends, JointKind, Loss, Made, Pair, rubbing
from simprop.joints.pin import pin_drawn
from simprop.laws.stops import pad_of
from simprop.reading.catalogue import known
from simprop.reading.fields import Damping, Direction, Place, Point, Size, Torque, TurningDamping, fault
from simprop.reading.friction import ForceOrSurfaces

OFF = 1e-3
"""How far a pin may be drawn off the middle line of its slot, m (a bench error)."""
SQUARE = 0.01
"""Cosine up to which a slot counts as square to its pin (0.6 deg)."""
HOLLOW = Finish(linear("#15161a"), 0.0, 1.0)
PROUD = 3e-4
"""How far the dark of a slot stands out of its part, so that it is seen, m."""
STUD = 0.010
"""Diameter of a stud where none is stated, m; for the picture alone (assumed)."""


class Slotted(JointKind):
    """What runs in a slot of its first body.

    Attributes:
        start: one end of the slot's middle line, as drawn: where the pin's middle comes to lie (``from`` in the file).
        end: the other end (``to`` in the file).
        ends: what the slot's ends are made of: steel, wood, plastic or rubber; a springy stop then. None: it is told
            where the motion runs past them.
        friction: along the slot: a force, or a coefficient or pair of surfaces: then mu times what the walls bear.
        viscous: along the slot, N*s/m.
        diameter: of pin or stud, m; None: of what it is held by.
    """

    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    ends: Annotated[str, known(pad_of)] | None = None
    friction: ForceOrSurfaces = 0.0
    viscous: Damping = 0.0
    diameter: Size | None = None

    @model_validator(mode="after")
    def _inside(self) -> Slotted:
        if np.linalg.norm(np.subtract(self.end[:3], self.start[:3])) < OFF:
            raise fault("a slot has two ends", "from: 0 0 300 mm, to: 0 0 420 mm")
        low, high = self.reach
        off = self._from_start - (self._from_start @ self.along) * self.along
        if float(np.linalg.norm(off)) > OFF or low > 0.0 or high < 0.0:
            raise fault(
                f"it isn't in its slot, which runs {1e3 * low:+.1f} to {1e3 * high:+.1f} mm along and "
                f"{1e3 * float(np.linalg.norm(off)):.1f} mm beside it",
                "at: on the line between from and to",
            )
        return self

    @property
    def _from_start(self) -> Array:
        return np.subtract(self.on(self.between[0])[:3], self.start[:3])

    @property
    def along(self) -> Array:
        """Unit direction of the slot, (3,)."""
        way = np.subtract(self.end[:3], self.start[:3])
        return np.asarray(way / np.linalg.norm(way))

    @property
    def reach(self) -> tuple[float, float]:
        """Where it ends below and above the start pose, m."""
        at, whole = (
            float(self._from_start @ self.along),
            float(np.linalg.norm(np.subtract(self.end[:3], self.start[:3]))),
        )
        return -at, whole - at

    def told(self, name: str, joints: Mapping[str, JointKind]) -> tuple[str, ...]:
        """What strength leaves out of a slot."""
        return (
            f"joints.{name}: strength counts the slot as one round hole where its pin starts; keep as much wall beside "
            "and beyond the whole slot as it asks for there",
        )

    @property
    def slot(self) -> tuple[Point, Point]:
        return self.start, self.end

    @property
    def thick(self) -> float | None:
        """Its diameter as stated, else that of what holds it, m."""
        return self.diameter or super().thick

    @property
    def slide(self) -> Loss:
        """What the slide loses."""
        return rubbing(self.friction, self.viscous)

    @property
    def order(self) -> int:
        """It closes a loop rather than a pin."""
        return 5

    @property
    def room(self) -> tuple[float, float] | None:
        """How far its slide goes before it meets the ends of its slot, m."""
        return self.reach

    def made_of(self, name: str, joints: Mapping[str, JointKind]) -> Made | None:
        """Itself, and the ends of its slot where it says what they are made of."""
        if self.ends is None:
            return None
        return Made({name: self}, ends={f"{name} ends": Ends(name, *self.reach, self.ends)})

    def _hollow(self, across: Array, start: float, end: float) -> Surface:
        """A dark slot about its point, along its slot and through its part along `across`."""
        wide, (low, high) = self.thick or STUD, self.reach
        start, end = start - PROUD, end + PROUD
        ways = np.array([self.along, np.cross(across, self.along), across]).T
        middle = 0.5 * (low + high) * self.along + 0.5 * (start + end) * across
        parts = [box(np.array([high - low, wide, end - start]), HOLLOW, 0.0).moved(ways, middle)]
        for at in (low, high):
            foot = at * self.along
            parts.append(cylinder(foot + start * across, foot + end * across, wide, HOLLOW))
        return join(parts)


@JOINTS.add
class PinInSlot(Slotted):
    """A pin that turns and slides in a slot; the first body has the slot, the second the pin.

    Attributes:
        axis: of the pin, square to the slot.
        turning_friction: N*m.
        turning_viscous: N*m*s/rad.
    """

    moves = ("slide", "turn")
    pivot = True
    mark = "hinge"

    kind: Literal["pin_in_slot"] = "pin_in_slot"
    between: Pair = Field(alias="pin_in_slot")
    axis: Direction
    turning_friction: Torque = 0.0
    turning_viscous: TurningDamping = 0.0

    @model_validator(mode="after")
    def _square(self) -> PinInSlot:
        if abs(float(self.along @ np.array(self.axis))) > SQUARE:
            raise fault("a pin is square to its slot", "axis: y for a slot that runs along x or z")
        if isinstance(self.friction, Surfaces) and self.thick is None:
            raise fault("friction by a coefficient needs the diameter of the pin", "diameter: 6 mm")
        return self

    @property
    def direction(self) -> Array:
        return np.array(self.axis)

    @property
    def ways(self) -> tuple[Array, ...]:
        """Along the slot, and the pin's axis."""
        return self.along, self.direction

    @property
    def losses(self) -> tuple[Loss, ...]:
        return self.slide, Loss(self.turning_friction, self.turning_viscous)

    def drawn(self, start: float, end: float) -> Surface:
        return pin_drawn(self, start, end)

    def carved(self, start: float, end: float) -> Surface:
        return self._hollow(self.direction, start, end)


@JOINTS.add
class StudInSlot(Slotted):
    """A ball stud in a slot: slides along it and turns every way; the first body has the slot, the second the stud.

    Attributes:
        through: direction square to the slot in which it is cut through its part, as drawn; for the picture alone.
    """

    moves = ("slide", "ball")

    kind: Literal["stud_in_slot"] = "stud_in_slot"
    between: Pair = Field(alias="stud_in_slot")
    through: Direction | None = None

    @model_validator(mode="after")
    def _plain(self) -> StudInSlot:
        if self.through is not None and abs(float(self.along @ np.array(self.through))) > SQUARE:
            raise fault("a slot is cut square to the way it runs", "through: y for a slot along x or z")
        return self

    @property
    def ways(self) -> tuple[Array, ...]:
        """Along the slot; a ball has no direction."""
        return self.along, np.zeros(3)

    @property
    def losses(self) -> tuple[Loss, ...]:
        return self.slide, Loss()

    def drawn(self, start: float, end: float) -> Surface:
        return sphere(1.2 * (self.thick or STUD), STEEL)

    def carved(self, start: float, end: float) -> Surface | None:
        return None if self.through is None else self._hollow(np.array(self.through), start, end)
