"""A flat bar or batten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from pydantic import Field

from simprop.catalog.load import material
from simprop.catalog.stock import is_sheet, is_wood
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.solids import box
from simprop.geometry.surface import Surface, frame_along
from simprop.parts.part import Panel, PartKind, Read, Shape, Stock, Through, long_box, path_of
from simprop.parts.stock import larger
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Extents2, Place
from simprop.rules.mass import MassProperties, cuboid
from simprop.rules.sections import Rectangle, Section, rectangle


class Bar(PartKind):
    """A flat bar or batten: width x thickness, from point to point; `thin` is the direction of its thickness."""

    kind: Literal["bar"] = "bar"
    section: Extents2 = Field(alias="bar")
    of: MaterialName
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    thin: Direction | None = None

    def place(self, at: Placement, read: Read, name: str) -> Flat:
        path = path_of(at, [self.start, self.end], name)
        width, thick = self.section
        length = float(np.linalg.norm(path[1] - path[0]))
        thin = square_to((path[1] - path[0]) / length, self.thin)
        mass = self.mass or material(self.of).density * width * thick * length
        return Flat(
            name=name,
            material=self.of,
            looks=self.looks or "plain",
            weight=of_length(mass, path[0], path[1], thin, self.section),
            path=path,
            width=width,
            thick=thick,
            direction=thin,
        )


WIDEST = 0.199
"""Timber and bar are sold narrower than this, m; what is wider is a board or plate (common practice, no source)."""


def sawn(of: str, sizes: tuple[float, float, float]) -> Stock | Panel:
    """What something with square edges is cut from.

    Args:
        of: material.
        sizes: length along its grain, width and thickness, m.

    Example:
        >>> sawn("pine", (0.6, 0.04, 0.018)).sort, sawn("plywood", (0.6, 0.04, 0.018)).size
        ('batten', (0.6, 0.04))
    """
    length, width, thick = sizes[0], max(sizes[1:]), min(sizes[1:])
    if is_sheet(of) or width > WIDEST:
        return Panel(of, thick, (max(length, width), min(length, width)))
    return Stock("batten" if is_wood(of) else "flat bar", of, (width, thick), length)


def square_to(along: Array, thin: Sequence[float] | None) -> Array:
    """Unit direction of a bar's thickness: as given, else y (towards the viewer), else z; square to the bar."""
    wanted = np.asarray(thin if thin is not None else (0.0, 1.0, 0.0), dtype=float)
    if abs(float(wanted @ along)) > 0.99:
        wanted = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    wanted = wanted - float(wanted @ along) * along
    return np.asarray(wanted / np.linalg.norm(wanted))


def of_length(
    mass: float, start: Array, end: Array, thin: Array, section: tuple[float, float]
) -> MassProperties:
    """A straight length of flat stock.

    Args:
        mass: kg.
        start: (3,) m.
        end: (3,) m.
        thin: unit direction of its thickness, (3,).
        section: width and thickness, m.
    """
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    axes = np.array([along, np.cross(thin, along), thin])
    return MassProperties(mass, (start + end) / 2, cuboid(mass, axes, (length, *section)))


@dataclass(frozen=True, kw_only=True)
class Flat(Shape):
    """A bar between two points: width, thickness, m, and the unit direction of its thickness, (3,)."""

    word: str = "bar"
    width: float
    thick: float
    direction: Array

    def moved(self, turn: Array, shift: Array) -> Flat:
        return replace(super().moved(turn, shift), direction=turn @ self.direction)

    @property
    def radius(self) -> float:
        """Half of its lesser side, m."""
        return min(self.width, self.thick) / 2

    def part_of(self, mass: float, start: Array, end: Array) -> MassProperties:
        return of_length(mass, start, end, self.direction, (self.width, self.thick))

    def box(self) -> tuple[Array, Array, Array]:
        return long_box(self.path, self.direction, self.width, self.thick)

    def solids(self) -> tuple[Convex, ...]:
        """A box."""
        return (self.as_box(),)

    def section(self) -> Rectangle:
        """Its width along u."""
        return rectangle(self.width, self.thick)

    def thin(self, along: Array) -> Array:
        return self.direction

    def stronger(self) -> list[tuple[str, Section, float]]:
        """A second one beside it, thicker ones, wider ones."""
        width, thick = self.width, self.thick
        own = f"{width * 1e3:.4g} x {thick * 1e3:.4g} mm bar"
        sizes = [(width, t) for t in larger(thick, 4)] + [(w, thick) for w in larger(width, 3)]
        return [
            (f"a second {own} beside it, fastened to it", self.section(), 0.5),
            *((f"{w * 1e3:.4g} x {t * 1e3:.4g} mm bar", rectangle(w, t), 1.0) for w, t in sizes),
        ]

    def through(self, axis: Array) -> Through:
        """Its thickness, or its width where the fastener goes that way."""
        flat = not axis.any() or abs(float(self.direction @ axis)) > 0.7
        size = self.thick if flat else self.width
        return Through(False, size, size)

    @property
    def cut_from(self) -> Stock | Panel | None:
        """A batten or a flat bar; a strip of what is sold as sheets."""
        return sawn(self.material, (self.laid, self.width, self.thick))

    def drawn(self, finish: Finish) -> list[Surface]:
        line = self.path[1] - self.path[0]
        rows = frame_along(line, self.direction)
        size = np.array([np.linalg.norm(line), self.thick, self.width])
        return [box(size, finish).moved(rows.T, self.path.mean(axis=0))]
