"""Area, centre and second moments of flat figures with straight edges, whole or less a strip."""

from __future__ import annotations

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
