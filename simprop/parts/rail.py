"""Curved rocker rails: an arc of board or pipe, whose outer edge may roll on the ground."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.load import material
from simprop.errors import AssemblyError
from simprop.geometry.arcs import Arc
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.prism import prism
from simprop.geometry.surface import Surface
from simprop.parts.bar import Flat
from simprop.parts.bent_pipe import TIGHT, Bent, bent_along
from simprop.parts.part import Panel, PartKind, Read, Rolls
from simprop.parts.pipe import PipeSpec, measures
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import AboveZero, Angle, Direction, Extents2, Place, Size, fault
from simprop.rules.mass import arc_mass
from simprop.rules.stress import curved_factor

WIDEST = radians(170.0)
"""A rail goes no further to both sides of its middle."""
FINE = 0.05
"""Its outline is drawn in steps of so much of its angle, rad."""


class Rail(PartKind):
    """What any rail says.

    Attributes:
        centre: of the circle that it rolls by.
        radius: of its outer edge, which touches the ground, m.
        axis: of the circle, square to the plane of the rail.
        middle: direction from the centre to the middle of the rail.
        spread: how far it goes to both sides of that, rad.
    """

    centre: Place
    radius: Size
    axis: Direction
    middle: Direction = (0.0, 0.0, -1.0)
    spread: Annotated[Angle, AboveZero]

    @model_validator(mode="after")
    def _square(self) -> Rail:
        if self.spread > WIDEST:
            raise fault("a rail ends before it meets itself", "a spread up to 170 deg to both sides")
        if float(np.linalg.norm(np.cross(self.axis, self.middle))) < 1e-6:
            raise fault("the middle of a rail lies square to its axis", "middle: -z for an axis along x or y")
        return self

    @property
    @abstractmethod
    def inward(self) -> tuple[float, float]:
        """Size along the radius and along the axis, m."""

    @property
    def rolls(self) -> Rolls:
        axis, middle = self._ways
        return Rolls(
            self.centre,
            self.radius,
            (float(axis[0]), float(axis[1]), float(axis[2])),
            (float(middle[0]), float(middle[1]), float(middle[2])),
            self.spread,
            self.inward[1],
        )

    @property
    def _ways(self) -> tuple[Array, Array]:
        axis, middle = np.array(self.axis), np.array(self.middle)
        middle = middle - axis * float(middle @ axis)
        return axis, middle / np.linalg.norm(middle)

    def arc(self, at: Placement, name: str) -> Arc:
        """Its middle line.

        Raises:
            AssemblyError: where it is deeper than its circle.
        """
        axis, middle = self._ways
        line = self.radius - self.inward[0] / 2
        if line <= self.inward[0] / 2:
            raise AssemblyError(f"{name}: the rail is deeper than its circle")
        aside = np.cross(axis, middle)
        start = middle * np.cos(self.spread) - aside * np.sin(self.spread)
        return Arc(at.stretched(self.centre), line, start, np.cross(axis, start), 2 * self.spread)


class BoardRail(Rail):
    """A rail sawn from board: ``{rail: 60 x 18 mm, of: plywood, centre: 0 0 900 mm, radius: 900 mm, axis: y, spread: 24
    deg}``, its depth along the radius first.
    """

    kind: Literal["rail"] = "rail"
    section: Extents2 = Field(alias="rail")
    of: MaterialName

    @property
    def inward(self) -> tuple[float, float]:
        return self.section

    def place(self, at: Placement, read: Read, name: str) -> ArcBoard:
        arc, (depth, thick) = self.arc(at, name), self.section
        mass = self.mass or material(self.of).density * depth * thick * arc.length
        return ArcBoard(
            name=name,
            material=self.of,
            word="rail",
            looks=self.looks or "plain",
            weight=arc_mass(mass, arc, depth**2 / 12, thick**2 / 12),
            path=arc.points(),
            width=depth,
            thick=thick,
            direction=self._ways[0],
            bow=arc.radius,
            along=arc.length,
            sawn=arc,
        )

    def notes(self) -> tuple[str, ...]:
        return ("sawn to an arc: solid wood is weak where its grain runs out at the edge, plywood is not",)


class PipeRail(Rail):
    """A rail bent from pipe: ``{pipe_rail: 1 in PVC, centre: 0 0 900 mm, radius: 900 mm, axis: y, spread: 24 deg}``."""

    kind: Literal["pipe_rail"] = "pipe_rail"
    spec: PipeSpec = Field(alias="pipe_rail")

    @property
    def inward(self) -> tuple[float, float]:
        outside = measures(self.spec, "rail")[0]
        return outside, outside

    def place(self, at: Placement, read: Read, name: str) -> Bent:
        arc, outside = self.arc(at, name), self.inward[0]
        if arc.radius < TIGHT * outside:
            raise AssemblyError(f"{name}: a pipe of {outside * 1e3:.1f} mm kinks in so tight a rail")
        return bent_along(
            (arc,), [arc.radius], self.spec, name, looks=self.looks, mass=self.mass, word="rail"
        )


@dataclass(frozen=True, kw_only=True)
class ArcBoard(Flat):
    """A board sawn to an arc: chords wherever straight pieces are asked for.

    Attributes:
        bow: radius of its middle line, m.
        along: its length along that, m.
        sawn: its middle line as it was placed first, before it was turned and shifted.
    """

    bow: float
    along: float
    sawn: Arc

    @property
    def laid(self) -> float:
        return self.along

    @property
    def cut_from(self) -> Panel:
        """The board that it is sawn out of."""
        sizes = sorted(2 * self.box()[2])
        return Panel(self.material, self.thick, (float(sizes[2]), float(sizes[1])), "outline")

    def piece(self, start: Array, end: Array) -> Flat:  # type: ignore[override]
        """A straight piece of board."""
        share = float(np.linalg.norm(end - start)) / self.along
        return Flat(
            name=self.name,
            word=self.word,
            material=self.material,
            looks=self.looks,
            weight=self.part_of(self.mass * share, start, end),
            path=np.array([start, end]),
            turn=self.turn,
            width=self.width,
            thick=self.thick,
            direction=self.direction,
        )

    def corner(self) -> tuple[float, str]:
        """A curved beam's inner edge bears more than a straight one's."""
        return curved_factor(self.width, self.bow), "curved beam of rectangular section"

    def box(self) -> tuple[Array, Array, Array]:
        rows = self._frame
        edges = np.concatenate(self._edges()) @ rows.T
        low, high = edges.min(axis=0), edges.max(axis=0)
        half = np.append((high - low)[:2] / 2, self.thick / 2)
        turn = rows[[0, 2, 1]].T
        return rows.T @ ((low + high) / 2), turn, half[[0, 2, 1]]

    def solids(self) -> tuple[Convex, ...]:
        """A box for each chord."""
        found = []
        for start, end in zip(self.path[:-1], self.path[1:], strict=True):
            along = (end - start) / np.linalg.norm(end - start)
            turn = np.array([np.cross(self.direction, along), self.direction, along]).T
            half = np.array([self.width, self.thick, float(np.linalg.norm(end - start))]) / 2
            middle = (start + end) / 2
            found.append(Convex(start=middle, end=middle, half=half, turn=turn))
        return tuple(found)

    @property
    def _frame(self) -> Array:
        """Unit directions as rows: along it in its middle, across, and its axis, (3, 3)."""
        half = self.sawn.angle / 2
        along = self.turn @ (self.sawn.ahead * cos(half) - self.sawn.start * sin(half))
        return np.array([along, np.cross(self.direction, along), self.direction])

    def _edges(self) -> tuple[Array, Array]:
        """Its outer and its inner edge in the middle of its thickness, (k, 3) m each."""
        points = self.sawn.points(FINE) - self.sawn.centre
        out = points / self.bow
        centre = self.path[0] - self.turn @ points[0]
        half = self.width / 2
        outer, inner = (centre + (points + side * half * out) @ self.turn.T for side in (1, -1))
        return outer, inner

    def drawn(self, finish: Finish) -> list[Surface]:
        outer, inner = self._edges()
        rows = self._frame
        origin = self.path[0]
        ring = (np.concatenate([outer, inner[::-1]]) - origin) @ rows[:2].T
        area = float(np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1]))
        ring = ring if area > 0 else ring[::-1]
        return [prism([ring], origin - self.thick / 2 * rows[2], rows, self.thick, finish, grain=0)]
