"""A flat sheet cut to an outline."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.load import material
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.prism import prism
from simprop.geometry.surface import Surface
from simprop.parts.part import Panel, PartKind, Read, Shape, Through
from simprop.reading.base import Record
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Place, Point, Size, fault
from simprop.rules.mass import MassProperties
from simprop.rules.polygons import clearance, crossing, figure, slabs
from simprop.rules.profiles import rounded_box

FLAT = 1e-4
"""How far points may lie off the plane of the others, m."""
OPEN_HOLE = 0.04
"""Holes wider than this are left open where gaps are looked for, m: a hand goes in. Smaller ones count as filled."""
NOTHING, IN_TURN = "the outline encloses nothing", "corners in turn round the sheet, not all on one line"
COVER, LEAST_COVER = 32, 0.003
"""Boxes that a sheet is taken for stand over a slanted edge by at most its size over this, or by this, m."""


class RoundHole(Record):
    """A round hole in a sheet."""

    at: Place
    diameter: Size


class Sheet(PartKind):
    """A flat sheet: its thickness, and the outline through which its middle plane is cut, point by point."""

    unchecked: ClassVar[str] = "sheets"
    kind: Literal["sheet"] = "sheet"
    thick: Size = Field(alias="sheet")
    of: MaterialName
    outline: tuple[Place, ...] = Field(min_length=3)
    holes: tuple[RoundHole, ...] = ()

    @model_validator(mode="after")
    def _can_be(self) -> Sheet:
        try:
            cut_from(
                [np.array(p[:3]) for p in self.outline],
                [(np.array(h.at[:3]), h.diameter) for h in self.holes],
            )
        except ValueError as error:
            said, allowed = error.args
            raise fault(said, allowed) from None
        return self

    def points(self) -> Iterator[Point]:
        """Of its outline, and the middles of its holes."""
        yield from self.outline
        yield from (hole.at for hole in self.holes)

    def place(self, at: Placement, read: Read, name: str) -> Plate:
        try:
            frame, ring, holes = cut_from(
                [at.stretched(p) for p in self.outline],
                [(at.stretched(hole.at), hole.diameter) for hole in self.holes],
            )
        except ValueError as error:
            raise AssemblyError(f"{name}: {error.args[0]}") from None
        origin, axes = frame[0], frame[1:]
        area, middle, inertia = plate(ring, holes)
        mass = self.mass or material(self.of).density * area * self.thick
        tensor = inertia * (mass / area) + mass * self.thick**2 / 12 * np.diag([1.0, 1.0, 0.0])
        centre = origin + middle @ axes[:2]
        return Plate(
            name=name,
            material=self.of,
            looks=self.looks or "plain",
            weight=MassProperties(mass, centre, axes.T @ tensor @ axes),
            path=centre[None, :],
            thick=self.thick,
            axes=axes,
            ring=ring - middle,
            holes=tuple((c - middle, d) for c, d in holes),
            area=area,
        )


def cut_from(
    outline: list[Array], holes: list[tuple[Array, float]]
) -> tuple[Array, Array, list[tuple[Array, float]]]:
    """The plane of an outline, and outline and holes in it.

    Args:
        outline: points, (3,) m.
        holes: middle (3,) and diameter of each, m.

    Returns:
        Origin, unit x (along the longest edge), y and normal as rows (4, 3); the outline counter-clockwise, (k, 2) m;
        middle (2,) and diameter of each hole, m.

    Raises:
        ValueError: with what can't be, and what is wanted.
    """
    points = np.array(outline)
    edges = np.roll(points, -1, axis=0) - points
    lengths = np.linalg.norm(edges, axis=1)
    if lengths.min() < 1e-6:
        raise ValueError("two points of the outline that follow each other are the same", "each corner once")
    _, sizes, ways = np.linalg.svd(points - points.mean(axis=0))
    if sizes[1] < 1e-4 * sizes[0]:
        raise ValueError(NOTHING, IN_TURN)
    normal = ways[2]
    spots = np.array([*points, *(c for c, _ in holes)]) - points.mean(axis=0)
    off = float(np.abs(spots @ normal).max())
    if off > FLAT:
        raise ValueError(
            f"its points lie up to {off * 1e3:.3g} mm off one plane", "a flat outline, holes in its plane"
        )
    if np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0) @ normal < 0:
        normal = -normal
    k = int(np.argmax(lengths))
    x = edges[k] - normal * float(edges[k] @ normal)
    x = x / np.linalg.norm(x)
    axes = np.array([x, np.cross(normal, x), normal])
    ring = (points - points[0]) @ axes[:2].T
    if crossing(ring) is not None:
        raise ValueError("its outline crosses itself", IN_TURN)
    if figure([ring]).area < 1e-6 * float(lengths.max()):
        raise ValueError(NOTHING, IN_TURN)
    drilled = [((c - points[0]) @ axes[:2].T, d) for c, d in holes]
    for i, (c, d) in enumerate(drilled):
        if clearance(ring, c) <= d / 2:
            raise ValueError(
                f"hole {i} of {d * 1e3:.4g} mm runs out of the outline", "holes within the outline"
            )
        if any(float(np.linalg.norm(c - e)) <= (d + f) / 2 for e, f in drilled[:i]):
            raise ValueError(f"hole {i} runs into another", "holes apart from each other")
    return np.vstack([points[0], axes]), ring, drilled


def plate(ring: Array, holes: list[tuple[Array, float]]) -> tuple[float, Array, Array]:
    """Area m^2, middle (2,) m, and inertia about it of a unit mass per area, (3, 3) m^4, of a flat thin plate.

    Args:
        ring: outline, counter-clockwise, (k, 2) m.
        holes: middle (2,) and diameter of each, m.

    Source: Green's theorem for the outline; pi d^4 / 64 and the parallel-axis theorem for holes.
    """
    whole = figure([ring])
    lost = [np.pi / 4 * d**2 for _, d in holes]
    area = whole.area - sum(lost)
    middle = (
        whole.area * whole.centre - sum((a * c for a, (c, _) in zip(lost, holes, strict=True)), np.zeros(2))
    ) / area
    arm = whole.centre - middle
    second = np.array([[whole.xx, whole.xy], [whole.xy, whole.yy]]) + whole.area * np.outer(arm, arm)
    for a, (c, d) in zip(lost, holes, strict=True):
        second = second - a * d**2 / 16 * np.eye(2) - a * np.outer(c - middle, c - middle)
    (xx, xy), (_, yy) = second
    return area, middle, np.array([[yy, -xy, 0.0], [-xy, xx, 0.0], [0.0, 0.0, xx + yy]])


@dataclass(frozen=True, kw_only=True)
class Plate(Shape):
    """A flat plate.

    Attributes:
        thick: m.
        axes: unit x, y and normal as rows, (3, 3).
        ring: outline from the centre of mass, counter-clockwise, (k, 2) m.
        holes: middle (2,) and diameter of each, m.
        area: m^2.
    """

    word: str = "sheet"
    thick: float
    axes: Array
    ring: Array
    holes: tuple[tuple[Array, float], ...]
    area: float

    def moved(self, turn: Array, shift: Array) -> Plate:
        return replace(super().moved(turn, shift), axes=self.axes @ turn.T)

    def _block(self, row: Array) -> Convex:
        x, y, normal = self.axes
        middle = self.path[0] + (row[0] + row[1]) / 2 * x + (row[2] + row[3]) / 2 * y
        sign = 1.0 if normal @ np.array([0.3, 1.0, 0.0]) >= 0 else -1.0
        turn = np.array([-sign * x, sign * normal, y]).T
        half = np.array([row[1] - row[0], self.thick, row[3] - row[2]]) / 2
        return Convex(start=middle, end=middle, half=half, turn=turn)

    def box(self) -> tuple[Array, Array, Array]:
        low, high = self.ring.min(axis=0), self.ring.max(axis=0)
        whole = self._block(np.array([low[0], high[0], low[1], high[1]]))
        return whole.start, whole.turn, whole.half

    def solids(self) -> tuple[Convex, ...]:
        """Boxes that cover it, a little more at slanted edges, small holes filled."""
        over = max(float(np.ptp(self.ring, axis=0).max()) / COVER, LEAST_COVER)
        wide = [(c, d / 2) for c, d in self.holes if d > OPEN_HOLE]
        return tuple(self._block(row) for row in slabs(self.ring, wide, over))

    def gap(self, point: Array) -> float:
        return max(min(solid.distance(point) for solid in self.solids()), 0.0)

    def through(self, axis: Array) -> Through:
        """Its thickness, or its extent where the fastener goes in from its edge."""
        if not axis.any() or abs(float(self.axes[2] @ axis)) > 0.7:
            return Through(False, self.thick, self.thick)
        size = float(np.ptp(self.ring @ (self.axes[:2] @ axis)))
        return Through(False, size, size)

    @property
    def cut_from(self) -> Panel:
        length, width = sorted((float(v) for v in np.ptp(self.ring, axis=0)), reverse=True)
        corners = len(self.ring) == 4 and abs(figure([self.ring]).area - length * width) < 1e-9
        return Panel(self.material, self.thick, (length, width), "rectangle" if corners else "outline")

    @property
    def rim(self) -> Array:
        return np.asarray(self.path[0] + self.ring @ self.axes[:2])

    @property
    def drilled(self) -> tuple[tuple[Array, Array, float], ...]:
        x, y, normal = self.axes
        return tuple((self.path[0] + c[0] * x + c[1] * y, normal, d) for c, d in self.holes)

    def face(self, way: Array) -> float:
        """Its flat side and its rim."""
        flat = self.axes[:2] @ way
        edges = np.roll(self.ring, -1, axis=0) - self.ring
        rim = float(np.abs(edges[:, 0] * flat[1] - edges[:, 1] * flat[0]).sum()) / 2
        return self.area * abs(float(self.axes[2] @ way)) + rim * self.thick

    def drawn(self, finish: Finish) -> list[Surface]:
        rings = [self.ring, *(c + rounded_box(d, d, d / 2)[::-1] for c, d in self.holes)]
        return [
            prism(rings, self.path[0] - self.thick / 2 * self.axes[2], self.axes, self.thick, finish, grain=0)
        ]
