"""Labels of a drawing, placed so that none lies over another and few lie over what is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from simprop.geometry.arrays import Array

Box = tuple[float, float, float, float]
"""Left, low, right, high, mm on paper."""

POINT = 25.4 / 72
"""A typographic point, mm."""
GAP = 0.6
"""Least distance of two labels, mm."""
REACHES = (2.5, 4.5, 7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0, 50.0)
"""Distances from what is named at which a label may stand, mm."""
WAYS = np.radians([20, -20, 160, 200, 60, -60, 120, 240, 0, 180, 90, 270, 40, -40, 140, 220])


@dataclass(frozen=True)
class Label:
    """A name with what it names.

    Attributes:
        text: in words.
        at: x and y of what it names, mm on paper.
        ink: colour.
        size: of the font, points.
    """

    text: str
    at: tuple[float, float]
    ink: str
    size: float = 7.5


@dataclass(frozen=True)
class Placed:
    """A label and the box on paper that it fills."""

    label: Label
    box: Box


@lru_cache(maxsize=1024)
def extent(text: str, size: float) -> tuple[float, float]:
    """Width and height of a line of text, mm.

    Example:
        >>> wide, tall = extent("crankpin", 8.0)
        >>> 9 < wide < 16 and 2 < tall < 4
        True
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    wide, _, _ = text_to_path.get_text_width_height_descent(text, FontProperties(size=size), ismath=False)
    return float(wide) * POINT, 1.15 * size * POINT


def shared(one: Box, two: Box) -> float:
    """Area that two boxes have in common, mm^2.

    Example:
        >>> shared((0, 0, 2, 2), (1, 1, 3, 3)), shared((0, 0, 1, 1), (2, 0, 3, 1))
        (1, 0)
    """
    wide = min(one[2], two[2]) - max(one[0], two[0])
    tall = min(one[3], two[3]) - max(one[1], two[1])
    return max(wide, 0) * max(tall, 0)


def _candidates(label: Label) -> tuple[Array, Array]:
    """Boxes round what is named, (n, 4) mm, each with its distance, (n,) mm."""
    wide, tall = extent(label.text, label.size)
    reach, way = (v.ravel() for v in np.meshgrid(REACHES, WAYS, indexing="ij"))
    x, y = label.at[0] + reach * np.cos(way), label.at[1] + reach * np.sin(way)
    left = np.where(np.cos(way) > 0.3, x, np.where(np.cos(way) < -0.3, x - wide, x - wide / 2))
    return np.stack([left, y - tall / 2, left + wide, y + tall / 2], axis=1), reach


def leader(placed: Placed) -> tuple[tuple[float, float], tuple[float, float]]:
    """The line from what is named to the nearest place of its label's box, mm."""
    x, y = placed.label.at
    left, low, right, high = placed.box
    return (x, y), (min(max(x, left), right), min(max(y, low), high))


def _held(boxes: Array, places: Array) -> Array:
    """How many of the places (n, 2) mm lie in each of the boxes (b, 4), (b,)."""
    x, y = places.T
    left, low, right, high = boxes.T[:, :, None]
    return np.asarray(((x > left) & (x < right) & (y > low) & (y < high)).sum(axis=1))


def _overlaps(boxes: Array, others: Array) -> Array:
    """Area that each of the boxes (b, 4) has in common with all others (k, 4), (b,) mm^2."""
    wide = np.minimum(boxes[:, None, 2], others[:, 2]) - np.maximum(boxes[:, None, 0], others[:, 0])
    tall = np.minimum(boxes[:, None, 3], others[:, 3]) - np.maximum(boxes[:, None, 1], others[:, 1])
    return np.asarray((np.maximum(wide, 0) * np.maximum(tall, 0)).sum(axis=1))


def _crossings(lines: Array, others: Array) -> Array:
    """How many of the lines (k, 2, 2) each of the lines (b, 2, 2) crosses, (b,)."""
    a, b = lines[:, None, 0], lines[:, None, 1]
    c, d = others[None, :, 0], others[None, :, 1]

    def side(p: Array, q: Array, r: Array) -> Array:
        u, v = q - p, r - p
        return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])

    one = side(a, b, c) * side(a, b, d) < 0
    two = side(c, d, a) * side(c, d, b) < 0
    return np.asarray((one & two).sum(axis=1))


def _through(lines: Array, boxes: Array) -> Array:
    """How many of the boxes (k, 4) each of the lines (b, 2, 2) runs through, (b,)."""
    share = np.linspace(0.02, 0.98, 9)[:, None]
    x, y = np.moveaxis(lines[:, None, 0] + (lines[:, 1] - lines[:, 0])[:, None] * share, 2, 0)[..., None]
    left, low, right, high = boxes.T
    return np.asarray(((x > left) & (x < right) & (y > low) & (y < high)).any(axis=1).sum(axis=1))


def placed(labels: Sequence[Label], taken: Sequence[Box], page: Box, ink: Array) -> list[Placed]:
    """A place for each label: free of others, near to what it names, with little of the drawing under it.

    Args:
        labels: those placed first find the better places.
        taken: boxes that stay free.
        page: within which labels stand.
        ink: places on the outlines of the drawing, (n, 2) mm.

    Example:
        >>> two = [Label("hub", (50.0, 50.0), "k"), Label("shaft", (50.0, 50.0), "k")]
        >>> one, other = placed(two, [], (0, 0, 100, 100), np.zeros((0, 2)))
        >>> float(shared(one.box, other.box))
        0.0
    """
    apart = np.array([-GAP, -GAP, GAP, GAP])
    full = np.array(taken, dtype=float).reshape(-1, 4) + apart
    spots = np.array([label.at for label in labels]).reshape(-1, 2)
    lines = np.zeros((0, 2, 2))
    out: list[Placed] = []
    for label in labels:
        boxes, reach = _candidates(label)
        inside = (boxes[:, :2] >= page[:2]).all(axis=1) & (boxes[:, 2:] <= page[2:]).all(axis=1)
        at = np.broadcast_to(np.array(label.at), (len(boxes), 2))
        ways = np.stack([at, np.clip(at, boxes[:, :2], boxes[:, 2:])], axis=1)
        cost = (
            0.25 * reach
            + 1000.0 * _overlaps(boxes, full)
            + 1.0 * _held(boxes, ink)
            + 8.0 * _held(boxes, spots)
            + 5.0 * _crossings(ways, lines)
            + 4.0 * _through(ways, full)
            + np.where(inside, 0.0, 1e9)
        )
        best = int(np.argmin(cost))
        left, low, right, high = (float(v) for v in boxes[best])
        out.append(Placed(label, (left, low, right, high)))
        full = np.concatenate([full, boxes[best : best + 1] + apart])
        lines = np.concatenate([lines, ways[best : best + 1]])
    return out
