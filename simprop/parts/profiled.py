"""What has one cross-section along a straight line: the solid that tubes with corners, angles and channels are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simprop.catalog.load import material
from simprop.catalog.strengths import strength_of
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.prism import prism
from simprop.geometry.surface import Surface
from simprop.parts.bar import square_to
from simprop.parts.part import PartKind, Shape, Stock, Through, path_of
from simprop.reading.fields import Point, Vector
from simprop.rules.mass import MassProperties
from simprop.rules.profiles import Profile
from simprop.rules.sections import Section

Bigger = tuple[tuple[str, Section, float], ...]
"""Stronger ones: in words, section, and the share of the load that each takes."""

OPEN = "{}: twisted by what acts off its shear centre, without help of its ends; tilting over sideways not checked"
"""What is assumed of an open section; `{}`: its word."""


@dataclass(frozen=True, kw_only=True)
class Profiled(Shape):
    """A straight length whose centre of area runs from point to point.

    Attributes:
        profile: its cross-section; x lies across, y along `direction`.
        direction: unit y of the cross-section, (3,).
        flat: what a fastener along y goes through.
        edgeways: what a fastener along x goes through.
        walls: rectangles that fill the cross-section: least and largest x, then y, from the centre of area, (k, 4) m.
        bigger: stronger ones that would fit in its place.
    """

    word: str
    profile: Profile
    direction: Array
    flat: Through
    edgeways: Through
    walls: Array
    bigger: Bigger

    def moved(self, turn: Array, shift: Array) -> Profiled:
        return replace(super().moved(turn, shift), direction=turn @ self.direction)

    @property
    def frame(self) -> Array:
        """Unit directions of x, y and of the length as rows, (3, 3)."""
        along = (self.path[1] - self.path[0]) / np.linalg.norm(self.path[1] - self.path[0])
        return np.array([np.cross(self.direction, along), self.direction, along])

    @property
    def radius(self) -> float:
        """Half of its lesser side, m."""
        return float(np.ptp(self.profile.rings[0], axis=0).min()) / 2

    def part_of(self, mass: float, start: Array, end: Array) -> MassProperties:
        return of_length(mass, start, end, self.direction, self.profile)

    def _block(self, low: Array, high: Array) -> Convex:
        """The length of a rectangle of the cross-section."""
        frame, middle = self.frame, (low + high) / 2
        at = self.path.mean(axis=0) + middle @ frame[:2]
        half = np.append(high - low, np.linalg.norm(self.path[1] - self.path[0])) / 2
        away = frame[1] if frame[1] @ np.array([0.3, 1.0, 0.0]) >= 0 else -frame[1]
        turn = np.array([np.cross(away, frame[2]), away, frame[2]]).T
        return Convex(start=at, end=at, half=half, turn=turn)

    def box(self) -> tuple[Array, Array, Array]:
        ring = self.profile.rings[0]
        whole = self._block(ring.min(axis=0), ring.max(axis=0))
        return whole.start, whole.turn, whole.half

    def solids(self) -> tuple[Convex, ...]:
        """A box for each wall, or one over all where it is closed."""
        return tuple(self._block(row[[0, 2]], row[[1, 3]]) for row in self.walls)

    def gap(self, point: Array) -> float:
        return max(min(solid.distance(point) for solid in self.solids()), 0.0)

    def section(self) -> Section:
        return self.profile

    def thin(self, along: Array) -> Array:
        """The principal direction v: askew in an angle."""
        x, y, _ = self.frame
        return np.asarray(np.cos(self.profile.turn) * y + np.sin(self.profile.turn) * x)

    def stronger(self) -> list[tuple[str, Section, float]]:
        return list(self.bigger)

    def through(self, axis: Array) -> Through:
        """The walls that lie across the fastener; those square to y where its direction isn't known."""
        return self.edgeways if axis.any() and abs(float(self.direction @ axis)) < 0.7 else self.flat

    @property
    def cut_from(self) -> Stock:
        """By width, height and, but of a slotted profile, wall."""
        across = np.ptp(self.profile.rings[0], axis=0)
        walls = () if self.word == "slotted profile" else (self.flat.wall,)
        return Stock(self.word, self.material, (float(across[0]), float(across[1]), *walls), self.laid)

    def drawn(self, finish: Finish) -> list[Surface]:
        length = float(np.linalg.norm(self.path[1] - self.path[0]))
        return [prism(self.profile.rings, self.path[0], self.frame, length, finish)]


def of_length(mass: float, start: Array, end: Array, direction: Array, profile: Profile) -> MassProperties:
    """A straight length of a cross-section.

    Args:
        mass: kg.
        start: (3,) m.
        end: (3,) m.
        direction: unit y of the cross-section, (3,).
        profile: the cross-section.

    Source: elementary mechanics: m / A times the second moments across, m L^2 / 12 along.
    """
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    x = np.cross(direction, along)
    c, s = np.cos(profile.turn), np.sin(profile.turn)
    axes = np.array([c * x - s * direction, c * direction + s * x, along])
    u, v = profile.inertia_u / profile.area, profile.inertia_v / profile.area
    moments = mass * np.array([u + length**2 / 12, v + length**2 / 12, u + v])
    return MassProperties(mass, (start + end) / 2, (axes.T * moments) @ axes)


def profiled(
    part: PartKind,
    of: str,
    points: tuple[Point, Point],
    thin: Vector | None,
    profile: Profile,
    at: Placement,
    name: str,
    *,
    word: str,
    through: tuple[Through, Through],
    walls: Sequence[Sequence[float]],
    bigger: Bigger,
) -> Profiled:
    """A length of stock between two points.

    Args:
        of: its material.
        thin: direction of y of the cross-section; None: as that of a bar.
        through: what fasteners along y and along x go through.
        walls: see `Profiled`.

    Raises:
        AssemblyError: where the two points are the same.
    """
    path = path_of(at, points, name)
    length = float(np.linalg.norm(path[1] - path[0]))
    direction = square_to((path[1] - path[0]) / length, thin)
    mass = part.mass or material(of).density * profile.area * length
    return Profiled(
        name=name,
        word=word,
        material=of,
        looks=part.looks or "plain",
        weight=of_length(mass, path[0], path[1], direction, profile),
        path=path,
        profile=profile,
        direction=direction,
        flat=through[0],
        edgeways=through[1],
        walls=np.array(walls),
        bigger=bigger,
    )


def wrinkles(of: str, width: float, wall: float, share: float) -> tuple[str, ...]:
    """What to say of a wall so thin that it wrinkles before it yields.

    Args:
        of: material.
        width: flat width of its widest wall, m.
        wall: m.
        share: largest width over wall, times sqrt(yield / modulus).

    Source: AISC 360 table B4.1a: 1.40 for walls held at both edges, 0.45 for legs of angles, 0.56 for flanges; from
        memory.
    """
    strength, modulus = strength_of(of), material(of).modulus
    if strength is None or strength.yield_strength is None or modulus is None:
        return ()
    if width / wall <= share * float(np.sqrt(modulus / strength.yield_strength)):
        return ()
    return (
        f"a wall of {wall * 1e3:.3g} mm on {width * 1e3:.3g} mm may wrinkle before it yields: not checked",
    )
