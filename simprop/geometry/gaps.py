"""Gaps between convex solids that move."""

from __future__ import annotations

import numpy as np

from simprop.compiled import compiled
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex

_SWEEPS = 500
_STILL = 1e-14
_TOUCH = 1e-6


def gap_over(a: Convex, b: Convex, turns: tuple[Array, Array], places: tuple[Array, Array]) -> Array:
    """Gap between two solids that move with their frames, (n,) m; 0 where they overlap.

    Args:
        a: in the first frame.
        b: in the second frame.
        turns: rotations of the two frames, (n, 3, 3) each.
        places: their origins, (n, 3) m each.
    """
    middles = [turn @ ((x.start + x.end) / 2) + at for x, turn, at in zip((a, b), turns, places, strict=True)]
    spans = np.concatenate([turns[0] @ a.spans, -(turns[1] @ b.spans)], axis=2)
    apart = _apart(middles[0] - middles[1], spans) - a.radius - b.radius
    return np.where(apart < _TOUCH, 0.0, apart)


@compiled
def _apart(middle: Array, spans: Array) -> Array:
    """Least size of ``middle + spans @ u`` over all u from -1 to 1, (n,), by descent along one u after the other.

    Args:
        middle: (n, 3) m.
        spans: (n, 3, 6) m.

    Source: coordinate descent for bounded least squares, which is convex.
    """
    u, r, found = np.zeros(6), np.zeros(3), np.empty(len(middle))
    for n in range(len(middle)):
        k = spans[n]
        for i in range(3):
            r[i] = middle[n, i]
            for j in range(6):
                r[i] += k[i, j] * u[j]
        for _ in range(_SWEEPS):
            moved = 0.0
            for j in range(6):
                square = k[0, j] ** 2 + k[1, j] ** 2 + k[2, j] ** 2
                if square == 0.0:
                    continue
                along = k[0, j] * r[0] + k[1, j] * r[1] + k[2, j] * r[2]
                step = min(max(u[j] - along / square, -1.0), 1.0) - u[j]
                u[j] += step
                for i in range(3):
                    r[i] += k[i, j] * step
                moved = max(moved, step * step * square)
            if moved < _STILL:
                break
        found[n] = np.sqrt(r[0] ** 2 + r[1] ** 2 + r[2] ** 2)
    return found
