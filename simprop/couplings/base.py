"""What every coupling says, and the sort that the kinds enter.

A coupling ties the motions of two joints that one body carries, and is felt where its two sides meet: a force on the
body that the first joint moves, and the opposite on that of the second.
"""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.bought import Bought
from simprop.catalog.friction import Surfaces
from simprop.checking.check import Check
from simprop.checking.setting import Setting
from simprop.couplings.looks import Drawn
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.reading.base import Record
from simprop.reading.fields import Number, fault
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
class Rub:
    """Friction where two sides meet (see `simprop.laws.friction.thread_friction`), as it acts on the first axis.

    Attributes:
        surfaces: with the coefficients; a share of the power lost counts as one.
        lever: sliding for each rad or m of the first side, m or 1.
        level: share of the force that presses.
        slant: share of the friction that bears with or against it.
        force: on the first side's body for a friction load of 1 N*m or N, the other side's gets the opposite, (3,).
        moment: of that about the tie's point, (3,) N*m.
        inside: the two bodies push each other with it; else what carries both bears it.
    """

    surfaces: Surfaces
    lever: float
    level: float = 1.0
    slant: float = 0.0
    force: Array = field(default_factory=lambda: np.zeros(3))
    moment: Array = field(default_factory=lambda: np.zeros(3))
    inside: bool = False


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
        rub: friction where they meet, or None.
    """

    point: Array
    force: Array
    spread: Array
    moment: Array = field(default_factory=lambda: np.zeros(3))
    spread_moment: Array = field(default_factory=lambda: np.zeros(3))
    share: float = 0.0
    steady: float = 0.0
    rub: Rub | None = None


@dataclass(frozen=True)
class Asked:
    """What a run asks of a coupling.

    Attributes:
        place: the coupling in words.
        force: largest coupling force, N.
        size: largest of what it bears (see `CouplingBase.size`), N.
        speed: fastest motion where its two sides meet, m/s.
        time: of the largest force, s.
        sides: its two joints in the start pose.
        tie: where they meet.
        setting: temperature, season, people.
    """

    place: str
    force: float
    size: float
    speed: float
    time: float
    sides: tuple[Side, Side]
    tie: Tie
    setting: Setting


class CouplingBase(Record):
    """What every coupling says; its kind's key names the two joints.

    Attributes:
        motions: how each side moves where a joint moves in more ways than one.
        one_joint: both sides may be one joint's.
        endless: a strand in one piece goes round both sides.
    """

    motions: ClassVar[tuple[Literal["turn", "slide"] | None, Literal["turn", "slide"] | None]] = (None, None)
    one_joint: ClassVar[bool] = False
    endless: ClassVar[bool] = False

    if TYPE_CHECKING:
        kind: str
        joints: Pair

    @model_validator(mode="after")
    def _two(self) -> CouplingBase:
        if self.joints[0] == self.joints[1] and not self.one_joint:
            raise fault("it ties two joints", "two names")
        return self

    @abstractmethod
    def tie(self, first: Side, second: Side) -> Tie:
        """Where and how the two sides meet.

        Raises:
            ValueError: when they can't, saying why.
        """

    @property
    def lost(self) -> float:
        """Share of the force that it loses as friction on its first side, where it doesn't say how it rubs."""
        return 0.0

    def most(self, first: Side, second: Side) -> tuple[float, float] | None:
        """Largest coupling force while it sticks and while it slips, N; None of what can't slip."""
        return None

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """How it looks in the start pose, world axes; nothing where its kind doesn't say more."""
        return Drawn()

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        """What is bought for it; in the words of its kind where that doesn't say more."""
        return (Bought("gears, belts and chains", self.kind.replace("_", " "), 1),)

    def told(self, first: Side, second: Side, tie: Tie) -> tuple[str, ...]:
        """Sentences on what it is in this prop."""
        return ()

    def checks(self, asked: Asked) -> list[Check]:
        """Whether it bears what a run asks of it; nothing where its kind has nothing that breaks."""
        return []

    @abstractmethod
    def size(self, force: Array) -> Array:
        """What the coupling bears (a tooth, the tight strand) for its force, N, at each step, (n,)."""


class Meshing(CouplingBase):
    """What meshes by teeth or links, and so loses a share of what it hands on.

    Attributes:
        loss: of the force handed on: 0.01 to 0.03 of spur gears that are greased and run true, 0.02 to 0.05 of a chain
            or toothed belt (machine design texts, from memory).
    """

    loss: Annotated[Number, Field(ge=0.0, le=0.5)] = 0.0

    @property
    def lost(self) -> float:
        return self.loss


COUPLINGS: Kinds[CouplingBase] = Kinds("coupling")
"""The kinds of coupling."""


def turning(*sides: Side) -> None:
    """Refuse a side that doesn't turn."""
    for side in sides:
        if side.motion != "turn":
            raise ValueError(f"joint {side.joint!r} doesn't turn")


def out_to(side: Side, point: Array) -> Array:
    """The way from a side's axis, square to it, to a point, (3,) m: the radius of a wheel that reaches there."""
    arm = point - side.point
    return np.asarray(arm - side.way * float(arm @ side.way))


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
