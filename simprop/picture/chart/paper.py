"""Front, side and top of a prop at one scale on one sheet: where the views lie, and how a point gets there.

Third-angle projection: the top view lies above the front view, the view from the right beside it on the right.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.picture.chart.labels import Box

LONG, SHORT = 420.0, 297.0
"""A3, mm (ISO 216)."""
EDGE = 8.0
"""From the edge of the sheet to its frame, mm."""
TITLE = 14.0
"""Height of the title strip, mm."""
LEFT, BETWEEN, RIGHT = 34.0, 40.0, 36.0
"""Room for sizes and names beside the views, mm."""
BELOW, MIDDLE, ABOVE = 22.0, 24.0, 16.0
"""Room below, between and above them, mm."""
STEPS = (1.0, 2.0, 2.5, 4.0, 5.0, 8.0)
"""Scales: those of ISO 5455, and 1 : 2.5, 1 : 4, 1 : 8 between them, so that the sheet is filled better."""


@dataclass(frozen=True)
class View:
    """One side that a prop is seen from.

    Attributes:
        name: in words.
        plane: axes of the world to the right and up, 0 to 2.
        near: axis of the world towards the viewer, unit, (3,).
        corner: where the least of both axes lies on paper, mm.
        low: least of both axes, m.
    """

    name: str
    plane: tuple[int, int]
    near: Array
    corner: tuple[float, float]
    low: tuple[float, float]


@dataclass(frozen=True)
class Paper:
    """A sheet with its views.

    Attributes:
        size: width and height, mm.
        scale: mm of the prop for one on paper.
        views: front, side, top; of a sheet with fewer, those that it shows.
        notes: what is free for notes.
    """

    size: tuple[float, float]
    scale: float
    views: tuple[View, ...]
    notes: Box


def on_paper(paper: Paper, view: View, points: Array) -> Array:
    """Points (..., 3) m as x and y on the sheet, (..., 2) mm."""
    flat = np.asarray(points)[..., list(view.plane)] - np.array(view.low)
    return np.asarray(1000 * flat / paper.scale + np.array(view.corner))


def scale_text(scale: float) -> str:
    """A scale as a drawing says it.

    Example:
        >>> scale_text(5.0), scale_text(0.5), scale_text(2.5)
        ('1 : 5', '2 : 1', '1 : 2.5')
    """
    return f"1 : {scale:g}" if scale >= 1 else f"{1 / scale:g} : 1"


def arranged(low: Array, high: Array) -> Paper:
    """The sheet for what lies between two corners, (3,) m each, upright or lying, at the largest scale that fits.

    Raises:
        RenderError: for what has no size, or none that a sheet could show.

    Example:
        >>> paper = arranged(np.zeros(3), np.array([0.5, 0.3, 1.0]))
        >>> scale_text(paper.scale), paper.size
        ('1 : 5', (297.0, 420.0))
        >>> [v.name for v in paper.views]
        ['Front', 'Side, from the right', 'From above']
    """
    wide, deep, tall = 1000 * (high - low)
    best: tuple[float, tuple[float, float]] | None = None
    for size in ((LONG, SHORT), (SHORT, LONG)):
        across = size[0] - 2 * EDGE - LEFT - BETWEEN - RIGHT
        up = size[1] - 2 * EDGE - TITLE - BELOW - MIDDLE - ABOVE
        need = max((wide + deep) / across, (tall + deep) / up)
        scales = (k * 10.0**p for p in range(-3, 6) for k in STEPS)
        scale = next((s for s in scales if s >= need), None)
        if scale is not None and (best is None or scale < best[0]):
            best = (scale, size)
    if best is None or not max(wide, deep, tall) > 0:
        raise RenderError("there is nothing to draw: what is visible has no size that a sheet could show")
    scale, size = best
    x, y, z = wide / scale, deep / scale, tall / scale
    spare = size[0] - 2 * EDGE - LEFT - BETWEEN - RIGHT - x - y
    rest = size[1] - 2 * EDGE - TITLE - BELOW - MIDDLE - ABOVE - z - y
    left, bottom = EDGE + LEFT + 0.3 * spare, EDGE + TITLE + BELOW + 0.4 * rest
    beside, above = left + x + BETWEEN, bottom + z + MIDDLE
    a, b, c = (float(v) for v in low)
    views = (
        View("Front", (0, 2), np.array([0.0, -1.0, 0.0]), (left, bottom), (a, c)),
        View("Side, from the right", (1, 2), np.array([1.0, 0.0, 0.0]), (beside, bottom), (b, c)),
        View("From above", (0, 1), np.array([0.0, 0.0, 1.0]), (left, above), (a, b)),
    )
    notes = (beside - 10.0, bottom + z + 0.6 * MIDDLE, size[0] - EDGE - 4.0, size[1] - EDGE - 4.0)
    return Paper(size, scale, views, notes)
