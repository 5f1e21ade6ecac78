"""Lines of straight lengths and arcs: a polyline with bends of given radii, and an arc by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import acos, ceil, cos, radians, sin, tan

import numpy as np

from simprop.geometry.arrays import Array

STEP = radians(10.0)
"""An arc is taken for chords of at most this angle where it must be straight pieces."""


@dataclass(frozen=True)
class Arc:
    """An arc about a point.

    Attributes:
        centre: of its circle, (3,) m.
        radius: m.
        start: unit direction from the centre to where it begins, (3,).
        ahead: unit direction in which it sets out, square to that, (3,).
        angle: that it goes, rad.
    """

    centre: Array
    radius: float
    start: Array
    ahead: Array
    angle: float

    @property
    def length(self) -> float:
        """Along it, m."""
        return self.radius * self.angle

    def at(self, angle: float) -> Array:
        """The point on it at an angle from its beginning, rad: (3,) m."""
        way = self.start * cos(angle) + self.ahead * sin(angle)
        return np.asarray(self.centre + self.radius * way)

    def points(self, step: float = STEP) -> Array:
        """Points on it, both ends among them, no further apart than `step`, rad: (k, 3) m."""
        count = max(1, ceil(self.angle / step - 1e-9))
        return np.array([self.at(self.angle * k / count) for k in range(count + 1)])


@dataclass(frozen=True)
class Straight:
    """A straight length, from (3,) to (3,) m."""

    start: Array
    end: Array

    @property
    def length(self) -> float:
        """m."""
        return float(np.linalg.norm(self.end - self.start))

    def points(self, step: float = STEP) -> Array:
        """Its ends, (2, 3) m."""
        return np.array([self.start, self.end])


Course = tuple[Arc | Straight, ...]


def bent_course(corners: Array, radii: Sequence[float]) -> Course:
    """A polyline whose inner corners are bent to arcs, tangent to both sides.

    Args:
        corners: (k, 3) m.
        radii: of the middle line at each inner corner, (k - 2,) m.

    Raises:
        ValueError: where the arcs of a side don't fit on it, or it goes straight back; says which.

    Source: geometry: an arc of radius R over a turn of a begins R tan(a / 2) before the corner.

    Example:
        >>> line = bent_course(np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0]]), [0.2])
        >>> [round(part.length, 6) for part in line]
        [0.8, 0.314159, 0.8]
    """
    count = len(corners)
    ways = np.diff(corners, axis=0)
    sides = np.linalg.norm(ways, axis=1)
    ways = ways / sides[:, None]
    turns = [acos(min(1.0, max(-1.0, float(a @ b)))) for a, b in pairwise(ways)]
    for i, turn in enumerate(turns):
        if turn > radians(175.0):
            raise ValueError(f"it turns straight back at point {i + 2}")
    cuts = [0.0, *(r * tan(t / 2) for r, t in zip(radii, turns, strict=True)), 0.0]
    for i in range(count - 1):
        if cuts[i] + cuts[i + 1] > sides[i] * (1 + 1e-9):
            need = (cuts[i] + cuts[i + 1]) * 1e3
            raise ValueError(
                f"its bends don't fit between points {i + 1} and {i + 2}: {need:.0f} mm are needed, "
                f"{sides[i] * 1e3:.0f} mm are there"
            )
    found: list[Arc | Straight] = []
    for i in range(count - 1):
        start, end = corners[i] + ways[i] * cuts[i], corners[i + 1] - ways[i] * cuts[i + 1]
        if np.linalg.norm(end - start) > 1e-6:
            found.append(Straight(start, end))
        if i < count - 2 and turns[i] > 1e-6:
            inward = ways[i + 1] - float(ways[i + 1] @ ways[i]) * ways[i]
            inward = inward / np.linalg.norm(inward)
            found.append(Arc(end + inward * radii[i], radii[i], -inward, ways[i], turns[i]))
    return tuple(found)


def course_points(course: Course, step: float = STEP) -> Array:
    """Points along a line, with each arc as chords of at most `step`, rad: (k, 3) m.

    Example:
        >>> line = bent_course(np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0]]), [0.2])
        >>> len(course_points(line))
        12
    """
    rows = [course[0].points(step)[:1]]
    for part in course:
        rows.append(part.points(step)[1:])
    return np.concatenate(rows)
