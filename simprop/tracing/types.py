"""How a picture lies in the world, the points of a rig file that can be moved on it, and what a move changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from simprop.reading.fields import Vector
from simprop.reading.text import Path

View = Literal["front", "side"]
"""front: x to the right, z up, seen from -y as the clip is; side: y to the right, z up, seen from +x."""
Level = Literal["as it lies", "level", "upright"]
"""What the line between the two marks is said to be."""
Pair = tuple[float, float]


@dataclass(frozen=True)
class Placing:
    """How a picture lies in the world.

    Attributes:
        file: of the picture, from the folder of the rig.
        size: width and height, pixels, as the picture is seen (turned as its camera says).
        view: from where it was taken.
        marks: two places in it, pixels from its left and its upper edge (the middle of the first pixel is at 0.5, 0.5).
        distance: between the marks, m.
        at: where mark 1 is in the world: to the right and up in the view, m.
        level: what the line between the marks is; but for "as it lies", the picture is turned until it is so.
    """

    file: str
    size: tuple[int, int]
    view: View
    marks: tuple[Pair, Pair]
    distance: float
    at: Pair
    level: Level = "as it lies"


@dataclass(frozen=True)
class Picture:
    """A picture for the page.

    Attributes:
        size: width and height of the file's picture, pixels, turned as its camera says; marks count in these.
        pixels: (h, w, 3), sRGB, turned so too; scaled down where the picture is larger than the page needs.
    """

    size: tuple[int, int]
    pixels: NDArray[np.uint8]


@dataclass(frozen=True)
class Coordinate:
    """One of the three coordinates of a point as its file has it.

    Attributes:
        text: as it stands, such as ``300`` or ``throw``.
        field: whose number follows when the point is moved: its own, or that of a named value; () where none can.
        word: which word of the text at `field` is that number; None: all of it.
        unit: of that number; "" where none can follow.
        sign: -1 where a named value stands with a minus before it.
        why: what keeps it, a sentence; "" where it can be moved.
    """

    text: str
    field: Path = ()
    word: int | None = None
    unit: str = ""
    sign: float = 1.0
    why: str = ""


@dataclass(frozen=True)
class Draggable:
    """A point of a rig file.

    Attributes:
        name: of it.
        at: x, y, z, m.
        line: in the file, from 1.
        coordinates: how x, y and z are written.
    """

    name: str
    at: Vector
    line: int
    coordinates: tuple[Coordinate, Coordinate, Coordinate]


@dataclass(frozen=True)
class Change:
    """A field of a rig file that has another text.

    Attributes:
        field: dotted.
        before: as it stood.
        after: as it stands.
        line: in the file, from 1.
    """

    field: str
    before: str
    after: str
    line: int


@dataclass(frozen=True)
class Moved:
    """A rig file after one of its points was moved.

    Attributes:
        text: of the whole file; the very same where nothing changed.
        changes: what changed in it.
        told: why a coordinate stays where it was, a sentence each.
    """

    text: str
    changes: tuple[Change, ...] = ()
    told: tuple[str, ...] = ()
