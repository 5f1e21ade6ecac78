"""What a kind of joint is: its record in the rig file, and all that the rooms further on ask of it.

The coordinate of a joint is the motion of the second body against the first, positive along (or right-handed about)
its axis, and zero in the start pose. A new kind is a class in a file of its own with `@JOINTS.add`; it must say what is
free (`moves`, `direction`), and may say everything else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.friction import Surfaces
from simprop.fasteners.kinds import Holding
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import Freedom, How, square
from simprop.geometry.surface import Surface
from simprop.joints.play import Play
from simprop.parts.kinds import Body
from simprop.reading.base import Record
from simprop.reading.fields import Number, Places, Point, Stiffness, TurningStiffness, fault
from simprop.reading.kinds import Kinds

Pair = tuple[str, str]
LAST = 6
"""Place in the growth of the spanning tree of what closes a loop rather than anything else."""


@dataclass(frozen=True)
class Grip:
    """Dry friction that goes with the load: mu F arm of the force across, or mu (N1 + N2) arm of a guide's two ends.

    Attributes:
        surfaces: with the coefficients.
        arm: at which it acts, m; 1 for a slide.
        length: guided length, m; 0: the force across the motion (a slide) or its axis (a turn) counts.
    """

    surfaces: Surfaces
    arm: float
    length: float = 0.0


@dataclass(frozen=True)
class Loss:
    """What one free motion loses.

    Attributes:
        friction: Coulomb friction, N or N*m.
        viscous: N*s/m or N*m*s/rad.
        grip: friction that goes with the load, or None; comes on top.
    """

    friction: float = 0.0
    viscous: float = 0.0
    grip: Grip | None = None


def surfaces_of(friction: float | Surfaces) -> Surfaces | None:
    """The surfaces that rub; None where friction is a figure."""
    return friction if isinstance(friction, Surfaces) else None


def rubbing(friction: float | Surfaces, viscous: float, arm: float = 1.0, length: float = 0.0) -> Loss:
    """The loss of a motion whose friction is a figure, or goes with the load at an arm (see `Grip`)."""
    if isinstance(friction, Surfaces):
        return Loss(0.0, viscous, Grip(friction, arm, length))
    return Loss(friction, viscous)


@dataclass(frozen=True)
class Guide:
    """What a slide is guided by, and so how it can bind.

    Attributes:
        length: guided length, m; None where the rig doesn't say.
        friction: of the surfaces; None where the rig states none.
    """

    length: float | None
    friction: Surfaces | None


@dataclass(frozen=True)
class Ends:
    """Where a joint's slide ends.

    Attributes:
        joint: name of the joint.
        below, above: from the start pose, m.
        of: material that it runs onto.
    """

    joint: str
    below: float
    above: float
    of: str


@dataclass(frozen=True)
class Made:
    """What a joint of the rig stands for where it is more than one joint, or brings more along.

    Attributes:
        joints: by name; in place of the joint.
        bodies: by name; besides those of the rig.
        ends: of slides, by the names that their stops get.
    """

    joints: dict[str, JointKind] = field(default_factory=dict)
    bodies: dict[str, Body] = field(default_factory=dict)
    ends: dict[str, Ends] = field(default_factory=dict)


class Giving(Record):
    """How a joint gives in what it bars; what isn't stated is worked out from pin, hole and walls as drawn.

    Attributes:
        across: stiffness across its axis, or every way for a joint without one, N/m.
        along: stiffness along its axis where it bars that, N/m.
        tilt: stiffness against tilting, or against every turn for a joint without an axis, N*m/rad.
        twist: stiffness about its axis where it bars that, N*m/rad.
        damping: damping ratio with the lighter of its two bodies, a share of critical; 0.05 (assumed: 2 to 7 % are told
            of bolted steel in texts on earthquakes, from memory).
    """

    across: Stiffness | None = None
    along: Stiffness | None = None
    tilt: TurningStiffness | None = None
    twist: TurningStiffness | None = None
    damping: Annotated[Number, Field(ge=0.0, lt=1.0)] = 0.05


class JointKind(Record):
    """A joint as the rig says it, and all that it is.

    `at` is one point, or one point for each body (measured on each); `held_by` names the fastener, `give` says that it
    gives where it holds. A kind adds `kind`
    (the key that names it) and `between` (with that key as its alias).

    Attributes:
        moves: what is free, in order: slides before turns. Coordinates of slides and turns are recorded, and laws act
            on them.
        held_by: the fastener that holds it, such as {bolt: M6}; left out: that isn't checked.
        give: it gives where it holds (engine exudyn): true as pin and walls give, or the figures measured.
        needs_fastener: whether something must hold it; not so for what may be a plain guide.
        pivot: whether a fastener through it is a pivot, which carries no torque.
        mark: its sign on the drawing sheet; a hinge is a circle seen along its axis and a dash else.
    """

    moves: ClassVar[tuple[How, ...]] = ()
    needs_fastener: ClassVar[bool] = True
    pivot: ClassVar[bool] = False
    mark: ClassVar[Literal["hinge", "circle", "square", "diamond", "cross"]] = "circle"

    at: Places
    held_by: Holding | None = None
    give: Annotated[bool, Field(strict=True)] | Giving = False
    kind: str = ""
    between: Pair

    @model_validator(mode="after")
    def _gives(self) -> JointKind:
        if self.give and self.play is not None:
            raise fault("a loose joint gives by what its play meets", "clearance or give")
        return self

    def on(self, body: str) -> Point:
        """Its point as drawn on one of its bodies."""
        return self.at[body] if isinstance(self.at, dict) else self.at

    @property
    def direction(self) -> Array:
        """Unit direction of its axis as drawn, (3,); zeros for a joint without one."""
        return np.zeros(3)

    @property
    def ways(self) -> tuple[Array, ...]:
        """Unit direction of each of `moves` as drawn, (3,)."""
        return (self.direction,) * len(self.moves)

    @property
    def losses(self) -> tuple[Loss, ...]:
        """What each of `moves` loses."""
        return (Loss(),) * len(self.moves)

    @property
    def play(self) -> Play | None:
        """How it is loose; None where it isn't."""
        return None

    @property
    def guide(self) -> Guide | None:
        """What it is guided by where it can bind; None where it can't."""
        return None

    @property
    def room(self) -> tuple[float, float] | None:
        """How far its slide may go below and above the start pose, m; None: as far as it likes."""
        return None

    @property
    def thick(self) -> float | None:
        """Diameter of what turns or slides in it as stated, else of what holds it, m; None where neither is known."""
        return None if self.held_by is None else self.held_by.diameter

    @property
    def slot(self) -> tuple[Point, Point] | None:
        """The ends of the slot in its first body, as drawn; None where it has none."""
        return None

    @property
    def bed(self) -> float | None:
        """Length over which its two bodies bear on each other, m; None where it isn't stated."""
        return None

    @property
    def order(self) -> int:
        """Its place when the spanning tree is grown, least first; from `LAST` on it rather closes a loop.

        Engines close loops badly by a slide.
        """
        return 0 if "slide" in self.moves else 2

    def made_of(self, name: str, joints: Mapping[str, JointKind]) -> Made | None:
        """What it stands for, by the name that it has in the rig and among its joints; None: itself alone."""
        return None

    def told(self, name: str, joints: Mapping[str, JointKind]) -> tuple[str, ...]:
        """Sentences on how it sits among the joints of the rig."""
        return ()

    def drawn(self, start: float, end: float) -> Surface | None:
        """What is seen at it besides the parts of its bodies, along x about its point; None for nothing.

        Args:
            start: where the bodies' parts begin along its axis, m.
            end: where they end, m.
        """
        return None

    def carved(self, start: float, end: float) -> Surface | None:
        """What is seen of it in its first body, about its point, in the axes as drawn; None for nothing.

        Args:
            start, end: as for `drawn`.
        """
        return None

    @property
    def freedoms(self) -> tuple[Freedom, ...]:
        """Its free motions as drawn, without play."""
        return tuple(Freedom(how, way) for how, way in zip(self.moves, self.ways, strict=True))

    @property
    def loosened(self) -> tuple[Freedom, ...]:
        """Its free motions with its play: a ring leaves room to both sides, two rings for tilting as well."""
        if self.play is None:
            return self.freedoms
        hows: tuple[How, ...] = ("slide", "turn") if len(self.play.rings) > 1 else ("slide",)
        room = [Freedom(how, way, play=True) for how in hows for way in square(self.direction)]
        slides = [f for f in self.freedoms if f.how == "slide"]
        return (*slides, *room, *self.freedoms[len(slides) :])


JOINTS: Kinds[JointKind] = Kinds("joint")
"""The kinds of joint."""

Joint = Annotated[JointKind, JOINTS]
