"""Straight sticks, balls and boxes: distances and gaps of the convex solids that parts are made of."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from simprop.geometry.arrays import Array

_GRID = 33


def _signs(steps: int) -> Array:
    return np.array(np.meshgrid(*[np.linspace(-1.0, 1.0, steps)] * 3)).reshape(3, -1).T


@dataclass(frozen=True, kw_only=True)
class Convex:
    """A round stick, a ball (a stick without length), or a box.

    Attributes:
        start: of the middle line, (3,) m.
        end: (3,) m; the same as `start` for a ball and a box.
        radius: about the middle line, m; 0 for a box.
        half: half edges of a box in its own axes, (3,) m; zeros for all else.
        turn: axes of a box as columns, (3, 3).
    """

    start: Array
    end: Array
    radius: float = 0.0
    half: Array = field(default_factory=lambda: np.zeros(3))
    turn: Array = field(default_factory=lambda: np.eye(3))

    @property
    def boxed(self) -> bool:
        """It is a box."""
        return bool(self.half.any())

    @property
    def length(self) -> float:
        """Of the middle line, m."""
        return float(np.linalg.norm(self.end - self.start))

    @property
    def unit(self) -> Array:
        """Direction of the middle line, (3,); zeros where it has none."""
        return np.asarray((self.end - self.start) / (self.length or 1.0))

    def foot(self, point: Array) -> Array:
        """The place on the middle line nearest to a point, (3,) m."""
        along = self.end - self.start
        square = float(along @ along)
        if square == 0:
            return self.start
        share = min(max(float((point - self.start) @ along) / square, 0.0), 1.0)
        return np.asarray(self.start + share * along)

    def distance(self, point: Array) -> float:
        """Of a point from the surface, m; negative inside what is round, 0 inside a box."""
        if self.boxed:
            local = self.turn.T @ (point - self.start)
            return float(np.linalg.norm(local - np.clip(local, -self.half, self.half)))
        return float(np.linalg.norm(point - self.foot(point))) - self.radius

    def nearness(self, point: Array) -> tuple[float, float]:
        """Key by which the nearest of several is found: gap to the surface, then distance of the middle line, m."""
        gap = round(max(self.distance(point), 0.0), 5)
        return gap, float(np.linalg.norm(point - self.foot(point)))

    def spots(self, steps: int = 2) -> Array:
        """Ends of the middle line, or corners of the box (and places between them with more `steps`), (k, 3) m."""
        if self.boxed:
            return np.asarray(self.start + (_signs(steps) * self.half) @ self.turn.T)
        if not self.length:
            return self.start[None, :]
        return np.asarray(self.start + np.linspace(0.0, 1.0, steps)[:, None] * (self.end - self.start))

    @property
    def spans(self) -> Array:
        """From its middle to its faces (a box) or ends (a stick), as columns, (3, 3) m."""
        if self.boxed:
            return np.asarray(self.turn * self.half)
        return np.column_stack([(self.end - self.start) / 2, np.zeros((3, 2))])

    def without(self, point: Array, clear: float) -> list[Convex]:
        """What is left of it outside a ball about a point: none, itself, or one or two shorter ones.

        Args:
            point: middle of the ball, (3,) m.
            clear: its radius, m.
        """
        if self.boxed:
            return self._box_without(point, clear)
        if not self.length:
            return [self] if float(np.linalg.norm(point - self.start)) > clear + self.radius else []
        place = float((point - self.start) @ self.unit)
        off = float(np.linalg.norm(point - self.start - place * self.unit))
        if off >= clear:
            return [self]
        half = float(np.sqrt(clear**2 - off**2))
        kept = []
        if place - half > 0:
            kept.append(replace(self, end=self.start + min(place - half, self.length) * self.unit))
        if place + half < self.length:
            kept.append(replace(self, start=self.start + max(place + half, 0.0) * self.unit))
        return kept

    def _box_without(self, point: Array, clear: float) -> list[Convex]:
        """Slabs on both sides of the ball, across the longest edge."""
        if self.distance(point) >= clear:
            return [self]
        k = int(np.argmax(self.half))
        place, most = float(self.turn[:, k] @ (point - self.start)), float(self.half[k])
        kept = []
        for low, high in ((-most, place - clear), (place + clear, most)):
            if high > low:
                middle = self.start + (low + high) / 2 * self.turn[:, k]
                half = np.where(np.arange(3) == k, (high - low) / 2, self.half)
                kept.append(replace(self, start=middle, end=middle, half=half))
        return kept


def segment_gap(a0: Array, a1: Array, b0: Array, b1: Array) -> Array:
    """Distance between two straight segments, m, entry by entry.

    Args:
        a0: start of the first, (..., 3) m.
        a1: its end.
        b0: start of the second.
        b1: its end.

    Returns:
        (...,) m.

    Source: Ericson, Real-Time Collision Detection, closest points of two segments.

    Example:
        >>> x = [np.array([p]) for p in ([0.0, 0, 0], [1.0, 0, 0], [0.5, 1, 1], [0.5, 1, -1])]
        >>> segment_gap(*x).tolist()
        [1.0]
    """
    d1, d2, r = a1 - a0, b1 - b0, a0 - b0
    a, e, f = (d1 * d1).sum(-1), (d2 * d2).sum(-1), (d2 * r).sum(-1)
    c, b = (d1 * r).sum(-1), (d1 * d2).sum(-1)
    tiny = 1e-18
    denom = a * e - b * b
    safe_a, safe_e = np.where(a > tiny, a, 1.0), np.where(e > tiny, e, 1.0)
    s = np.where(denom > tiny, np.clip((b * f - c * e) / np.where(denom > tiny, denom, 1.0), 0, 1), 0.0)
    t = np.where(e > tiny, (b * s + f) / safe_e, 0.0)
    s = np.where(t < 0, np.clip(-c / safe_a, 0, 1), np.where(t > 1, np.clip((b - c) / safe_a, 0, 1), s))
    s = np.where(e > tiny, s, np.clip(-c / safe_a, 0, 1))
    s = np.where(a > tiny, s, 0.0)
    t = np.clip(t, 0, 1)
    gap = r + d1 * s[..., None] - d2 * t[..., None]
    return np.asarray(np.sqrt((gap * gap).sum(-1)))


def nearest_points(a: Convex, b: Convex) -> tuple[float, Array, Array]:
    """Gap between two solids (0 where they touch), and the nearest place on the middle line (or box) of each.

    Boxes are met at points of the other's middle line or edges, so their gap is a little large at most.

    Example:
        >>> ball, stick = Convex(start=np.ones(3), end=np.ones(3)), Convex(start=np.zeros(3), end=np.eye(3)[2])
        >>> round(nearest_points(ball, stick)[0], 3)
        1.414
    """
    if a.boxed or b.boxed:
        if not a.boxed:
            gap, on_b, on_a = nearest_points(b, a)
            return gap, on_a, on_b
        points = np.vstack([b.start, b.spots(3)]) if b.boxed else b.spots(_GRID)
        local = (points - a.start) @ a.turn
        inside = np.clip(local, -a.half, a.half)
        apart = np.linalg.norm(local - inside, axis=1) - b.radius
        k = int(np.argmin(apart + 1e-6 * np.linalg.norm(local, axis=1)))
        on_a = a.start + a.turn @ inside[k]
        return max(float(apart[k]), 0.0), on_a, points[k]
    pa, pb = a.spots(_GRID), b.spots(_GRID)
    exact = float(segment_gap(a.start, a.end, b.start, b.end))
    apart = np.linalg.norm(pa[:, None] - pb[None, :], axis=2)
    i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
    return max(exact - a.radius - b.radius, 0.0), a.foot(pb[j]), b.foot(pa[i])
