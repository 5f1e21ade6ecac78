"""Constraint rows of a chain of links besides its loop ties, as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simprop.engine.bullet.links import Link
from simprop.geometry.arrays import Array

RATES = {"turn": 1, "slide": 1, "ball": 3, "fixed": 0}
"""Joint rates of each kind of link; those of a ball in the link's own axes."""


def rate_indices(links: Sequence[Link]) -> list[int]:
    """Index of the first rate of each link.

    Example:
        >>> rate_indices([])
        []
    """
    found, count = [], 0
    for link in links:
        found.append(count)
        count += RATES[link.kind]
    return found


@dataclass(frozen=True)
class Hold:
    """A row with limited impulse: friction, or a drive that holds a speed.

    Attributes:
        rate: index of the joint rate it acts on, or -1 for a pin that closes a loop.
        first: link of that pin's first body (-1: the world).
        second: link of its second body.
        axis: its direction at the start, (3,).
    """

    rate: int
    first: int
    second: int
    axis: Array


@dataclass(frozen=True)
class Gear:
    """Ties two joint rates: rate `twin` = ratio * rate `driven`."""

    twin: int
    driven: int
    ratio: float
