"""A hexagon bolt with washers and nut, as a surface."""

from __future__ import annotations

import numpy as np

from simprop.geometry.finish import Finish, linear
from simprop.geometry.solids import lathe
from simprop.geometry.surface import Surface, join

STEEL = Finish(linear("#9b9fa3"), 0.4, 1.0)


def hexagon_bolt(start: float, end: float, diameter: float) -> Surface:
    """A hexagon bolt along x from under its head at `start` to its nut's face at `end`, m; head towards -x.

    Example:
        >>> round(float(np.ptp(hexagon_bolt(0.0, 0.02, 0.006).vertices[:, 0])), 4)
        0.0317
    """
    d = diameter
    washer = 0.0015
    shank = np.array(
        [[start - washer, d / 2], [end + washer + 0.75 * d, d / 2], [end + washer + 0.8 * d, 0.0]]
    )
    flat = [[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0]]
    parts = [lathe(shank, STEEL, 14)]
    for at in (start - washer, end):
        parts.append(lathe(np.array([[at + washer * x, 1.1 * d * r] for x, r in flat]), STEEL, 20))
    head = [[0.0, 0.0], [0.0, 0.85], [0.1, 1.0], [0.9, 1.0], [1.0, 0.9], [1.0, 0.0]]
    for at, tall in ((start - washer - 0.65 * d, 0.65 * d), (end + washer, 0.6 * d)):
        parts.append(lathe(np.array([[at + tall * x, 0.92 * d * r] for x, r in head]), STEEL, 6))
    return join(parts)
