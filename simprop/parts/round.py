"""What is round along a line: the solid that pipes, tubes and rods are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.catalog.load import material, pipe, table
from simprop.catalog.stock import is_wood
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.surface import Surface
from simprop.geometry.sweep import rounded, swept
from simprop.parts.part import Shape, Stock, Through, long_box
from simprop.parts.stock import larger
from simprop.rules.mass import MassProperties, about, combined, hollow_cylinder
from simprop.rules.sections import RoundSection, Section, tube
from simprop.rules.stress import elbow_factor

BEND_RADIUS = 4.5
"""Radius of a heat-bent corner over the outside diameter where it isn't drawn: 4 inside, bender manual."""

ALIKE = 2e-5
"""Sizes closer than this are the same size of the catalogue, m."""


@dataclass(frozen=True, kw_only=True)
class Round(Shape):
    """A pipe or rod along a line.

    Attributes:
        outside: diameter, m.
        inside: diameter, m; 0 for a rod.
        weighed: inside diameter of the average wall, by which it is weighed, m.
    """

    word: str = "pipe"
    outside: float
    inside: float
    weighed: float

    @property
    def radius(self) -> float:
        """Outside radius, m."""
        return self.outside / 2

    def part_of(self, mass: float, start: Array, end: Array) -> MassProperties:
        return of_length(mass, start, end, self.outside, self.weighed)

    def box(self) -> tuple[Array, Array, Array]:
        return long_box(self.path, None, self.outside, self.outside)

    def section(self) -> RoundSection:
        """A tube, by its least wall."""
        return tube(self.outside, self.inside)

    def corner(self) -> tuple[float, str]:
        """A corner bent with heat."""
        factor = elbow_factor(self.outside, (self.outside - self.inside) / 2, BEND_RADIUS * self.outside)
        return factor, "corner bent with heat at 4 diameters inside radius"

    def stronger(self) -> list[tuple[str, Section, float]]:
        """The next sizes: PVC pipes of the catalogue, else round stock."""
        if self.material == "PVC":
            sizes = [pipe(name) for name in table("pipes")]
            return [
                (f"{p.name} pipe", tube(p.outside, p.outside - 2 * p.wall), 1.0)
                for p in sizes
                if p.material == self.material and p.outside > self.outside + 1e-6
            ]
        wall = (self.outside - self.inside) / 2
        word = f"tube with a {wall * 1e3:.3g} mm wall" if self.inside > 0 else "rod"
        return [
            (f"{d * 1e3:.0f} mm {word}", tube(d, d - 2 * wall if self.inside > 0 else 0.0), 1.0)
            for d in larger(self.outside)
        ]

    def through(self, axis: Array) -> Through:
        """One wall of a tube, or the whole rod."""
        if self.inside > 0:
            return Through(True, self.outside, (self.outside - self.inside) / 2)
        return Through(False, self.outside, self.outside)

    def face(self, way: Array) -> float:
        """Its length across the wind times its diameter."""
        across = np.linalg.norm(np.cross(np.diff(self.path, axis=0), way), axis=1)
        return float((across * self.outside).sum())

    @property
    def cut_from(self) -> Stock:
        """A pipe of the catalogue by its name, a tube by outside and wall, a rod by its diameter."""
        wall = (self.outside - self.inside) / 2
        if self.inside == 0:
            sort = "dowel" if is_wood(self.material) else "rod"
            return Stock(sort, self.material, (self.outside,), self.laid)
        for size in map(pipe, table("pipes")):
            own = abs(size.outside - self.outside) < ALIKE and abs(size.wall - wall) < ALIKE
            if own and size.material == material(self.material).name:
                return Stock("pipe", self.material, (), self.laid, size.name)
        return Stock("tube", self.material, (self.outside, wall), self.laid)

    @property
    def fitted(self) -> float | None:
        """Pipes are, rods aren't."""
        return self.outside if self.inside > 0 and self.looks == "plain" else None

    def drawn(self, finish: Finish) -> list[Surface]:
        sides = 16 if self.outside < 0.008 else 24
        path = rounded(self.path, 1.5 * self.outside)
        return [swept(path, self.outside, self.inside, finish, sides)]


def of_length(mass: float, start: Array, end: Array, outside: float, inside: float) -> MassProperties:
    """A straight length of round stock.

    Args:
        mass: kg.
        start: (3,) m.
        end: (3,) m.
        outside: diameter, m.
        inside: diameter, m.
    """
    length = float(np.linalg.norm(end - start))
    moments = hollow_cylinder(mass, outside / 2, inside / 2, length)
    return MassProperties(mass, (start + end) / 2, about((end - start) / length, *moments))


def along(
    path: Array, outside: float, inside: float, density: float, weighed: float | None
) -> MassProperties:
    """Round stock along a line of straight lengths, corners not rounded.

    Args:
        path: (k, 3) m.
        outside: diameter, m.
        inside: diameter, m.
        density: kg/m^3.
        weighed: mass as weighed, kg; None: from the density.
    """
    lengths = np.linalg.norm(np.diff(path, axis=0), axis=1)
    total = weighed or density * np.pi * ((outside / 2) ** 2 - (inside / 2) ** 2) * float(lengths.sum())
    return combined(
        [
            of_length(total * float(length / lengths.sum()), start, end, outside, inside)
            for start, end, length in zip(path[:-1], path[1:], lengths, strict=True)
        ]
    )
