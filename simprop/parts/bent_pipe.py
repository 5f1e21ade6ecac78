"""A pipe bent with heat, by its bends: corners with radii, or lengths and turns as it lies on the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import tan
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.load import material
from simprop.errors import AssemblyError
from simprop.geometry.arcs import STEP, Course, Straight, bent_course, course_points
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.surface import Surface
from simprop.geometry.sweep import swept
from simprop.parts.part import PartKind, Read
from simprop.parts.pipe import PipeSize, PipeSpec, measures
from simprop.parts.round import BEND_RADIUS, Round, of_length
from simprop.reading.base import Record
from simprop.reading.fields import Angle, Direction, Place, Size, fault
from simprop.rules.mass import MassProperties, arc_mass, combined
from simprop.rules.stress import elbow_factor

TIGHT = 1.0
"""A bend of a middle line tighter than so many diameters kinks, however it is filled (assumed)."""


class Bend(Record):
    """One bend of a pipe as it is laid out: a straight length, then a turn.

    Attributes:
        ahead: straight length before the bend begins, m.
        turn: by how much it turns, rad.
        towards: which way, as a direction that it turns towards.
        radius: of the middle line, m; None: that of the pipe.
    """

    ahead: Size
    turn: Angle
    towards: Direction
    radius: Size | None = None


class BentPipe(PartKind):
    """A pipe bent with heat.

    By corners: ``{bent_pipe: 1/2 in PVC, through: [0 0 0 mm, 0 0 400 mm, 300 0 400 mm], radius: 100 mm}``. Or as it is
    laid out: ``{bent_pipe: 1/2 in PVC, from: 0 0 0 mm, along: z, turns: [{ahead: 300 mm, turn: 90 deg, towards: x}],
    end: 200 mm}``.

    Attributes:
        spec: the pipe.
        through: its ends, and between them where its straight lengths would meet.
        radius: of the middle line in its bends, m; None: 4.5 diameters (4 inside).
        radii: of each bend, where they differ, m.
        start: where it begins, where it is laid out.
        along: which way it sets out.
        turns: straight lengths and bends in their order.
        end: straight length after the last bend, m.
    """

    kind: Literal["bent_pipe"] = "bent_pipe"
    spec: PipeSpec = Field(alias="bent_pipe")
    through: Annotated[tuple[Place, ...], Field(min_length=3)] | None = None
    radius: Size | None = None
    radii: tuple[Size, ...] | None = None
    start: Place | None = Field(None, alias="from")
    along: Direction | None = None
    turns: Annotated[tuple[Bend, ...], Field(min_length=1)] | None = None
    end: Size | None = None

    @model_validator(mode="after")
    def _one_way(self) -> BentPipe:
        laid = (self.start, self.along, self.turns, self.end)
        if self.through is not None:
            if any(value is not None for value in laid):
                raise fault("either by corners or laid out", "through, or from, along, turns and end")
            if self.radii is not None and len(self.radii) != len(self.through) - 2:
                raise fault("one radius a bend", f"{len(self.through) - 2} of them")
        elif any(value is None for value in laid) or self.radii is not None:
            raise fault(
                "a bent pipe goes through corners, or is laid out", "through, or from, along, turns and end"
            )
        return self

    def place(self, at: Placement, read: Read, name: str) -> Bent:
        outside = measures(self.spec, name)[0]
        usual = self.radius or BEND_RADIUS * outside
        corners, radii = self._corners(at, usual, name)
        if min(radii) < TIGHT * outside:
            raise AssemblyError(
                f"{name}: a bend of {min(radii) * 1e3:.0f} mm kinks a pipe of {outside * 1e3:.1f} mm "
                f"(allowed: from {TIGHT * outside * 1e3:.0f} mm)"
            )
        if float(np.linalg.norm(np.diff(corners, axis=0), axis=1).min()) < 1e-6:
            raise AssemblyError(f"{name}: two of its points are the same")
        try:
            course = bent_course(corners, radii)
        except ValueError as error:
            raise AssemblyError(f"{name}: {error}") from None
        return bent_along(course, radii, self.spec, name, looks=self.looks, mass=self.mass)

    def _corners(self, at: Placement, usual: float, name: str) -> tuple[Array, list[float]]:
        """Where its straight lengths meet, (k, 3) m, and the radius of each bend, m."""
        if self.through is not None:
            corners = np.array([at.stretched(p) for p in self.through])
            return corners, list(self.radii or [usual] * (len(corners) - 2))
        bends, end = self.turns or (), self.end or 0.0
        way, points, radii = np.asarray(self.along), [at.stretched(self.start or ())], []
        kept = 0.0
        for i, bend in enumerate(bends):
            side = np.asarray(bend.towards) - float(np.dot(bend.towards, way)) * way
            size = float(np.linalg.norm(side))
            if size < 0.1 or not 0.0 < bend.turn < 3.05:
                raise AssemblyError(
                    f"{name}: bend {i + 1} turns towards a direction across the pipe, by 0 to 175 deg"
                )
            radius = bend.radius or usual
            cut = radius * tan(bend.turn / 2)
            points.append(points[-1] + way * (kept + bend.ahead + cut))
            way = np.cos(bend.turn) * way + np.sin(bend.turn) * side / size
            radii.append(radius)
            kept = cut
        points.append(points[-1] + way * (kept + end))
        return np.array(points), radii

    def notes(self) -> tuple[str, ...]:
        """The radius where it isn't said."""
        known = self.radius or self.radii or (self.turns and all(bend.radius for bend in self.turns))
        return () if known else (f"bent with heat to {BEND_RADIUS:g} diameters (assumed; `radius` says)",)


def fine_step(outside: float, radius: float) -> float:
    """Angle of a step at which an arc looks round, rad: half a diameter of the pipe, at most 10 deg."""
    return min(STEP, 0.5 * outside / radius)


@dataclass(frozen=True, kw_only=True)
class Bent(Round):
    """A bent pipe: its arcs are chords wherever straight pieces are asked for.

    Attributes:
        tightest: least radius of its middle line, m.
        along: its length along that, m.
        fine: its middle line in steps as it is drawn, (k, 3) m.
    """

    tightest: float
    along: float
    fine: Array

    def moved(self, turn: Array, shift: Array) -> Bent:
        return replace(super().moved(turn, shift), fine=self.fine @ turn.T + shift)

    def piece(self, start: Array, end: Array) -> Bent:
        return replace(super().piece(start, end), fine=np.array([start, end]))

    @property
    def laid(self) -> float:
        return self.along

    def corner(self) -> tuple[float, str]:
        """Its tightest bend."""
        factor = elbow_factor(self.outside, (self.outside - self.inside) / 2, self.tightest)
        return factor, f"bent with heat to {self.tightest * 1e3:.0f} mm, filled so that it stays round"

    def drawn(self, finish: Finish) -> list[Surface]:
        return [swept(self.fine, self.outside, self.inside, finish, 24)]


def bent_along(
    course: Course,
    radii: Sequence[float],
    spec: str | PipeSize,
    name: str,
    *,
    looks: str | None,
    mass: float | None,
    word: str = "pipe",
) -> Bent:
    """A pipe along straight lengths and arcs.

    Args:
        course: its middle line.
        radii: of its bends, m.
        spec: the pipe.
        name: its place in the rig.
        looks: how it is dressed; None: plain.
        mass: as weighed, kg; None: from the density.
        word: what it is called.
    """
    outside, wall, average, of = measures(spec, name)
    weighed = outside - 2 * average
    return Bent(
        name=name,
        material=of,
        word=word,
        looks=looks or "plain",
        weight=course_mass(course, outside, weighed, material(of).density, mass),
        path=course_points(course),
        outside=outside,
        inside=outside - 2 * wall,
        weighed=weighed,
        tightest=min(radii),
        along=sum(part.length for part in course),
        fine=course_points(course, fine_step(outside, max(radii))),
    )


def course_mass(
    course: Course, outside: float, inside: float, density: float, weighed: float | None
) -> MassProperties:
    """Round stock along straight lengths and arcs.

    Args:
        course: its middle line.
        outside: diameter, m.
        inside: diameter, m.
        density: kg/m^3.
        weighed: mass as weighed, kg; None: from the density.

    Source: Pappus; see `simprop.rules.mass.arc_mass`.
    """
    total = sum(part.length for part in course)
    mass = weighed or density * np.pi / 4 * (outside**2 - inside**2) * total
    spread = (outside**2 + inside**2) / 16
    found = []
    for part in course:
        own = mass * part.length / total
        if isinstance(part, Straight):
            found.append(of_length(own, part.start, part.end, outside, inside))
        else:
            found.append(arc_mass(own, part, spread, spread))
    return combined(found)
