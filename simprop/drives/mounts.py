"""How a motor is mounted: what holds it, on which body and where, so that it weighs and is drawn there."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from simprop.catalog.builds import Built
from simprop.fasteners.base import Fastener
from simprop.fasteners.clamp import Clamp
from simprop.fasteners.kinds import Holding
from simprop.reading.base import Record
from simprop.reading.fields import Direction, Extents2, Extents3, Mass, Place, Point
from simprop.reading.kinds import Kinds


class Mount(Record):
    """What any mount says.

    Attributes:
        at: where the shaft comes out of the gearbox; None: so that the shaft ends at the joint.
        shaft: which way the shaft points; None: along the joint's axis.
        can: which way the can lies, where it lies square to the shaft; None: down.
        mass: weighed, kg; None: that of its class.
        gearbox: its length along the shaft, along the can and across both, m; None: that of its class.
        can_size: diameter and length of its can, m; None: that of its class.
        held_by: what holds it.
        words: how it sits, in words.
        where: what holds it: something round its can, its face, or a foot.
        bears: the shaft bears what the joint bears; False: the joint has bearings of its own, and only the reaction to
            the motor's torque and the motor's own weight go through the mount.
    """

    words: ClassVar[str] = ""
    where: ClassVar[Literal["can", "face", "foot"]] = "face"
    kind: str
    on: str
    at: Place | None = None
    shaft: Direction | None = None
    can: Direction | None = None
    mass: Mass | None = None
    gearbox: Extents3 | None = None
    can_size: Extents2 | None = None
    held_by: Holding | None = None
    bears: Annotated[bool, Field(strict=True)] = True

    @property
    def stands(self) -> Point | None:
        """Where its foot is; None where it has none."""
        return None

    def hold(self, build: Built) -> Fastener | None:
        """What holds it; None where nothing is named.

        Args:
            build: how the motor is built.
        """
        return self.held_by


MOUNTS: Kinds[Mount] = Kinds("mount")
"""The kinds of mount."""


class Face(Mount):
    """A motor screwed to a wall by the face that its shaft comes out of."""

    words: ClassVar[str] = "screwed by its face"
    kind: Literal["face"] = "face"
    on: str = Field(alias="face")

    def hold(self, build: Built) -> Fastener | None:
        """With the spacing of a straight row that bears a torque as the circle of its holes does.

        Source: statics: n on a circle of radius r bear T / (n r) each, the outermost of a row 6 T / (n (n + 1) s).
        """
        hold = self.held_by
        if hold is None or hold.spacing is not None or hold.count < 2:
            return hold
        return hold.model_copy(update={"spacing": 3 * build.circle / (hold.count + 1)})


class Bracket(Mount):
    """A motor on a bracket, by screws or bolts through the bracket's foot.

    Attributes:
        foot: where that is; None: at the middle of the gearbox.
    """

    words: ClassVar[str] = "on a bracket"
    where: ClassVar[Literal["can", "face", "foot"]] = "foot"
    kind: Literal["bracket"] = "bracket"
    on: str = Field(alias="bracket")
    foot: Place | None = None

    @property
    def stands(self) -> Point | None:
        return self.foot


class Strap(Mount):
    """A motor held by straps or hose clamps round its can; one strap where nothing else is said."""

    words: ClassVar[str] = "strapped"
    kind: Literal["strap"] = "strap"
    on: str = Field(alias="strap")
    where: ClassVar[Literal["can", "face", "foot"]] = "can"

    def hold(self, build: Built) -> Fastener | None:
        return self.held_by or Clamp.model_validate({"clamp": "strap"})


for _mount in (Strap, Bracket, Face):
    MOUNTS.add(_mount)

Mounted = Annotated[Mount, MOUNTS]
