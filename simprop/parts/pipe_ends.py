"""Where pipes come to a place: the ways of the fitting there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from simprop.geometry.arrays import Array
from simprop.parts.part import NEAR, Shape


@dataclass(frozen=True)
class PipeEnd:
    """A pipe that comes to a place.

    Attributes:
        way: unit direction into it, (3,).
        outside: diameter, m.
        heavy: mass of a length, kg/m.
        begins: where it begins along that direction from the place, m.
    """

    way: Array
    outside: float
    heavy: float
    begins: float


def ways_to(shape: Shape, at: Array) -> Iterator[PipeEnd]:
    """The ways that a pipe comes to a place: one from an end, two where it runs through.

    Args:
        shape: a pipe.
        at: the place, (3,) m.
    """
    path, outside = shape.path, shape.fitted or 0.0
    heavy = shape.mass / float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    for begin, end in pairwise(path):
        length = float(np.linalg.norm(end - begin))
        unit = (end - begin) / length
        place = float((at - begin) @ unit)
        near = NEAR * outside
        if np.linalg.norm(begin + min(max(place, 0.0), length) * unit - at) > near:
            continue
        if place < length - near:
            yield PipeEnd(unit, outside, heavy, -place)
        if place > near:
            yield PipeEnd(-unit, outside, heavy, place - length)
