"""What a rig says of a cord: where it runs, what it is made of, how long it is."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from simprop.catalog.load import table, value
from simprop.errors import UnknownNameError, nearest
from simprop.fasteners.ends import Ended, Ends, Held
from simprop.reading.base import Record
from simprop.reading.fields import (
    AboveZero,
    Direction,
    Force,
    Length,
    NotNegative,
    Number,
    Place,
    Size,
    Stiffness,
    fault,
)

KNOT = 0.5
"""Share of its strength that a knot leaves a cord: 0.4 to 0.8 by the knot (common practice, from memory)."""
LOSS = 0.05
"""Damping ratio of a cord with the lighter of what hangs on it (assumed)."""


class CordPlace(Record):
    """Where a cord is tied, runs through, runs round or is wound up.

    Attributes:
        body: that carries the place.
        at: an eye, or the middle of a round thing.
        diameter: of a round thing (pulley, bar, drum), to the middle of the cord, m; an eye has none.
        axis: of the round thing.
        way: how the cord goes round it from its first end on: `with` the axis (right hand), or `against` it; None: as
            it is drawn.
        mu: friction of the cord there; 0: a wheel that turns freely, its inertia left out. A cord that rubs on a body
            which turns on a pin takes that along.
        spring: through which an end is tied, N/m.
    """

    body: str
    at: Place
    diameter: Size | None = None
    axis: Direction | None = None
    way: Literal["with", "against"] | None = None
    mu: Annotated[Number, NotNegative] = 0.0
    spring: Stiffness | None = None

    @model_validator(mode="after")
    def _whole(self) -> CordPlace:
        if (self.diameter is None) != (self.axis is None):
            raise fault("what is round has a diameter and an axis", "diameter: 40 mm, axis: y")
        if self.way is not None and self.diameter is None:
            raise fault("an eye has no way round", "way with diameter and axis alone")
        return self


class CordSpan(Ended):
    """One straight stretch of a cord, as what acts between two points."""

    held_by: Held = None


class InnerSpan(CordSpan):
    """One that isn't the whole of its cord."""

    hooked = False


@dataclass(frozen=True)
class Stuff:
    """What a cord gives and bears.

    Attributes:
        stretch: pull that would stretch it to double its length, N.
        breaks: breaking load without knots, N; None where not known.
        assumed: what is taken without being stated.
    """

    stretch: float
    breaks: float | None
    assumed: str


class Cord(Record):
    """One cord over many places.

    Attributes:
        start: where it begins (``from``).
        over: eyes, pulleys and bars that it passes, in order.
        end: where it ends (``to``).
        material: a row of the catalogue of cords.
        diameter: of the cord, m.
        stiffness: pull that would stretch it to double its length, N, in place of that of its material.
        breaks: breaking load, N, in place of that of its material.
        length: at no pull, from end to end, m; without it the cord is as long as drawn, and `slack` more.
        slack: how much longer it is than drawn; below 0: it is drawn tight, m.
        damping: ratio, with the lighter body at its ends.
        knot: share of the strength that the knots at its ends leave.
        held_by: what holds its ends to the bodies.
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "A taut cord that breaks or slips off lashes back, and what hung on it falls: stand out of its line, keep "
        "fingers out of wheels and drums.",
    )

    start: CordPlace = Field(alias="from")
    over: tuple[CordPlace, ...] = ()
    end: CordPlace = Field(alias="to")
    material: str | None = None
    diameter: Size = 0.003
    stiffness: Annotated[Force, AboveZero] | None = None
    breaks: Annotated[Force, AboveZero] | None = None
    length: Size | None = None
    slack: Length = 0.0
    damping: Annotated[Number, NotNegative] = LOSS
    knot: Annotated[Number, Field(gt=0.0, le=1.0)] = KNOT
    held_by: Held = None

    @model_validator(mode="after")
    def _known(self) -> Cord:
        if self.material is None and self.stiffness is None:
            raise fault("it needs a material or a stiffness", f"material: {', '.join(table('cords'))}")
        if self.material is not None and self.material not in table("cords"):
            names = list(table("cords"))
            raise fault(
                f"there is no cord {self.material!r}", ", ".join(names), nearest(self.material, names)
            )
        if self.length is not None and self.slack != 0.0:
            raise fault("its length and its slack say the same thing", "one of the two")
        for place in self.over:
            if place.spring is not None:
                raise fault("a spring holds an end", "spring at from or to")
        for end in (self.start, self.end):
            if end.mu:
                raise fault("a cord is tied to its ends, and doesn't slip there", "mu at places of over")
            if end.diameter is not None and end.way is None:
                raise fault("a drum says which way the cord goes round it", "way: with, way: against")
        return self

    @property
    def places(self) -> tuple[CordPlace, ...]:
        """All of them, in order."""
        return (self.start, *self.over, self.end)

    @property
    def spans(self) -> tuple[CordSpan, ...]:
        """Its straight stretches, in order."""
        count, ends = len(self.over) + 1, self.held_by
        if count == 1:
            return (CordSpan(held_by=ends),)
        first = None if ends is None else Ends.model_construct(first=ends.first, second=None)
        last = None if ends is None else Ends.model_construct(first=None, second=ends.second)
        held = (first, *(None,) * (count - 2), last)
        return tuple(InnerSpan.model_construct(held_by=h) for h in held)

    def stuff(self) -> Stuff:
        """What it gives and bears.

        Source: `cords.yaml`, each figure with its own.

        Example:
            >>> end = {"body": "post", "at": (0.0, 0.0, 0.0)}
            >>> cord = Cord.model_construct(material="UHMWPE braid", diameter=0.003, stiffness=None, breaks=None)
            >>> round(cord.stuff().breaks)
            6362
        """
        area = pi * self.diameter**2 / 4
        stretch, breaks, assumed = self.stiffness, self.breaks, ""
        if self.material is not None:
            row = table("cords")[self.material]
            if stretch is None:
                stretch = area * (value(row, "modulus", "pressure") or 0.0)
                of = f"{self.material} of {1e3 * self.diameter:g} mm"
                assumed = f"{of} would double its length at {stretch:.3g} N (assumed)"
            if breaks is None:
                breaks = area * (value(row, "strength", "pressure") or 0.0)
        if stretch is None:
            raise UnknownNameError("cord", str(self.material), list(table("cords")))
        return Stuff(stretch, breaks, assumed)


def span_names(name: str, cord: Cord) -> list[str]:
    """Names of the spans of a cord: its own where there is one."""
    count = len(cord.over) + 1
    return [name] if count == 1 else [f"{name} {k + 1}" for k in range(count)]
