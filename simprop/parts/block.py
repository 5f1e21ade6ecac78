"""A box."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.load import material
from simprop.catalog.stock import is_stiff
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.solids import box
from simprop.geometry.surface import Surface
from simprop.parts.bar import sawn
from simprop.parts.part import Panel, PartKind, Read, Shape, Stock, Through
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Extents3, Place
from simprop.rules.mass import MassProperties, cuboid

THICKEST = 0.04
"""Boards and sheets thicker than this are glued up, no part of a shop's stock, m (common practice, no source)."""


class Block(PartKind):
    """A box with its edges along x, y, z of the start pose, centred at a point."""

    unchecked: ClassVar[str] = "blocks"
    kind: Literal["block"] = "block"
    size: Extents3 = Field(alias="block")
    of: MaterialName
    at: Place

    def place(self, at: Placement, read: Read, name: str) -> Cuboid:
        centre = at.stretched(self.at)
        x, y, z = self.size
        mass = self.mass or material(self.of).density * x * y * z
        return Cuboid(
            name=name,
            material=self.of,
            looks=self.looks or "plain",
            weight=MassProperties(mass, centre, cuboid(mass, np.eye(3), self.size)),
            path=centre[None, :],
            size=self.size,
        )


@dataclass(frozen=True, kw_only=True)
class Cuboid(Shape):
    """A box whose edges, m, lie along the columns of its turn."""

    word: str = "block"
    size: tuple[float, float, float]

    def box(self) -> tuple[Array, Array, Array]:
        return self.path[0], self.turn, np.array(self.size) / 2

    def through(self, axis: Array) -> Through:
        """Its extent along the fastener; its least edge where that isn't known."""
        size = float(np.abs(self.turn.T @ axis) @ np.array(self.size)) if axis.any() else min(self.size)
        return Through(False, size, size)

    @property
    def cut_from(self) -> Stock | Panel | None:
        """A board or plate where it is thin and wide, else a length of timber or bar; None of straw and the like."""
        if not is_stiff(self.material):
            return None
        thick, width, length = sorted(self.size)
        found = sawn(self.material, (length, width, thick))
        return None if isinstance(found, Panel) and thick > THICKEST else found

    def drawn(self, finish: Finish) -> list[Surface]:
        return [box(np.array(self.size), finish).moved(self.turn, self.path[0])]
