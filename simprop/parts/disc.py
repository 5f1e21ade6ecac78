"""A flat round disc or drum."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.load import material
from simprop.catalog.stock import is_sheet, is_stiff, is_wood
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.solids import cylinder
from simprop.geometry.surface import Surface, frame_along
from simprop.parts.part import Panel, PartKind, Read, Shape, Stock, Through
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Place, Size
from simprop.rules.mass import MassProperties, about, hollow_cylinder

SOLID = 0.04
"""A thicker disc is glued up or turned, no part of a shop's sheets, m (common practice, no source)."""


class Disc(PartKind):
    """A flat round disc or drum: diameter, thickness along its axis, centred at a point."""

    unchecked: ClassVar[str] = "discs"
    kind: Literal["disc"] = "disc"
    diameter: Size = Field(alias="disc")
    thick: Size
    of: MaterialName
    at: Place
    axis: Direction

    def place(self, at: Placement, read: Read, name: str) -> Flange:
        centre, axis = at.stretched(self.at), np.asarray(self.axis)
        radius = self.diameter / 2
        mass = self.mass or material(self.of).density * np.pi * radius**2 * self.thick
        inertia = about(axis, *hollow_cylinder(mass, radius, 0.0, self.thick))
        return Flange(
            name=name,
            material=self.of,
            looks=self.looks or "plain",
            weight=MassProperties(mass, centre, inertia),
            path=centre[None, :],
            diameter=self.diameter,
            thick=self.thick,
            axis=axis,
        )


@dataclass(frozen=True, kw_only=True)
class Flange(Shape):
    """A short cylinder: diameter, thickness, m, and its unit axis, (3,)."""

    word: str = "disc"
    diameter: float
    thick: float
    axis: Array

    def moved(self, turn: Array, shift: Array) -> Flange:
        return replace(super().moved(turn, shift), axis=turn @ self.axis)

    @property
    def radius(self) -> float:
        """It is taken for a ball of its diameter where gaps are looked for, m."""
        return self.diameter / 2

    def box(self) -> tuple[Array, Array, Array]:
        """Up along its axis."""
        first = frame_along(self.axis)
        turn = np.array([first[1], first[2], first[0]]).T
        return self.path[0], turn, np.array([self.diameter, self.diameter, self.thick]) / 2

    def solids(self) -> tuple[Convex, ...]:
        """The box about it: a little more than it at the corners."""
        return (self.as_box(),)

    def through(self, axis: Array) -> Through:
        """Its thickness, or its diameter where the fastener goes that way."""
        flat = not axis.any() or abs(float(self.axis @ axis)) > 0.7
        size = self.thick if flat else self.diameter
        return Through(False, size, size)

    @property
    def cut_from(self) -> Stock | Panel | None:
        """Off a rod where it is longer than wide, else out of a sheet; None of straw and the like, or a drum."""
        if not is_stiff(self.material):
            return None
        if self.thick >= self.diameter and not is_sheet(self.material):
            return Stock(
                "dowel" if is_wood(self.material) else "rod", self.material, (self.diameter,), self.thick
            )
        size = (self.diameter, self.diameter)
        return Panel(self.material, self.thick, size, "disc") if self.thick <= SOLID else None

    def face(self, way: Array) -> float:
        """Its round face and its rim."""
        along = abs(float(self.axis @ way))
        rim = np.sqrt(max(1 - along**2, 0.0)) * self.diameter * self.thick
        return float(along * np.pi / 4 * self.diameter**2 + rim)

    def drawn(self, finish: Finish) -> list[Surface]:
        half = self.axis * self.thick / 2
        return [cylinder(self.path[0] - half, self.path[0] + half, self.diameter, finish, sides=40)]
