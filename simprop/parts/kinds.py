"""Parts that bodies are made of, in the drawn start pose."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Tag, model_validator

from simprop.reading.base import INLINE, NAME_OR_INLINE, TAG, TEXT, Record
from simprop.reading.fields import Direction, Extents2, Extents3, Mass, Moments, Number, Place, Size, fault
from simprop.reading.kinds import Kinds

Looks = Literal[
    "skull", "head", "hand", "jaw", "hat", "wall", "post", "owl", "lantern", "cloth", "board", "plain"
]


class PipeSize(Record):
    """A pipe described inline instead of by a catalogue name."""

    outside: Size
    wall: Size
    of: str


PipeSpec = Annotated[Annotated[str, TEXT] | Annotated[PipeSize, INLINE], NAME_OR_INLINE]


class PartBase(Record):
    """What any part may say: its weighed mass, how it looks."""

    mass: Mass | None = None
    looks: Looks | None = None
    name: str | None = None


class Pipe(PartBase):
    """A straight pipe between two points; ``pipe: 1/2 in PVC`` names a catalogue size."""

    kind: Literal["pipe"] = "pipe"
    spec: PipeSpec = Field(alias="pipe")
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")


class Tube(PartBase):
    """A pipe bent through three or more points."""

    kind: Literal["tube"] = "tube"
    spec: PipeSpec = Field(alias="tube")
    through: tuple[Place, ...] = Field(min_length=2)


class Rod(PartBase):
    """A solid round rod."""

    kind: Literal["rod"] = "rod"
    diameter: Size = Field(alias="rod")
    of: str
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")


class Bar(PartBase):
    """A flat bar or batten: width x thickness, from point to point; `thin` is the direction of its thickness."""

    kind: Literal["bar"] = "bar"
    section: Extents2 = Field(alias="bar")
    of: str
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    thin: Direction | None = None


class Block(PartBase):
    """A box with its edges along x, y, z of the start pose, centred at a point."""

    kind: Literal["block"] = "block"
    size: Extents3 = Field(alias="block")
    of: str
    at: Place


class Disc(PartBase):
    """A flat round disc or drum: diameter, thickness along its axis, centred at a point."""

    kind: Literal["disc"] = "disc"
    diameter: Size = Field(alias="disc")
    thick: Size
    of: str
    at: Place
    axis: Direction


class Ball(PartBase):
    """A ball: solid with `of`, a thin shell with `of` and `wall`, or simply weighed with `mass`."""

    kind: Literal["ball"] = "ball"
    diameter: Size = Field(alias="ball")
    of: str | None = None
    wall: Size | None = None
    at: Place

    @model_validator(mode="after")
    def _weight(self) -> Ball:
        if self.of is None and self.mass is None:
            raise fault("a ball says what it is of, or its mass", "of: foam, or mass: 0.25 kg")
        return self


class Slender(PartBase):
    """A thin straight bar known only by its weighed mass (no inertia about its own line)."""

    kind: Literal["slender"] = "slender"
    weight: Mass = Field(alias="slender")
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")


class Lump(PartBase):
    """A mass at a point, with its own inertia about x, y, z of the start pose if it is known."""

    kind: Literal["lump"] = "lump"
    weight: Mass = Field(alias="lump")
    at: Place
    inertia: Moments | None = None


class Mesh(PartBase):
    """A closed surface from an STL or OBJ file beside the rig, in millimetres unless `scale` says otherwise."""

    kind: Literal["mesh"] = "mesh"
    file: str = Field(alias="mesh")
    of: str | None = None
    at: Place
    turn: tuple[Number, Number, Number] = (0.0, 0.0, 0.0)
    scale: Number = 0.001

    @model_validator(mode="after")
    def _weight(self) -> Mesh:
        if self.of is None and self.mass is None:
            raise fault("a mesh says what it is of, or its mass", "of: foam, or mass: 0.25 kg")
        return self


def _tag(name: str) -> Tag:
    return Tag(TAG + name)


PARTS: Kinds[Record] = Kinds("part")
"""The kinds of part."""

for _kind in (Pipe, Tube, Rod, Bar, Block, Disc, Ball, Slender, Lump, Mesh):
    PARTS.add(_kind)

Part = Annotated[Pipe | Tube | Rod | Bar | Block | Disc | Ball | Slender | Lump | Mesh, PARTS]


class Hold(Record):
    """A length of the body that is kept whatever happens to the points it was drawn through."""

    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    length: Size


class Body(Record):
    """A rigid body: its parts, whether it stands still, and a length that is held.

    Attributes:
        fixed: stands still, and belongs to the stand.
        scenery: stands still and is no part of the prop: drawn, and reckoned with where hands could be caught, but
            neither weighed into the stand nor checked for strength.
        parts: what it is made of.
        hold: a length that is kept when points move.
    """

    fixed: Annotated[bool, Field(strict=True)] = False
    scenery: Annotated[bool, Field(strict=True)] = False
    parts: tuple[Part, ...] = ()
    hold: Hold | None = None

    @property
    def still(self) -> bool:
        """True if it doesn't move."""
        return self.fixed or self.scenery
