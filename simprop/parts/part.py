"""What any part is: the record read from a rig, and the solid it becomes in the frame of its body."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Annotated, ClassVar, TypeVar

import numpy as np
from pydantic import Field

from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish, finish_of
from simprop.geometry.placement import Placement
from simprop.geometry.surface import Surface, frame_along
from simprop.parts.looks import Looks, dressed
from simprop.reading.base import Record
from simprop.reading.fields import Mass, Point, Vector
from simprop.rules.mass import MassProperties, about
from simprop.rules.sections import Section

S = TypeVar("S", bound="Shape")
Read = Callable[[str], bytes]
"""Content of a file by its name in the rig; an `OSError` says why it can't be read."""


NEAR = 0.75
"""A pipe belongs to a fitting that it is drawn to within so many of its own diameters (assumed)."""
FLANGE = 0.003
"""Thickness of a motor's face, of the foot of its bracket and of its lugs, m (assumed)."""


class PartKind(Record):
    """What any part may say.

    Attributes:
        mass: weighed, kg; None: of its shape and material.
        looks: what it is drawn as.
        name: what it is called in reports.
        bends: it bends, the rest of its body is rigid.
    """

    unchecked: ClassVar[str] = ""
    """What several of them are called where strength is not checked; "" where it is, or there is none to check."""

    mass: Mass | None = None
    looks: Looks | None = None
    name: str | None = None
    bends: Annotated[bool, Field(strict=True)] = False

    @abstractmethod
    def place(self, at: Placement, read: Read, name: str) -> Shape:
        """The part with its mass, in drawn coordinates after the held length of its body.

        Args:
            at: placement of its body (only the held length is used).
            name: label, for the shape and for messages.

        Raises:
            AssemblyError: for what can't be: no length, a wall thicker than the part.
        """

    joins: ClassVar[bool] = False
    """It sits where pipes meet, and asks for them."""

    def joined(self, own: Sequence[Shape], others: Sequence[Shape]) -> PartKind:
        """Itself, once it knows the pipes of its body and of all others.

        Raises:
            AssemblyError: where they don't come to it as it needs them.
        """
        return self

    @property
    def rolls(self) -> Rolls | None:
        """The edge that it may roll on; None where it has none."""
        return None

    def notes(self) -> tuple[str, ...]:
        """What was assumed of it, a sentence each."""
        return ()

    def points(self) -> Iterator[Point]:
        """The points that it was drawn through."""
        for value in vars(self).values():
            if isinstance(value, Point):
                yield value
            elif isinstance(value, tuple):
                yield from (v for v in value if isinstance(v, Point))


def path_of(at: Placement, points: Sequence[Point], name: str) -> Array:
    """The points that a part runs through, after the held length, (k, 3) m.

    Raises:
        AssemblyError: where two that follow each other are the same.
    """
    path = np.array([at.stretched(p) for p in points])
    if float(np.linalg.norm(np.diff(path, axis=0), axis=1).min()) < 1e-6:
        raise AssemblyError(f"{name}: two of its points are the same, it has no length")
    return path


@dataclass(frozen=True)
class Through:
    """What a fastener goes through: a tube or something solid, its size along the fastener and one wall, m."""

    tube: bool
    size: float
    wall: float


@dataclass(frozen=True)
class Stock:
    """What a part is sawn off.

    Attributes:
        sort: how a shop sells it, a row of the catalogue ``stock``.
        of: material.
        sizes: across it, as one asks for it, m; () of what goes by its name.
        length: of the part along it, m.
        name: of its size in the catalogues of pipes and threads; "" where the sizes say it.
    """

    sort: str
    of: str
    sizes: tuple[float, ...]
    length: float
    name: str = ""


@dataclass(frozen=True)
class Panel:
    """What a part is cut out of.

    Attributes:
        of: material.
        thick: m.
        size: length and width of the rectangle about it, m.
        form: rectangle, disc or outline.
    """

    of: str
    thick: float
    size: tuple[float, float]
    form: str = "rectangle"


@dataclass(frozen=True)
class Mounting:
    """How a motor sits on the body that carries it.

    Attributes:
        motor: its name.
        place: about which what holds it counts, (3,) m.
        way: unit direction along which that lies where it doesn't say; zeros: not known, (3,).
        half: half of what it goes round or through, m.
    """

    motor: str
    place: Array
    way: Array
    half: float


@dataclass(frozen=True)
class Rolls:
    """The round edge of a part that may roll on the ground.

    Attributes:
        centre: of its circle, as drawn.
        radius: m.
        axis: unit direction of the circle's axis.
        middle: unit direction from the centre to the middle of the edge.
        spread: how far it goes to both sides of that, rad.
        width: along the axis, m.
    """

    centre: Point
    radius: float
    axis: Vector
    middle: Vector
    spread: float
    width: float


@dataclass(frozen=True)
class SocketWay:
    """A way of a fitting that a pipe sits in.

    Attributes:
        way: unit direction into the pipe, (3,).
        reach: of its mouth from the fitting's middle, m.
        nominal: size of a PVC socket; "" of a collar with set screws.
        how: glued, screwed or dry; None: not stated.
    """

    way: Array
    reach: float
    nominal: str
    how: str | None


@dataclass(frozen=True, kw_only=True)
class Stretch(Convex):
    """A straight stretch of a part, or a part without length, with its mass.

    Attributes:
        weight: in the frame of the body.
    """

    weight: MassProperties


@dataclass(frozen=True, kw_only=True)
class Shape(ABC):
    """A part as a solid in the frame of its body. What a kind is not asked for it need not say.

    Attributes:
        name: label of the part.
        word: what a person calls such a thing.
        material: catalogue name, or "" if unknown.
        looks: how it is dressed, or "plain".
        weight: mass, centre of mass and inertia.
        path: points the part runs through, (k, 3) m; one point for what has no length.
        turn: rotation of the part from how it was drawn, (3, 3).
        mounting: of which motor it is the case, and how that is held; None of all else.
    """

    bolted: ClassVar[bool] = True
    """A bolt may go through it."""
    no_section: ClassVar[str] = ""
    """Why its strength can't be checked where one would expect it, in words."""
    notch: ClassVar[float] = 1.0
    """Factor on the stress that tires it, by notches all along it."""

    name: str
    word: str
    material: str
    looks: str = "plain"
    weight: MassProperties
    path: Array
    turn: Array = field(default_factory=lambda: np.eye(3))
    mounting: Mounting | None = None

    @property
    def mass(self) -> float:
        """Mass in kg."""
        return self.weight.mass

    def moved(self: S, turn: Array, shift: Array) -> S:
        """Turned by a rotation (3, 3), then shifted by (3,) m."""
        weight = self.weight.moved(turn, shift)
        return replace(self, weight=weight, path=self.path @ turn.T + shift, turn=turn @ self.turn)

    def piece(self: S, start: Array, end: Array) -> S:
        """The length of it between two points of one of its straight stretches, (3,) m each."""
        lengths = np.linalg.norm(np.diff(self.path, axis=0), axis=1)
        share = float(np.linalg.norm(end - start) / lengths.sum())
        return replace(self, path=np.array([start, end]), weight=self.part_of(self.mass * share, start, end))

    @abstractmethod
    def box(self) -> tuple[Array, Array, Array]:
        """Middle (3,), axes as columns (3, 3) and half sizes (3,) m of the box it fills.

        The axes of a straight long part are: across, away through its thickness, up along it.
        """

    @cached_property
    def filled(self) -> tuple[Array, Array, Array]:
        """The box it fills, worked out once: see `box`."""
        return self.box()

    def gap(self, point: Array) -> float:
        """How far a point (3,) of the body's frame is outside of the box that it fills, m."""
        middle, axes, half = self.filled
        return float(np.linalg.norm(np.maximum(np.abs(axes.T @ (point - middle)) - half, 0.0)))

    @property
    def radius(self) -> float:
        """Of its straight stretches or of the ball that it is taken for, m; 0 for what is a box."""
        return 0.0

    def stretches(self) -> tuple[Stretch, ...]:
        """Its straight stretches; what has no length is a ball, or a box."""
        if len(self.path) < 2:
            if self.radius > 0:
                at = self.path[0]
                return (Stretch(start=at, end=at, radius=self.radius, weight=self.weight),)
            middle, turn, half = self.box()
            return (Stretch(start=middle, end=middle, half=half, turn=turn, weight=self.weight),)
        lengths = np.linalg.norm(np.diff(self.path, axis=0), axis=1)
        return tuple(
            Stretch(
                start=start,
                end=end,
                radius=self.radius,
                weight=self.part_of(self.mass * float(length / lengths.sum()), start, end),
            )
            for start, end, length in zip(self.path[:-1], self.path[1:], lengths, strict=True)
        )

    def solids(self) -> tuple[Convex, ...]:
        """Convex solids that it lies within, for what comes near it: its stretches, where the kind says no more."""
        return self.stretches()

    def as_box(self) -> Convex:
        """The box that it fills, as a solid."""
        middle, turn, half = self.box()
        return Convex(start=middle, end=middle, half=half, turn=turn)

    def part_of(self, mass: float, start: Array, end: Array) -> MassProperties:
        """A straight length of it, of some mass; thin if the kind says nothing else.

        Source: elementary mechanics, m L^2 / 12.
        """
        length = float(np.linalg.norm(end - start))
        return MassProperties(
            mass, (start + end) / 2, about((end - start) / length, 0.0, mass * length**2 / 12)
        )

    def nearness(self, point: Array) -> tuple[float, float]:
        """Key by which the nearest part to a point (3,) is found: see `Convex.nearness`."""
        return min(s.nearness(point) for s in self.stretches())

    def section(self) -> Section | None:
        """Cross-section of its straight stretches; None where it has none."""
        return None

    def thin(self, along: Array) -> Array:
        """Unit direction v of the cross-section at a stretch that runs along a unit direction: (3,)."""
        least = np.eye(3)[int(np.argmin(np.abs(along)))]
        v = least - float(least @ along) * along
        return np.asarray(v / np.linalg.norm(v))

    def corner(self) -> tuple[float, str]:
        """Factor on stress where it is bent round a corner, and what that assumes."""
        return 1.0, ""

    def stronger(self) -> list[tuple[str, Section, float]]:
        """Stronger parts that would fit in its place: in words, section, and the share of the load that each takes."""
        return []

    def through(self, axis: Array) -> Through | None:
        """What a fastener along a unit direction (zeros: not known) goes through; None where it can't be told."""
        return None

    def face(self, way: Array) -> float:
        """Area that it shows to the wind along a unit direction (3,), m^2: that of its box."""
        _, turn, (x, y, z) = self.filled
        return float(np.abs(turn.T @ way) @ np.array([y * z, x * z, x * y]) * 4)

    @property
    def fitted(self) -> float | None:
        """Outside diameter over which fittings are put where it meets its like, m; None where none are."""
        return None

    @property
    def asked(self) -> str:
        """What one asks for in a shop, where it is bought."""
        return self.word

    @property
    def cut_from(self) -> Stock | Panel | None:
        """What it is sawn off or cut out of; None of what is shaped, bought or found."""
        return None

    @property
    def laid(self) -> float:
        """Length along its middle line, m."""
        return float(np.linalg.norm(np.diff(self.path, axis=0), axis=1).sum())

    @property
    def rim(self) -> Array | None:
        """Corners of the flat outline that it is cut to, (k, 3) m; None of all else."""
        return None

    @property
    def drilled(self) -> tuple[tuple[Array, Array, float], ...]:
        """Holes that it says itself: middle (3,) m, unit direction (3,) and diameter m of each."""
        return ()

    @property
    def knot(self) -> tuple[Array, float] | None:
        """Where pipes meet in a fitting, (3,) m, and how far off the middle line of one may pass; None of all else."""
        return None

    @property
    def sockets(self) -> tuple[SocketWay, ...]:
        """What pipes sit in; none but of a fitting."""
        return ()

    def takes(self, way: Array) -> float | None:
        """How far the end of a pipe along a direction stays from the middle of a fitting, m; None without a socket.

        Args:
            way: from the middle into the pipe, (3,).
        """
        return None

    @abstractmethod
    def drawn(self, finish: Finish) -> list[Surface]:
        """Its undressed surface, m; none for what has no size."""

    def surfaces(self) -> list[Surface]:
        """What is seen of it: one surface or more, each of one finish."""
        finish = finish_of(self.material)
        if self.looks == "plain":
            return self.drawn(finish)
        return dressed(self.looks, *self.box(), finish if self.material else None)


def long_box(path: Array, thin: Array | None, width: float, thick: float) -> tuple[Array, Array, Array]:
    """The box about a straight long part: across, away through its thickness, up along it.

    Args:
        path: (k, 3) m.
        thin: direction of its thickness, (3,); None: y, or x for what runs along y.
        width: m.
        thick: m.
    """
    line = path[-1] - path[0]
    length = float(np.linalg.norm(line))
    if thin is None:
        thin = np.eye(3)[1 if abs(line[1]) < 0.9 * length else 0]
    rows = frame_along(line, thin)
    away = rows[1] if rows[1] @ np.array([0.3, 1.0, 0.0]) >= 0 else -rows[1]
    turn = np.array([np.cross(away, rows[0]), away, rows[0]]).T
    return (path[0] + path[-1]) / 2, turn, np.array([width, thick, length]) / 2
