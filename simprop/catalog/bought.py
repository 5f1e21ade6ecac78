"""What is bought for a prop, by the words that a shop knows."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Literal

Group = Literal[
    "bolts",
    "nuts and washers",
    "screws",
    "hubs, pins and rod ends",
    "bearings and spacers",
    "fittings and clamps",
    "glue and welds",
    "gears, belts and chains",
    "springs and pulls",
    "cords and wheels",
    "cloth and straw",
    "stops",
    "drives",
    "supply, fuses and wire",
]
"""In the order in which they are listed."""

SPARES = 0.25
"""Share of what wears that is laid in besides, at least one (common practice, no source)."""


@dataclass(frozen=True)
class Bought:
    """Something to buy.

    Attributes:
        group: under which it is listed.
        what: as one asks for it, size and all.
        count: how many.
        where: what it is for, such as ``joint shaft``; filled in where it is listed.
        wears: why to lay in spares, a few words; "" for what lasts.
        note: what else to know, such as that its length can't be told.
    """

    group: Group
    what: str
    count: int
    where: str = ""
    wears: str = ""
    note: str = ""

    @property
    def spares(self) -> int:
        """How many to lay in besides."""
        return max(1, ceil(SPARES * self.count)) if self.wears else 0


@dataclass(frozen=True)
class Grip:
    """What a fastener goes through in one place, as drawn.

    Attributes:
        thick: of each thing that it goes through, first to last, m: three in double shear.
        apart: how far each stands from the next along it, m; 0 where they touch or are drawn in one plane.
        turns: index of the thing that turns on it.
        moving: they move against each other.
        unknown: why its length can't be told; "" where it can.
        slim: width of the narrowest part that it goes through, m; None: not known.
        assumed: what is assumed of it, a few words; "" for nothing.
        stands_for: what is drawn where it is and no thicker than it, in words; "" for nothing.
    """

    thick: tuple[float, ...]
    apart: tuple[float, ...] = ()
    turns: int = -1
    moving: bool = False
    unknown: str = ""
    slim: float | None = None
    assumed: str = ""
    stands_for: str = ""
