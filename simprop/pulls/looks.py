"""Rams, cords and strips as surfaces.

What runs between two points has three frames that follow it: one stretched from end to end (a cord), one that keeps its
length at the start (the body of a ram) and one that keeps its length at the end, pointing back (its rod).
"""

from __future__ import annotations

import numpy as np

from simprop.forces.coil import SPRING
from simprop.geometry.arrays import Array
from simprop.geometry.finish import PLAIN, Finish, linear
from simprop.geometry.solids import box, cylinder
from simprop.geometry.surface import Surface, join

CORD = Finish(linear("#b89a6a"), 0.95)
DARK = Finish(linear("#33373c"), 0.45, 0.0, PLAIN)

Frames = tuple[list[Surface], list[Surface], list[Surface]]


def ram(lengths: Array, finish: Finish, *, slim: float = 1.0, block: bool = False) -> Frames:
    """A tube with a rod, as thick as fits its length.

    Args:
        lengths: of the line over the run, (n,) m.
        slim: share of the usual thickness.
        block: with a motor beside the screw, or the ports of a cylinder.

    Example:
        >>> [len(own) for own in ram(np.array([0.1, 0.12]), DARK)]
        [0, 1, 2]
    """
    longest, shortest = max(float(lengths.max()), 1e-3), max(float(lengths.min()), 1e-3)
    thick = float(np.clip(0.09 * longest, 0.010, 0.032)) * slim
    body = min(0.92 * shortest, 0.6 * longest)
    tube = [cylinder(np.zeros(3), np.array([body, 0.0, 0.0]), thick, finish)]
    if block:
        beside = box(np.array([0.22 * body, 1.1 * thick, 2.0 * thick]), DARK)
        tube.append(beside.moved(np.eye(3), np.array([0.13 * body, 0.0, 0.45 * thick])))
    reach = np.array([max(longest - 0.9 * body, 0.1 * longest), 0.0, 0.0])
    rod = cylinder(np.zeros(3), reach, 0.42 * thick, SPRING)
    across = np.array([0.0, 0.4 * thick, 0.0])
    return [], tube, [rod, cylinder(-across, across, 0.9 * thick, SPRING)]


def cord(thick: float = 0.005) -> Surface:
    """A rope of 1 m along x, its diameter in m."""
    return cylinder(np.zeros(3), np.array([1.0, 0.0, 0.0]), thick, CORD, 10)


def pulley(wheel: float = 0.03) -> Surface:
    """A grooved wheel about y, its radius in m."""
    discs = ((0.008, wheel), (0.004, 0.8 * wheel), (0.0, wheel))
    return join(
        [cylinder(np.array([0.0, -y, 0.0]), np.array([0.0, -y + 0.004, 0.0]), 2 * r, DARK) for y, r in discs]
    )


def strip() -> Surface:
    """A steel strip of 1 m along x."""
    flat = box(np.array([1.0, 0.016, 0.0012]), SPRING, 0.0)
    return flat.moved(np.eye(3), np.array([0.5, 0.0, 0.0]))
