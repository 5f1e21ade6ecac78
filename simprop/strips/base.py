"""What a rig says of strips: where they hang, how long, wide and heavy they are, how they are drawn."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from typing import Annotated, Any, ClassVar

import numpy as np
from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from simprop.catalog.bought import Bought
from simprop.catalog.load import find, needed, table
from simprop.geometry.arrays import Array
from simprop.geometry.surface import frame_along
from simprop.reading.air import Drag
from simprop.reading.base import Record
from simprop.reading.catalogue import known
from simprop.reading.fields import (
    Angle,
    Direction,
    Length,
    LineMass,
    NotNegative,
    Number,
    Place,
    Point,
    Size,
    fault,
)

LINK = 0.045
"""Length of a link where the rig names no number, m: with it a swing is true to 0.3 % (see the tests)."""
FEWEST, MOST = 6, 24
WIDTH = 0.04
"""Width of a single strip where the rig names none, m (assumed)."""
COUNT = 200
"""Most strips in one row."""


@dataclass(frozen=True)
class Fabric:
    """What strips are made of.

    Attributes:
        name: in the catalogue.
        area_mass: of width times length, kg/m^2.
        bending: bending length, m.
        drag: coefficient on width times length.
        strands: in how many it is drawn; 0: as cloth.
        ragged: how uneven its lower edge is, as a share of its width.
        colour: ``#rrggbb``.
        source: where the figures come from.
    """

    name: str
    area_mass: float
    bending: float
    drag: float
    strands: int
    ragged: float
    colour: str
    source: str


def fabric(name: str) -> Fabric:
    """A row of the catalogue of fabrics.

    Raises:
        UnknownNameError: for a name that it doesn't have.

    Example:
        >>> fabric("straw").strands
        11
    """
    rows = table("fabrics")
    key = find("fabric", name, rows)
    row: dict[str, Any] = dict(rows[key])
    return Fabric(
        key,
        needed(row, "area_mass", "area_mass"),
        needed(row, "bending", "length"),
        float(row["drag"]),
        int(row["strands"]),
        float(row["ragged"]),
        str(row["colour"]),
        str(row["source"]),
    )


class Around(Record):
    """A round edge, such as that of a head.

    Attributes:
        at: its middle.
        diameter: m.
        axis: that it goes round.
        facing: where it is open.
        open: angle that is left open there, such as a face.
    """

    at: Place
    diameter: Size
    axis: Direction = (0.0, 0.0, 1.0)
    facing: Direction = (0.0, -1.0, 0.0)
    open: Annotated[Angle, Field(ge=0.0, lt=2 * pi)] = 0.0

    @model_validator(mode="after")
    def _square(self) -> Around:
        if abs(float(np.dot(self.axis, self.facing))) > 0.99:
            raise fault("it is open along its own axis", "facing across axis, such as axis: z, facing: -y")
        return self


def _along(value: Any, info: ValidationInfo) -> Any:
    if not isinstance(value, list) or len(value) < 2 or isinstance(value[0], (int, float)):
        raise fault("an edge runs through two points or more", "[-200 0 900 mm, 200 0 900 mm]")
    return value


class Edge(Record):
    """Where strips are fastened: one point, or an edge along which they hang side by side.

    Attributes:
        on: body that carries them.
        at: one point.
        along: or points of an edge, which runs straight from each to the next.
        around: or a round edge.
    """

    on: str
    at: Place | None = None
    along: Annotated[tuple[Place, ...], BeforeValidator(_along)] | None = None
    around: Around | None = None

    @model_validator(mode="after")
    def _somewhere(self) -> Edge:
        if sum(v is not None for v in (self.at, self.along, self.around)) != 1:
            raise fault("it hangs on a point or an edge, one of them", "at, along, around")
        if self.along is not None and self.edge <= 1e-6:
            raise fault("its edge has no length", "points apart from each other")
        return self

    @property
    def edge(self) -> float:
        """Length of the edge, m; 0 for a point."""
        if self.around is not None:
            return self.around.diameter / 2 * (2 * pi - self.around.open)
        if self.along is None:
            return 0.0
        points = np.array([p[:3] for p in self.along])
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())

    def roots(self, count: int) -> list[tuple[Point, Array]]:
        """Places and directions of the width of some strips side by side, as drawn, m."""
        shares = (np.arange(count) + 0.5) / count
        if self.around is not None:
            return [self._round(float(s)) for s in shares]
        if self.along is None:
            return [(self.at or Point(0.0, 0.0, 0.0), np.zeros(3))] * count
        points = np.array([p[:3] for p in self.along])
        lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
        ends = np.concatenate([[0.0], np.cumsum(lengths)])
        found = []
        for s in shares * ends[-1]:
            k = min(int(np.searchsorted(ends, s, side="right")) - 1, len(lengths) - 1)
            way = (points[k + 1] - points[k]) / lengths[k]
            found.append((Point(*(points[k] + (s - ends[k]) * way)), way))
        return found

    def _round(self, share: float) -> tuple[Point, Array]:
        ring = self.around
        assert ring is not None
        axis, front, side = frame_along(np.array(ring.axis), np.array(ring.facing))
        angle = ring.open / 2 + share * (2 * pi - ring.open)
        out = cos(angle) * front + sin(angle) * side
        middle = np.array(ring.at[:3])
        return Point(*(middle + ring.diameter / 2 * out)), np.cross(axis, out)


class Strips(Edge):
    """Strips of cloth, straw or yarn that hang on a body, side by side along an edge.

    Each is a chain of light links, heavy in their middles, that turn every way; the strips don't meet each other nor
    the prop. `of` names a material, or `weight` says what a metre of one strip weighs.

    Attributes:
        on, at, along, around: see `Edge`.
        to: where their lower ends are fastened too; None: they hang free.
        length: of each, m.
        width: of each, m; None: as wide as they fill the edge.
        count: of strips; None: as many as fill the edge with their width; one at a point.
        of: material, a row of the catalogue of fabrics.
        weight: of one strip, kg/m, in place of that of its material.
        links: of each; None: one for every 45 mm, from 6 to 24.
        bending: bending length, m (a strip that sticks out level bends down to 41.5 deg at twice that), in place of
            that of its material; 0: as limp as a chain.
        toward: where it leaves the body, felt where it is stiff; None: down.
        drag: of the air on width times length: true by its material, false for none, or a coefficient.
        strands: in how many it is drawn; 0: as cloth; None: by its material.
        ragged: how uneven its lower edge is drawn, as a share of its width; None: by its material.
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "Cloth, straw and yarn catch in gears, chains and fans, and burn: guard what turns near them, keep lamps and "
        "flames off, and use flame-retardant stuff where your fire code asks for it.",
    )

    to: Edge | None = None
    length: Size
    width: Size | None = None
    count: Annotated[int, Field(ge=1, le=COUNT, strict=True)] | None = None
    of: Annotated[str, known(fabric)] | None = None
    weight: LineMass | None = None
    links: Annotated[int, Field(ge=2, le=64, strict=True)] | None = None
    bending: Annotated[Length, NotNegative] | None = None
    toward: Direction | None = None
    drag: Drag = True
    strands: Annotated[int, Field(ge=0, le=60, strict=True)] | None = None
    ragged: Annotated[Number, Field(ge=0.0, le=1.0)] | None = None

    @model_validator(mode="after")
    def _whole(self) -> Strips:
        if self.of is None and self.weight is None:
            raise fault(
                "it needs a material or a weight", f"of: {', '.join(table('fabrics'))}; weight: 8 g/m"
            )
        if self.at is not None and self.width is None and self.of is not None and self.weight is None:
            raise fault("a strip at one point has a width, which its material needs", "width: 40 mm")
        if self.at is not None and (self.count or 1) > 1:
            raise fault("several strips need an edge", "along or around in place of at")
        if self.to is not None and (self.to.at is None) != (self.at is None):
            raise fault("both ends hang on a point, or both on an edge", "at and at, along and along")
        if self.many > COUNT:
            raise fault(f"more than {COUNT} strips in a row", "a larger width, or a count")
        return self

    @property
    def held(self) -> tuple[Edge, ...]:
        """Where they hang: one edge or two."""
        return (self,) if self.to is None else (self, self.to)

    @property
    def many(self) -> int:
        """How many strips there are."""
        if self.count is not None or self.at is not None:
            return self.count or 1
        return max(1, round(self.edge / (self.width or WIDTH)))

    @property
    def wide(self) -> float:
        """Width of each, m."""
        return self.width or (self.edge / self.many if self.at is None else WIDTH)

    def bought(self) -> tuple[Bought, ...]:
        """Its strips, or what a row of them is cut from."""
        of = self.of or f"cloth or yarn of {1e3 * self.linear:.3g} g/m"
        words = f"{of}, strips {1e3 * self.wide:.0f} mm wide, {1e3 * self.length:.0f} mm long"
        return (Bought("cloth and straw", words, self.many, wears="it frays in the wind"),)

    @property
    def stuff(self) -> Fabric:
        """What it is made of; a plain one where the rig says what it weighs alone."""
        if self.of is not None:
            return fabric(self.of)
        return Fabric("cloth", 0.0, 0.0, 1.2, 0, 0.15, "#b9b2a2", "stated")

    @property
    def linear(self) -> float:
        """Mass of a metre of one strip, kg/m."""
        return self.weight or self.stuff.area_mass * self.wide

    @property
    def coefficient(self) -> float:
        """Of its drag; 0 for none."""
        return (self.stuff.drag if self.drag else 0.0) if isinstance(self.drag, bool) else self.drag

    @property
    def parts(self) -> int:
        """How many links each has."""
        return self.links or min(MOST, max(FEWEST, round(self.length / LINK)))

    @property
    def limp(self) -> float:
        """Bending length, m."""
        return self.stuff.bending if self.bending is None else self.bending

    @property
    def drawn(self) -> tuple[int, float]:
        """In how many strands each is drawn (0: as cloth), and how ragged its lower edge is."""
        stuff = self.stuff
        strands = stuff.strands if self.strands is None else self.strands
        return strands, stuff.ragged if self.ragged is None else self.ragged

    @property
    def said(self) -> str:
        """What is assumed of them, in words."""
        many = "1 strip" if self.many == 1 else f"{self.many} strips"
        heavy = "as stated" if self.weight is not None else f"{self.stuff.name}, assumed: {self.stuff.source}"
        return (
            f"{many}, {1e3 * self.wide:.3g} mm wide, of {1e3 * self.linear:.3g} g/m each ({heavy}), in {self.parts} "
            "links; they meet neither each other nor the prop"
        )
