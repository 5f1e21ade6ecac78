"""Numbers of parts in circles, each with a thin line that ends in a dot on its part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.making.holes import Place
from simprop.picture.chart.drawn import INK, Line
from simprop.picture.chart.labels import Box, Label, Placed

SIZE = 8.0
"""Of the numbers, points."""
THIN = 0.35
DOT = 0.45
"""Radius of the dot at the end of a line, mm (the sign for an end within an outline; ISO 128-22, from memory)."""
LEAST = 2.1
"""Least radius of a circle, mm."""
FREE = 6.0
"""A spot so far from all others is good enough, mm."""
SHARES = (0.5, 0.3, 0.7, 0.15, 0.85)
"""Where along a part its number may point, as shares of its length."""


def spots(assembly: Assembly, place: Place) -> Array:
    """Places on the middle line of a part, or along its box where it has none, (5, 3) m in the start pose."""
    body = next(b for b in assembly.drawn if b.name == place[0])
    shape = body.shapes[place[1]]
    path = shape.path
    if len(path) < 2:
        middle, axes, half = shape.box()
        long = int(np.argmax(half))
        path = middle + np.outer([-1.0, 1.0], half[long] * axes[:, long])
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    along = np.array(SHARES) * at[-1]
    return np.asarray(body.com + np.stack([np.interp(along, at, path[:, k]) for k in range(3)], axis=1))


def balloons(
    found: Mapping[Place, Array], numbers: Mapping[Place, int], taken: Sequence[Array]
) -> list[Label]:
    """A label for each part, on a spot of it that is well away from those of the others.

    Args:
        found: spots that each may point to on paper, (n, 2) mm, the best first.
        numbers: of each part.
        taken: what the drawing names otherwise, (2,) mm each.
    """
    used, out = list(taken), []
    for place, row in found.items():
        free = [min((float(np.hypot(*(spot - t))) for t in used), default=FREE + 1) for spot in row]
        spot = row[next((i for i, gap in enumerate(free) if gap > FREE), int(np.argmax(free)))]
        used.append(spot)
        out.append(Label(str(numbers[place]), (float(spot[0]), float(spot[1])), INK, SIZE))
    return out


def circled(labels: Sequence[Placed]) -> list[Line]:
    """Circles about some labels, and a dot where each points."""
    rings = [
        Line(_ring(*_circle(p.box)), INK, THIN, closed=True, fill=(1.0, 1.0, 1.0, 1.0), order=7.5)
        for p in labels
    ]
    dots = [
        Line(_ring(p.label.at, DOT), INK, 0.0, closed=True, fill=(0.1, 0.1, 0.12, 1.0), order=7.2)
        for p in labels
    ]
    return [*rings, *dots]


def _circle(box: Box) -> tuple[tuple[float, float], float]:
    left, low, right, high = box
    return ((left + right) / 2, (low + high) / 2), max((right - left) / 2 + 0.7, LEAST)


def _ring(middle: tuple[float, float], radius: float) -> Array:
    angle = np.linspace(0, 2 * np.pi, 33)[:-1]
    return np.array(middle) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
