"""Fittings where pipes meet: tee, cross, elbow, corner, cap, coupling, reducer, flange, elbow set to any angle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.load import material, pipe
from simprop.catalog.pipe_fittings import PLATE, SWIVEL, Sized, clamped, moulded, size_of
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.solids import cylinder, sphere
from simprop.geometry.surface import Surface
from simprop.geometry.sweep import swept
from simprop.parts.part import PartKind, Read, Shape, SocketWay
from simprop.parts.pipe_ends import PipeEnd, ways_to
from simprop.reading.catalogue import known
from simprop.reading.fields import Direction, Place, Size, fault
from simprop.rules.mass import MassProperties, about, combined, hollow_cylinder

ANGLES: dict[str, tuple[float, ...] | None] = {
    "tee": (90.0, 90.0, 180.0),
    "cross": (90.0, 90.0, 90.0, 90.0, 180.0, 180.0),
    "corner": (90.0, 90.0, 90.0),
    "elbow": (90.0,),
    "elbow 45": (135.0,),
    "coupling": (180.0,),
    "reducer": (180.0,),
    "adjustable elbow": None,
    "cap": (),
    "flange": (),
}
"""Angles between the ways of each form, deg; None: any between two."""
FLANGE = 3.0
"""Diameter of a flange's plate over that of the pipe (assumed)."""
SLACK = 3.0
"""So far from its angles a fitting's ways may be drawn, deg."""
LEAST = 1e-6
"""A fitting weighs no less than this, kg."""


class Fitting(PartKind):
    """A fitting where pipes meet: ``{fitting: tee, at: 0 0 500 mm}`` takes the pipes of its body drawn to there.

    Attributes:
        form: what it is.
        at: where the middle lines of its pipes meet; of a cap the end of the pipe, of a flange the wall.
        size: of PVC pipe, such as 1/2 in PVC; None: that of the pipes drawn to there.
        clamped: outside diameter of a tube that it is clamped on with set screws, m.
        ways: directions from there into its pipes; None: those of the pipes drawn to there.
        socket: how its sockets hold; None: glued (assumed).
        bored: its stops are bored or reamed away, so that a pipe runs through from side to side uncut.
    """

    joins: ClassVar[bool] = True
    kind: Literal["fitting"] = "fitting"
    form: Literal[
        "tee",
        "cross",
        "corner",
        "elbow",
        "elbow 45",
        "coupling",
        "reducer",
        "adjustable elbow",
        "cap",
        "flange",
    ] = Field(alias="fitting")
    at: Place
    size: Annotated[str, known(pipe)] | None = None
    clamped: Size | None = None
    ways: tuple[Direction, ...] | None = None
    socket: Literal["glued", "screwed", "dry"] | None = None
    bored: Annotated[bool, Field(strict=True)] = False

    @model_validator(mode="after")
    def _one_size(self) -> Fitting:
        if self.size is not None and self.clamped is not None:
            raise fault(
                "size is that of a PVC pipe, clamped a diameter: it is one of them", "size: 1/2 in PVC"
            )
        if self.ways is not None and not fits(self.form, self.ways):
            raise fault(f"a {self.form} has no such ways", wanted(self.form))
        return self

    def joined(self, own: Sequence[Shape], others: Sequence[Shape]) -> Joined:
        """With the ways of the pipes of its body that are drawn to it, or of other bodies where those don't do."""
        at = np.array(self.at[:3])
        ends = [end for shape in own for end in ways_to(shape, at)]
        if self.ways is not None:
            ends = [self._given(np.asarray(way), ends) for way in self.ways]
        elif not fits(self.form, [end.way for end in ends]):
            ends += [end for shape in others for end in ways_to(shape, at)]
        ways = [end.way for end in ends]
        if not ways or not fits(self.form, ways):
            said = "one way of pipe comes" if len(ways) == 1 else f"{len(ways)} ways of pipe come"
            raise AssemblyError(f"{said}, as drawn, to where this {self.form} is; it has {wanted(self.form)}")
        only = self.sized if len(ends) == 1 else None
        sizes = [only or size_of(end.outside) for end in ends]
        found = []
        for end, size in zip(ends, sizes, strict=True):
            take = takes(self.form, end.way, size, list(zip(ways, sizes, strict=True)), self.bored)
            found.append((tuple(end.way.tolist()), size, end.heavy * max(take - max(end.begins, 0.0), 0.0)))
        fields = {name: getattr(self, name) for name in Fitting.model_fields}
        return Joined.model_construct(**fields, found=tuple(found))

    def _given(self, way: Array, drawn: Sequence[PipeEnd]) -> PipeEnd:
        """A way that the rig states, with the pipe that is drawn along it where there is one."""
        along = [end for end in drawn if float(end.way @ way) > 0.98]
        if along:
            return along[0]
        if self.sized is None:
            raise AssemblyError("which pipes it takes isn't known: say `size`, or draw pipes to where it is")
        return PipeEnd(way, self.sized.outside, 0.0, 0.0)

    @property
    def sized(self) -> Sized | None:
        """One of its ways, by its own words; None where it says no size."""
        if self.size is not None:
            return moulded(self.size)
        return None if self.clamped is None else clamped(self.clamped)

    def place(self, at: Placement, read: Read, name: str) -> Hub:
        size = self.sized
        if self.ways is None or size is None:
            raise AssemblyError(f"{name}: say `ways` and `size`, or draw pipes to where it is")
        return self.made(at, name, [(np.asarray(way), size, 0.0) for way in self.ways])

    def made(self, at: Placement, name: str, ways: Sequence[tuple[Array, Sized, float]]) -> Hub:
        """The fitting as a part.

        Args:
            at: placement of its body.
            name: label.
            ways: direction, size, and the mass of the pipe that is drawn where its body is, kg, of each.
        """
        centre, first = at.stretched(self.at), ways[0][1]
        legs = tuple(
            Leg(way, takes(self.form, way, size, [(w, one) for w, one, _ in ways], self.bored), size)
            for way, size, _ in ways
        )
        density = material(first.material).density
        solids = [solid for leg in legs for solid in leg.solids(centre, density)]
        if self.form in ("flange", "cap"):
            wide, thick = plate(self.form, first)
            mass = density * np.pi / 4 * wide**2 * thick
            middle = centre - ways[0][0] * (0.0 if self.form == "flange" else thick) + ways[0][0] * thick / 2
            moments = hollow_cylinder(mass, wide / 2, 0.0, thick)
            solids.append(MassProperties(mass, middle, about(ways[0][0], *moments)))
        whole = combined(solids)
        net = max((self.mass or whole.mass) - sum(mass for _, _, mass in ways), LEAST)
        return Hub(
            name=name,
            material=first.material,
            word=f"{first.nominal} {self.form}".strip(),
            weight=MassProperties(net, whole.centre, whole.inertia * (net / whole.mass)),
            path=centre[None, :],
            form=self.form,
            legs=legs,
            socket=self.socket,
            bored=self.bored,
        )


class Joined(Fitting):
    """A fitting with the ways of the pipes that are drawn to it; made when a rig is read.

    Attributes:
        found: direction, size, and mass of the pipe drawn where the fitting's body is, kg, of each way.
    """

    found: tuple[tuple[Any, Sized, float], ...]

    def place(self, at: Placement, read: Read, name: str) -> Hub:
        return self.made(at, name, [(np.asarray(way), size, mass) for way, size, mass in self.found])


def fits(form: str, ways: Sequence[Sequence[float] | Array]) -> bool:
    """Whether a fitting of a form has such ways.

    Example:
        >>> fits("tee", [(1, 0, 0), (-1, 0, 0), (0, 0, 1)]), fits("elbow", [(1, 0, 0), (-1, 0, 0)])
        (True, False)
    """
    angles = ANGLES[form]
    if angles is None:
        return len(ways) == 2 and float(np.dot(ways[0], ways[1])) < 0.9
    count = {0: 1, 1: 2, 3: 3, 6: 4}[len(angles)]
    if len(ways) != count:
        return False
    found = sorted(np.degrees(np.arccos(np.clip(np.dot(a, b), -1, 1))) for a, b in combinations(ways, 2))
    return bool(np.allclose(found, angles, atol=SLACK, rtol=0.0))


def wanted(form: str) -> str:
    """The ways of a form, in words."""
    angles = ANGLES[form]
    if angles is None:
        return "two ways at any angle"
    if not angles:
        return "one way, into the pipe"
    words = ", ".join(f"{angle:.0f}" for angle in angles)
    return f"{ {1: 2, 3: 3, 6: 4}[len(angles)] } ways with {words} deg between them"


def takes(form: str, way: Array, size: Sized, ways: Sequence[tuple[Array, Sized]], bored: bool) -> float:
    """How far the end of a pipe stays from the middle of a fitting, m; 0 where it runs through.

    Args:
        form: of the fitting.
        way: direction into the pipe.
        size: of that way.
        ways: all of them; the largest sets how far the bottoms of all sockets are from the middle.
        bored: its stops are bored away.
    """
    straight = form != "coupling" and any(float(way @ other) < -0.98 for other, _ in ways)
    if form == "cap" or (straight and form != "reducer" and (bored or not size.nominal)):
        return 0.0
    if form == "flange":
        return PLATE
    if form == "adjustable elbow":
        return SWIVEL * size.outside
    key = {"elbow 45": "half", "coupling": "stop", "reducer": "stop"}.get(form, "centre")
    return max(one.takes[key] for _, one in ways)


def plate(form: str, size: Sized) -> tuple[float, float]:
    """Diameter and thickness of what closes a cap or spreads a flange, m."""
    if form == "flange":
        return FLANGE * size.outside, PLATE
    return size.hub, (size.hub - size.mouth) / 2


@dataclass(frozen=True)
class Leg:
    """One way of a fitting: its unit direction (3,), how far a pipe's end stays from the middle, m, and its size."""

    way: Array
    take: float
    size: Sized

    @property
    def reach(self) -> float:
        """Of its mouth from the middle, m."""
        return max(self.take, 0.0) + self.size.depth

    def solids(self, centre: Array, density: float) -> list[MassProperties]:
        """Its body and its socket as tubes about its middle line."""
        size, found = self.size, []
        for begin, end, wide, hole in (
            (0.0, self.take, size.body, size.bore),
            (self.take, self.reach, size.hub, size.mouth),
        ):
            length = end - begin
            if length > 0:
                mass = density * np.pi / 4 * (wide**2 - hole**2) * length
                moments = hollow_cylinder(mass, wide / 2, hole / 2, length)
                found.append(
                    MassProperties(mass, centre + self.way * (begin + end) / 2, about(self.way, *moments))
                )
        return found


@dataclass(frozen=True, kw_only=True)
class Hub(Shape):
    """A fitting about the point where its pipes meet."""

    bolted: ClassVar[bool] = False
    form: str
    legs: tuple[Leg, ...]
    socket: str | None
    bored: bool

    def moved(self, turn: Array, shift: Array) -> Hub:
        legs = tuple(replace(leg, way=turn @ leg.way) for leg in self.legs)
        return replace(super().moved(turn, shift), legs=legs)

    @property
    def asked(self) -> str:
        """By the nominal sizes of its PVC sockets, or the tube that it is clamped on."""
        sizes = list(dict.fromkeys(leg.size.nominal for leg in self.legs))
        if not sizes[0]:
            return f"{self.form} for {1e3 * self.legs[0].size.outside:.4g} mm tube, clamped by set screws"
        return f"{self.form} for {' and '.join(sizes)} {self.material} pipe"

    @property
    def radius(self) -> float:
        """Of a ball about its middle, as which it holds its pipes together, m."""
        return max(leg.size.hub for leg in self.legs) / 2

    @property
    def knot(self) -> tuple[Array, float]:
        return self.path[0], 0.45 * max(leg.size.outside for leg in self.legs)

    @property
    def sockets(self) -> tuple[SocketWay, ...]:
        return tuple(
            SocketWay(leg.way, leg.reach, leg.size.nominal, self.socket)
            for leg in self.legs
            if not (self.bored and leg.take == 0.0 and self.form != "cap")
        )

    def takes(self, way: Array) -> float | None:
        found = [leg.take for leg in self.legs if float(leg.way @ way) > 0.98]
        return found[0] if found else None

    def solids(self) -> tuple[Convex, ...]:
        """A stick for each way."""
        at = self.path[0]
        return tuple(
            Convex(start=at, end=at + leg.way * leg.reach, radius=leg.size.hub / 2) for leg in self.legs
        )

    def box(self) -> tuple[Array, Array, Array]:
        ends = np.array([self.path[0], *(self.path[0] + leg.way * leg.reach for leg in self.legs)])
        local = ends @ self.turn
        low, high = local.min(axis=0) - self.radius, local.max(axis=0) + self.radius
        return self.turn @ ((low + high) / 2), self.turn, (high - low) / 2

    def face(self, way: Array) -> float:
        """Its sticks across the wind."""
        return float(
            sum(leg.reach * leg.size.hub * np.linalg.norm(np.cross(leg.way, way)) for leg in self.legs)
        )

    def drawn(self, finish: Finish) -> list[Surface]:
        at, first = self.path[0], self.legs[0].size
        red, green, blue = finish.colour
        own = replace(finish, colour=(0.86 * red, 0.87 * green, 0.89 * blue))
        found = []
        if self.form not in ("cap", "flange", "coupling"):
            found.append(sphere(max(leg.size.body for leg in self.legs), own, 22).moved(np.eye(3), at))
        for leg in self.legs:
            size, neck, mouth = leg.size, at + leg.way * leg.take, at + leg.way * leg.reach
            rim = mouth - leg.way * 0.2 * size.depth
            if leg.take > 1e-4:
                found.append(swept(np.array([at, neck]), size.body, 0.0, own, 24))
            found.append(swept(np.array([neck, mouth]), size.hub, size.mouth, own, 24))
            found.append(swept(np.array([rim, mouth]), 1.06 * size.hub, size.mouth, own, 24))
        if self.form in ("cap", "flange"):
            wide, thick = plate(self.form, first)
            way = self.legs[0].way
            start = at if self.form == "flange" else at - way * thick
            found.append(cylinder(start, start + way * thick, wide, own, 28))
        return found
