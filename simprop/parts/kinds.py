"""The kinds of part, those that a rig gets when it is read, and the bodies that are made of them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from simprop.parts.angle import Angle
from simprop.parts.ball import Ball
from simprop.parts.bar import Bar
from simprop.parts.bent_pipe import BentPipe
from simprop.parts.block import Block
from simprop.parts.borne import Borne
from simprop.parts.channel import Channel
from simprop.parts.disc import Disc
from simprop.parts.fitting import Fitting
from simprop.parts.lump import Lump
from simprop.parts.mesh import Mesh
from simprop.parts.motor_case import MotorCase
from simprop.parts.part import PartKind
from simprop.parts.pipe import Pipe
from simprop.parts.profile import SlottedProfile
from simprop.parts.rail import BoardRail, PipeRail
from simprop.parts.rod import Rod
from simprop.parts.sheet import Sheet
from simprop.parts.slender import Slender
from simprop.parts.square_tube import SquareTube
from simprop.parts.threaded_rod import ThreadedRod
from simprop.parts.tube import Tube
from simprop.reading.air import Drag
from simprop.reading.base import Record
from simprop.reading.fields import Mass, Number, Place, Size, fault
from simprop.reading.kinds import Kinds

__all__ = ["PARTS", "Bending", "Body", "Borne", "Hold", "MotorCase"]

PARTS: Kinds[PartKind] = Kinds("part")
"""The kinds of part."""

for _kind in (
    Pipe,
    Tube,
    BentPipe,
    Fitting,
    BoardRail,
    PipeRail,
    Rod,
    Bar,
    SquareTube,
    Angle,
    Channel,
    SlottedProfile,
    ThreadedRod,
    Block,
    Sheet,
    Disc,
    Ball,
    Slender,
    Lump,
    Mesh,
):
    PARTS.add(_kind)


class Hold(Record):
    """A length of the body that is kept whatever happens to the points it was drawn through."""

    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    length: Size


class Bending(Record):
    """How a body bends.

    Attributes:
        pieces: rigid pieces along its longest part; None: as many as its first two frequencies need.
        damping: damping ratio of its first swing, a share of critical; None: that of its material.
    """

    pieces: Annotated[int, Field(ge=1, le=64, strict=True)] | None = None
    damping: Annotated[Number, Field(ge=0.0, lt=1.0)] | None = None


class Body(Record):
    """A body: its parts, whether it stands still, whether it bends, and a length that is held.

    Attributes:
        fixed: stands still, and belongs to the stand.
        scenery: stands still and is no part of the prop: drawn, and reckoned with where hands could be caught, but
            neither weighed into the stand nor checked for strength.
        parts: what it is made of.
        mass: weighed as a whole, with all that is on it; its parts count in proportion. None: what its parts weigh.
        hold: a length that is kept when points move.
        drag: the air brakes it: true by the shapes of its parts, or a coefficient on what each shows.
        bends: its parts of one cross-section (pipes, tubes, rods, bars, angles and the like) bend; else it is rigid.
    """

    fixed: Annotated[bool, Field(strict=True)] = False
    scenery: Annotated[bool, Field(strict=True)] = False
    parts: tuple[Annotated[PartKind, PARTS], ...] = ()
    mass: Mass | None = None
    hold: Hold | None = None
    drag: Drag = False
    bends: Annotated[bool, Field(strict=True)] | Bending = False

    @model_validator(mode="after")
    def _one(self) -> Body:
        if self.fixed and self.scenery:
            raise fault("fixed belongs to the stand, scenery to no prop: it is one of them", "scenery: true")
        return self

    @property
    def still(self) -> bool:
        """True if it doesn't move."""
        return self.fixed or self.scenery
