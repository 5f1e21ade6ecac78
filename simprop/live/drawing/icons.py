"""What is laid over a picture to be dragged, as small pictures: rings of points, crosses of marks."""

from __future__ import annotations

from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Icon = Literal["free", "held", "mark"]
SIDE = 38
"""Side of an icon on a screen that is `HIGH`, pixels."""
HIGH = 800
FINE = 4
"""Pixels of an icon for one of the screen."""
COLOURS = {"free": (0, 92, 156), "held": (96, 96, 96), "mark": (200, 40, 0)}
"""Inks of what can be dragged, what can't, and marks (by eye, over paper and over a photo)."""
HALO = (255, 255, 255)


@cache
def icon(sort: Icon) -> NDArray[np.uint8]:
    """A small picture whose middle is the place: its ink with a pale rim, so that it is seen on light and dark.

    Args:
        sort: "free": a ring with a cross, "held": a square, "mark": a cross with an open middle.

    Returns:
        (n, n, 4), sRGB and how much it covers.

    Example:
        >>> icon("free").shape
        (152, 152, 4)
    """
    whole = SIDE * FINE
    image = Image.new("RGBA", (whole, whole), (255, 255, 255, 0))
    draw: Any = ImageDraw.Draw(image)
    for colour, wider in ((HALO, 2.4), (COLOURS[sort], 0.0)):
        _strokes(draw, sort, (*colour, 255), wider)
    return np.asarray(image)


def _strokes(draw: Any, sort: Icon, ink: tuple[int, ...], wider: float) -> None:
    """One pass of an icon's lines.

    Args:
        draw: of the picture.
        sort: see `icon`.
        ink: of the lines.
        wider: by how much they are thicker, pixels of the screen.
    """
    middle = SIDE * FINE / 2

    def line(points: tuple[tuple[float, float], tuple[float, float]], width: float) -> None:
        (ax, ay), (bx, by) = (tuple(middle + FINE * v for v in p) for p in points)
        half = FINE * (width + wider) / 2
        draw.rectangle(
            (min(ax, bx) - half, min(ay, by) - half, max(ax, bx) + half, max(ay, by) + half), fill=ink
        )

    if sort == "mark":
        for inner, outer in ((4.0, 16.0), (-16.0, -4.0)):
            line(((inner, 0), (outer, 0)), 2.2)
            line(((0, inner), (0, outer)), 2.2)
        line(((-0.4, 0), (0.4, 0)), 0.8)
        return
    far, width = (10.0, 2.4) if sort == "free" else (7.5, 2.0)
    edge = FINE * (far + (width + wider) / 2)
    box, thick = (middle - edge, middle - edge, middle + edge, middle + edge), round(FINE * (width + wider))
    if sort == "held":
        draw.rectangle(box, outline=ink, width=thick)
        return
    draw.ellipse(box, outline=ink, width=thick)
    for inner, outer in ((2.5, far + 4), (-far - 4, -2.5)):
        line(((inner, 0), (outer, 0)), 1.0)
        line(((0, inner), (0, outer)), 1.0)
