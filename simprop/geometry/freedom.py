"""What a joint leaves free and what it bars, as plain directions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from simprop.geometry.arrays import Array

How = Literal["slide", "turn", "ball"]


@dataclass(frozen=True)
class Freedom:
    """One free motion of a joint's second body against its first.

    Attributes:
        how: slide along `way` (m), turn about it (rad), or ball: turn every way.
        way: unit direction, (3,), carried by what the motions before it have moved; zeros for a ball.
        play: free only as far as the joint is loose: nothing acts on it and it isn't recorded.
        axis: index of the coordinate that it is among all that are recorded; -1 for none.
    """

    how: How
    way: Array
    play: bool = False
    axis: int = -1

    @property
    def rates(self) -> int:
        """How many numbers tell its rate."""
        return 3 if self.how == "ball" else 1


FLOATING = (*(Freedom("slide", unit) for unit in np.eye(3)), Freedom("ball", np.zeros(3)))
"""The motions of a body that hangs on nothing."""


def hung(freedoms: Sequence[Freedom], forward: bool) -> tuple[Freedom, ...]:
    """The motions from the body that holds to the one that hangs on it: taken from the other end if not `forward`."""
    return tuple(freedoms) if forward else tuple(replace(f, way=-f.way) for f in reversed(freedoms))


def pivot(freedoms: Sequence[Freedom]) -> Array:
    """The one direction about which a joint turns, (3,); zeros where there is none or more than one."""
    turns = [f.way for f in freedoms if f.how == "turn"]
    return turns[0] if len(turns) == 1 else np.zeros(3)


def square(axis: Array) -> Array:
    """Two unit directions square to a unit `axis` (3,) and to each other: (2, 3).

    Example:
        >>> square(np.array([0.0, 0.0, 1.0])).tolist()
        [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]
    """
    other = np.eye(3)[int(np.argmin(np.abs(axis)))]
    one = np.cross(axis, other)
    one /= np.linalg.norm(one)
    return np.array([one, np.cross(axis, one)])


def barred(freedoms: Sequence[Freedom], axis: Array) -> tuple[Array, Array]:
    """Directions that a joint bars: translations (k, 3) and rotations (m, 3), those along `axis` by themselves.

    Args:
        axis: main direction, (3,); zeros for none.

    Example:
        >>> z = np.array([0.0, 0.0, 1.0])
        >>> [len(d) for d in barred([Freedom("turn", z)], z)]
        [3, 2]
    """
    slides = [f.way for f in freedoms if f.how == "slide"]
    turns = [f.way for f in freedoms if f.how == "turn"]
    ball = any(f.how == "ball" for f in freedoms)
    return _others(slides, axis), np.zeros((0, 3)) if ball else _others(turns, axis)


def _others(ways: Sequence[Array], axis: Array) -> Array:
    """Unit directions square to some: (3 - n, 3)."""
    if not ways:
        return np.vstack([square(axis), axis]) if np.any(axis) else np.eye(3)
    if len(ways) == 1:
        return square(ways[0])
    return np.cross(ways[0], ways[1])[None] if len(ways) == 2 else np.zeros((0, 3))


def square_way(way: Array, wanted: Array | None) -> Array:
    """A unit direction square to another: as near as may be to a wanted one, else down, (3,).

    Args:
        way: unit direction, (3,).
        wanted: (3,), or None.

    Example:
        >>> square_way(np.array([0.0, 1.0, 0.0]), None).tolist()
        [0.0, 0.0, -1.0]
    """
    down = np.array([0.0, 0.0, -1.0])
    for hint in (wanted, down, np.array([1.0, 0.0, 0.0])):
        if hint is not None:
            square = hint - float(hint @ way) * way
            size = float(np.linalg.norm(square))
            if size > 0.1:
                return np.asarray(square / size + 0.0)
    raise ValueError("a direction of length zero")
