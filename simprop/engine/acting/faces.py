"""Faces of parts in the air, which brakes what moves through it."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, pi

import numpy as np

from simprop.geometry.arrays import Array
from simprop.parts.part import Shape
from simprop.rules.stability import AIR

FLAT, ROUND, BALL = 0, 1, 2
COEFFICIENTS = {FLAT: 1.2, ROUND: 1.2, BALL: 0.47}
"""Drag coefficients by shape: flat plates 1.17 to 1.28, round stock across 1.2, balls 0.47, for the slow and small
(Hoerner, Fluid-Dynamic Drag, 1965; from memory)."""
CELLS = 5
"""Cells along the longest side of a face, so that turning is braked too."""


def faces_of(shape: Shape, stated: float | None) -> Iterator[tuple[int, Array, Array, float]]:
    """Faces of a part in the air: sort, point and normal or axis in the frame of the body (3,), drag force at 1 m/s N.

    Args:
        stated: drag coefficient; None: by the shape.

    Source: drag equation, rho Cd A v^2 / 2, for what goes square to each face.
    """

    def size(sort: int, area: float) -> float:
        return 0.5 * AIR * (COEFFICIENTS[sort] if stated is None else stated) * area

    none = np.zeros(3)
    if shape.radius > 0:
        for line in shape.stretches():
            along = line.end - line.start
            length = float(np.linalg.norm(along))
            if length < 1e-9:
                yield BALL, line.start, none, size(BALL, pi * line.radius**2)
                continue
            for t in (np.arange(CELLS) + 0.5) / CELLS:
                area = 2.0 * line.radius * length / CELLS
                yield ROUND, line.start + t * along, along / length, size(ROUND, area)
        return
    middle, axes, half = shape.box()
    for k in range(3):
        i, j = (k + 1) % 3, (k + 2) % 3
        area = 4.0 * half[i] * half[j]
        if area < 1e-8:
            continue
        cells = [max(1, ceil(CELLS * half[m] / max(half[i], half[j]))) for m in (i, j)]
        for a in 2.0 * (np.arange(cells[0]) + 0.5) / cells[0] - 1.0:
            for b in 2.0 * (np.arange(cells[1]) + 0.5) / cells[1] - 1.0:
                point = middle + a * half[i] * axes[:, i] + b * half[j] * axes[:, j]
                yield FLAT, point, axes[:, k], size(FLAT, area / cells[0] / cells[1])
