"""A helical spring as a surface."""

from __future__ import annotations

import numpy as np

from simprop.geometry.finish import Finish, linear
from simprop.geometry.surface import Surface
from simprop.geometry.sweep import swept

SPRING = Finish(linear("#7d8288"), 0.35, 1.0)


def coil(length: float, hook: float = 0.02, measures: tuple[float, float, float] | None = None) -> Surface:
    """A helical spring along x from 0 to 1, its radius in m, to be stretched to the distance of its two points.

    Args:
        length: usual distance of its points, m.
        hook: share of the length of a straight hook at each end.
        measures: diameter of the wire and of the coil, m, and coils; None: as looks well.

    Example:
        >>> round(float(coil(0.15).vertices[:, 0].max()), 2)
        1.0
    """
    radius = float(np.clip(0.07 * length, 0.004, 0.012))
    turns = int(np.clip(length / (0.55 * radius), 8, 26))
    thick = max(0.0016, 0.22 * radius)
    if measures is not None:
        thick, radius, turns = measures[0], measures[1] / 2, max(2, min(60, round(measures[2])))
    t = np.linspace(0.0, 1.0, 14 * turns + 1)
    grow = np.clip(np.minimum(t, 1 - t) * turns * 1.4, 0.0, 1.0)
    x = (hook + (1 - 2 * hook) * t) * length
    path = np.stack(
        [x, grow * radius * np.cos(2 * np.pi * turns * t), grow * radius * np.sin(2 * np.pi * turns * t)], 1
    )
    path = np.concatenate([[[0.0, 0.0, 0.0]], path, [[length, 0.0, 0.0]]])
    wire = swept(path, thick, 0.0, SPRING, 7)
    return wire.moved(np.diag([1.0 / length, 1.0, 1.0]), np.zeros(3))
