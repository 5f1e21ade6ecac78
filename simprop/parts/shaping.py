"""What looks are made of: finishes, and shapes in a box from -1 to 1. Colours are chosen by eye, no source."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import WEAVE, WOOD, Finish, linear
from simprop.geometry.implicit import Field, polygonise
from simprop.geometry.surface import Surface, oriented

BONE = Finish(linear("#e9e0c8"), 0.6)
SACK = Finish(linear("#c79f66"), 0.95, pattern=WEAVE)
DARK = Finish(linear("#15120f"), 0.5)
STRAW = Finish(linear("#d9b14a"), 0.9, pattern=WOOD)
IRON = Finish(linear("#2d3034"), 0.5, 0.6)
AMBER = Finish(linear("#ffb648"), 0.3, glow=1.6)
UPRIGHT = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
"""Turns what is turned about x to stand on z."""


def solid(field: Field, finish: Finish, cells: int, shade: Callable[[Array], Array] | None = None) -> Surface:
    """The surface of a field, with a shade at each vertex."""
    reach = np.full(3, 1.12)
    vertices, normals, faces = polygonise(field, -reach, reach, cells)
    shades = None if shade is None else np.repeat(shade(vertices)[:, None], 3, axis=1)
    groups = np.zeros(len(faces), dtype=np.int64)
    return oriented(Surface(vertices, normals, vertices, faces, groups, finish, True, shades))


def put(surface: Surface, x: float, y: float, z: float) -> Surface:
    """A surface, shifted."""
    return surface.moved(np.eye(3), np.array([x, y, z]))


def mirrored(p: Array) -> Array:
    """Points as they would be on the right: what is drawn there is on both sides."""
    return np.stack([np.abs(p[:, 0]), p[:, 1], p[:, 2]], axis=1)
