"""What every coupling says, and the sort that the kinds enter.

A coupling ties the motions of two joints that one body carries, and is felt where its two sides meet: a force on the
body that the first joint moves, and the opposite on that of the second.
"""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.couplings.looks import Drawn
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.reading.base import Record
from simprop.reading.fields import fault
from simprop.reading.kinds import Kinds

PARALLEL = 1e-3
"""Sine up to which two axes count as parallel, or as square to each other its cosine."""

Teeth = Annotated[int, Field(ge=4, le=2000, strict=True)]


@dataclass(frozen=True)
class Side:
    """One joint of a coupling in the start pose.

    Attributes:
        joint: its name.
        motion: how it moves.
        point: on its axis, (3,) m.
        way: unit direction along which, or about which, the body that it moves goes against its carrier, (3,).
    """

    joint: str
    motion: Literal["turn", "slide"]
    point: Array
    way: Array


@dataclass(frozen=True)
class Tie:
    """Where two sides meet, and how they push each other.

    Attributes:
        point: (3,) m.
        force: on the first side's body for a coupling force of 1 N, (3,).
        spread: what comes with it whichever way it pushes (teeth part, both strands pull), for 1 N of that, (3,).
        moment: of `force` about the point, (3,) N*m.
        spread_moment: of `spread`, (3,) N*m.
        share: N of that for each N of the coupling force.
        steady: what there is of it at least, N.
    """

    point: Array
    force: Array
    spread: Array
    moment: Array = field(default_factory=lambda: np.zeros(3))
    spread_moment: Array = field(default_factory=lambda: np.zeros(3))
    share: float = 0.0
    steady: float = 0.0


class CouplingBase(Record):
    """What every coupling says; its kind's key names the two joints."""

    if TYPE_CHECKING:
        kind: str
        joints: Pair

    @model_validator(mode="after")
    def _two(self) -> CouplingBase:
        if self.joints[0] == self.joints[1]:
            raise fault("it ties two joints", "two names")
        return self

    @abstractmethod
    def tie(self, first: Side, second: Side) -> Tie:
        """Where and how the two sides meet.

        Raises:
            ValueError: when they can't, saying why.
        """

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """How it looks in the start pose, world axes; nothing where its kind doesn't say more."""
        return Drawn()

    @abstractmethod
    def size(self, force: Array) -> Array:
        """What the coupling bears (a tooth, the tight strand) for its force, N, at each step, (n,)."""


COUPLINGS: Kinds[CouplingBase] = Kinds("coupling")
"""The kinds of coupling."""


def turning(*sides: Side) -> None:
    """Refuse a side that doesn't turn."""
    for side in sides:
        if side.motion != "turn":
            raise ValueError(f"joint {side.joint!r} doesn't turn")


def between(first: Side, second: Side) -> tuple[Array, float, Array]:
    """Of two parallel axes: unit direction from the first to the second, how far they are apart (m), and a point of the
    first halfway along between the two joints.

    Raises:
        ValueError: when they aren't parallel, or one.
    """
    axis = first.way
    if float(np.linalg.norm(np.cross(axis, second.way))) > PARALLEL:
        raise ValueError(f"the axes of {first.joint!r} and {second.joint!r} aren't parallel")
    apart = second.point - first.point
    along = float(apart @ axis)
    across = apart - along * axis
    far = float(np.linalg.norm(across))
    if far < 1e-4:
        raise ValueError(f"{first.joint!r} and {second.joint!r} turn about one line")
    return across / far, far, first.point + 0.5 * along * axis
