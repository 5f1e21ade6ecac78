"""Area, centre and second moments of flat figures with straight edges, whole or less a strip."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array


@dataclass(frozen=True)
class Figure:
    """A flat figure in its own x and y.

    Attributes:
        area: m^2.
        centre: of area, (2,) m.
        xx, yy, xy: integrals of x^2, y^2 and x y about the centre, m^4.
    """

    area: float
    centre: Array
    xx: float
    yy: float
    xy: float


def figure(rings: Sequence[Array]) -> Figure:
    """The figure within some rings.

    Args:
        rings: (k, 2) m each: outlines counter-clockwise, holes clockwise.

    Source: Green's theorem, exact for straight edges.

    Example:
        >>> square = np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]])
        >>> whole = figure([square, 0.5 + square[::-1] / 2])
        >>> whole.area, whole.centre.tolist(), round(whole.xx * 12, 9)
        (3.0, [1.0, 1.0], 15.0)
    """
    sums = np.zeros(6)
    for ring in rings:
        (x, y), (p, q) = ring.T, np.roll(ring, -1, axis=0).T
        cross = x * q - p * y
        sums += [
            float(cross.sum()) / 2,
            float(((x + p) * cross).sum()) / 6,
            float(((y + q) * cross).sum()) / 6,
            float(((x * x + x * p + p * p) * cross).sum()) / 12,
            float(((y * y + y * q + q * q) * cross).sum()) / 12,
            float(((x * q + 2 * x * y + 2 * p * q + p * y) * cross).sum()) / 24,
        ]
    area, sx, sy, xx, yy, xy = (float(s) for s in sums)
    if area <= 0:
        return Figure(0.0, np.zeros(2), 0.0, 0.0, 0.0)
    cx, cy = sx / area, sy / area
    return Figure(area, np.array([cx, cy]), xx - area * cx**2, yy - area * cy**2, xy - area * cx * cy)


def beyond(ring: Array, axis: Array, least: float) -> Array:
    """The part of a ring where its coordinate along a unit axis (2,) is at least some value: a ring, empty if none.

    A ring that falls apart stays one, its pieces tied along the cut: areas and moments are right.

    Source: Sutherland and Hodgman's clipping against one line.

    Example:
        >>> square = np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]])
        >>> beyond(square, np.array([1.0, 0.0]), 1.5).tolist()
        [[1.5, 0.0], [2.0, 0.0], [2.0, 2.0], [1.5, 2.0]]
    """
    height = ring @ axis - least
    kept: list[Array] = []
    for point, end, one, two in zip(
        ring, np.roll(ring, -1, axis=0), height, np.roll(height, -1), strict=True
    ):
        if one >= 0:
            kept.append(point)
        if one * two < 0:
            kept.append(point + one / (one - two) * (end - point))
    return np.array(kept) if len(kept) > 2 else np.zeros((0, 2))


def turned_by(ring: Array, angle: float) -> Array:
    """Coordinates (k, 2) on axes of which y is turned by an angle towards x, rad.

    Example:
        >>> turned_by(np.array([[1.0, 0.0]]), np.pi / 2).round(9).tolist()
        [[0.0, 1.0]]
    """
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(ring @ np.array([[c, s], [-s, c]]))


def principal_angle(found: Figure) -> float:
    """By how much y is to be turned towards x for the axes to be principal, rad; within 45 degrees.

    Source: elementary mechanics, tan 2 a = -2 Sxy / (Sxx - Syy).

    Example:
        >>> slant = np.array([[0.0, 0.0], [1.0, 1.0], [0.9, 1.1], [-0.1, 0.1]])
        >>> round(float(np.degrees(principal_angle(figure([slant])))))
        -45
    """
    if abs(found.xy) <= 1e-12 * (found.xx + found.yy):
        return 0.0
    apart = found.xx - found.yy
    if abs(apart) <= 1e-9 * (found.xx + found.yy):
        return -np.pi / 4 if found.xy > 0 else np.pi / 4
    return float(-0.5 * np.arctan(2 * found.xy / apart))


def crossing(ring: Array) -> int | None:
    """Index of an edge that meets another than its neighbours; None where the ring is simple.

    Args:
        ring: (k, 2).

    Example:
        >>> crossing(np.array([[0.0, 0], [1, 1], [1, 0], [0, 1]]))
        0
    """
    count = len(ring)
    ends = np.roll(ring, -1, axis=0)
    for i in range(count):
        for j in range(i + 2, count - (i == 0)):
            sides = [_turns(ring[i], ends[i], ring[j]) * _turns(ring[i], ends[i], ends[j])]
            sides.append(_turns(ring[j], ends[j], ring[i]) * _turns(ring[j], ends[j], ends[i]))
            if max(sides) <= 0 and not _aside(ring[i], ends[i], ring[j], ends[j]):
                return i
    return None


def _turns(start: Array, end: Array, point: Array) -> float:
    """Sign of the turn from an edge to a point."""
    a, b = end - start, point - start
    return float(np.sign(a[0] * b[1] - a[1] * b[0]))


def _aside(a: Array, b: Array, c: Array, d: Array) -> bool:
    """Whether the boxes about two edges don't meet."""
    low, high = np.maximum(np.minimum(a, b), np.minimum(c, d)), np.minimum(np.maximum(a, b), np.maximum(c, d))
    return bool((low > high).any())


def clearance(ring: Array, point: Array) -> float:
    """How far a point lies within a ring; negative outside, as far as its nearest edge.

    Example:
        >>> clearance(np.array([[0.0, 0], [4, 0], [4, 4], [0, 4]]), np.array([1.0, 2.0]))
        1.0
    """
    ends = np.roll(ring, -1, axis=0)
    line = ends - ring
    share = np.clip(((point - ring) * line).sum(axis=1) / (line**2).sum(axis=1), 0.0, 1.0)
    away = float(np.linalg.norm(ring + share[:, None] * line - point, axis=1).min())
    up = (ring[:, 1] > point[1]) != (ends[:, 1] > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = ring[:, 0] + (point[1] - ring[:, 1]) / line[:, 1] * line[:, 0]
    return away if int((up & (x > point[0])).sum()) % 2 else -away


def slabs(ring: Array, holes: Sequence[tuple[Array, float]], over: float) -> Array:
    """Rectangles along x and y that cover a figure, and little more.

    Args:
        ring: outline, (k, 2) m, simple.
        holes: centre (2,) and radius of each round hole that is left open, m.
        over: by how much a rectangle may be too high at a slanted edge, m.

    Returns:
        Least and largest x, then y, (n, 4) m.

    Example:
        >>> ell = np.array([[0.0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]])
        >>> slabs(ell, [], 0.1).tolist()
        [[0.0, 1.0, 0.0, 2.0], [1.0, 2.0, 0.0, 1.0]]
    """
    marks = [*ring[:, 0], *(c[0] + r * s for c, r in holes for s in np.linspace(-1.0, 1.0, 9))]
    levels = np.unique(np.round(np.clip(marks, ring[:, 0].min(), ring[:, 0].max()), 7))
    ends = np.roll(ring, -1, axis=0)
    found: list[list[float]] = []
    for low, high in itertools.pairwise(levels):
        middle = (low + high) / 2
        rows = (ring[:, 0] > middle) != (ends[:, 0] > middle)
        start, line = ring[rows], ends[rows] - ring[rows]
        slope = line[:, 1] / line[:, 0]
        steps = max(1, int(np.ceil(np.abs(slope).max(initial=0.0) * (high - low) / over)))
        for a, b in itertools.pairwise(np.linspace(low, high, steps + 1)):
            edge = np.array([start[:, 1] + (x - start[:, 0]) * slope for x in (a, b)])
            edge = edge[:, np.argsort(edge.sum(axis=0))]
            spans = list(zip(edge[:, ::2].min(axis=0), edge[:, 1::2].max(axis=0), strict=True))
            for c, r in holes:
                spans = _open(spans, c, r, max(abs(a - c[0]), abs(b - c[0])))
            found += [[float(a), float(b), float(p), float(q)] for p, q in spans]
    return np.array(found)


def _open(
    spans: list[tuple[float, float]], centre: Array, radius: float, off: float
) -> list[tuple[float, float]]:
    """Spans of y less those of a hole at `off` from its middle."""
    if off >= radius:
        return spans
    half = float(np.sqrt(radius**2 - off**2))
    low, high = centre[1] - half, centre[1] + half
    left = [part for p, q in spans for part in ((p, min(q, low)), (max(p, high), q))]
    return [(p, q) for p, q in left if q > p]
