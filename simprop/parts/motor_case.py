"""A mounted motor as a part of the body that carries it: gearbox, can and shaft, with its weight."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal

import numpy as np

from simprop.catalog.builds import Built
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.finish import Finish, finish_of
from simprop.geometry.placement import Placement
from simprop.geometry.solids import box, cylinder
from simprop.geometry.surface import Surface
from simprop.parts.part import FLANGE, Mounting, PartKind, Read, Shape
from simprop.reading.fields import Mass, Point, Vector
from simprop.rules.mass import MassProperties, about, combined, cuboid, hollow_cylinder


class MotorCase(PartKind):
    """A mounted motor, put into its body by the motor's `mount`; no rig names it as a part.

    Attributes:
        motor: name of the motor.
        of: what a person calls its class.
        weight: kg.
        build: how it is built.
        at: where its shaft comes out of it.
        shaft: unit direction that the shaft points.
        can: unit direction that the can lies, square to the shaft.
        hold: what holds it: straps about its can, screws through its face, or a bracket.
        foot: of its bracket; None: below the middle of the gearbox.
    """

    kind: Literal["motor_case"] = "motor_case"
    motor: str
    of: str
    weight: Mass
    build: Built
    at: Point
    shaft: Vector
    can: Vector
    hold: Literal["can", "face", "foot"]
    foot: Point | None = None

    def place(self, at: Placement, read: Read, name: str) -> Case:
        """Gearbox and can, of one density."""
        build = self.build
        turn = np.array([self.shaft, self.can, np.cross(self.shaft, self.can)]).T
        face = at.stretched(self.at)
        middle, start, end = _places(build, turn, face)
        parts = [_box_of(build), *([_can_of(build)] if build.can[1] else [])]
        whole = sum(parts)
        weights = [_gearbox(self.weight * parts[0] / whole, build, turn, middle)]
        if build.can[1]:
            can = self.weight * parts[1] / whole
            way = (end - start) / build.can[1]
            moments = hollow_cylinder(can, build.can[0] / 2, 0.0, build.can[1])
            weights.append(MassProperties(can, (start + end) / 2, about(way, *moments)))
        return Case(
            name=name,
            material="",
            weight=combined(weights),
            path=face[None, :],
            turn=turn,
            build=build,
            mounting=self._mounting(turn, middle, start, end, at),
        )

    def _mounting(self, turn: Array, middle: Array, start: Array, end: Array, at: Placement) -> Mounting:
        if self.hold == "face":
            return Mounting(self.motor, at.stretched(self.at), turn[:, 0], FLANGE / 2)
        if self.hold == "foot":
            foot = middle if self.foot is None else at.stretched(self.foot)
            return Mounting(self.motor, foot, np.zeros(3), FLANGE / 2)
        if not self.build.can[1]:
            return Mounting(self.motor, middle, turn[:, 0], self.build.gearbox[2] / 2)
        way = (end - start) / self.build.can[1]
        return Mounting(self.motor, (start + end) / 2, way, self.build.can[0] / 2)


def _box_of(build: Built) -> float:
    """Volume of the gearbox, m^3."""
    length, along, across = build.gearbox
    return length * (np.pi / 4 * across**2 if build.round else along * across)


def _can_of(build: Built) -> float:
    """Volume of the can, m^3."""
    return float(np.pi / 4 * build.can[0] ** 2 * build.can[1])


def _places(build: Built, turn: Array, face: Array) -> tuple[Array, Array, Array]:
    """Middle of the gearbox, and where the can begins and ends, (3,) m each."""
    shaft, can = turn[:, 0], turn[:, 1]
    length, along, _ = build.gearbox
    middle = face - shaft * length / 2 + can * build.aside
    start = middle + can * along / 2 if build.across else middle - shaft * length / 2
    return middle, start, start + (can if build.across else -shaft) * build.can[1]


def _gearbox(mass: float, build: Built, turn: Array, middle: Array) -> MassProperties:
    if build.round:
        moments = hollow_cylinder(mass, build.gearbox[2] / 2, 0.0, build.gearbox[0])
        return MassProperties(mass, middle, about(turn[:, 0], *moments))
    return MassProperties(mass, middle, cuboid(mass, turn.T, build.gearbox))


@dataclass(frozen=True, kw_only=True)
class Case(Shape):
    """A motor: its path is where the shaft comes out; the columns of its turn are shaft, can and across."""

    bolted: ClassVar[bool] = False
    word: str = "motor"
    build: Built

    def moved(self, turn: Array, shift: Array) -> Case:
        found = super().moved(turn, shift)
        held = self.mounting
        if held is None:
            return found
        return replace(found, mounting=replace(held, place=turn @ held.place + shift, way=turn @ held.way))

    def _solid(self) -> tuple[Array, Array, Array]:
        return _places(self.build, self.turn, self.path[0])

    def solids(self) -> tuple[Convex, ...]:
        """The gearbox as a box, the can as a box about it."""
        middle, start, end = self._solid()
        found = [self._boxed(middle, np.array(self.build.gearbox) / 2)]
        if self.build.can[1]:
            half = np.full(3, self.build.can[0] / 2)
            half[1 if self.build.across else 0] = self.build.can[1] / 2
            found.append(self._boxed((start + end) / 2, half))
        return tuple(found)

    def _boxed(self, middle: Array, half: Array) -> Convex:
        return Convex(start=middle, end=middle, half=half, turn=self.turn)

    def box(self) -> tuple[Array, Array, Array]:
        """About gearbox and can."""
        solids = self.solids()
        lows = np.min([self.turn.T @ s.start - s.half for s in solids], axis=0)
        highs = np.max([self.turn.T @ s.start + s.half for s in solids], axis=0)
        return self.turn @ ((lows + highs) / 2), self.turn, (highs - lows) / 2

    def gap(self, point: Array) -> float:
        """How far a point is outside of it, its shaft counted, m."""
        end = self.path[0] + self.turn[:, 0] * self.build.out
        shaft = Convex(start=self.path[0], end=end, radius=self.build.shaft / 2)
        return min(super().gap(point), max(0.0, shaft.distance(point)))

    def drawn(self, finish: Finish) -> list[Surface]:
        build, (middle, start, end) = self.build, self._solid()
        shaft, face = self.turn[:, 0], self.path[0]
        cast, steel = finish_of("aluminium"), finish_of("steel")
        length, _, across = build.gearbox
        if build.round:
            half = shaft * length / 2
            found = [cylinder(middle - half, middle + half, across, cast, 28)]
        else:
            found = [box(np.array(build.gearbox), cast, 0.004).moved(self.turn, middle)]
        if build.can[1]:
            found.append(cylinder(start, end, build.can[0], steel, 28))
        found.append(cylinder(face, face + shaft * build.out, build.shaft, steel, 14))
        about_it = middle + shaft * length / 2 if build.round else face
        for angle in 2 * np.pi * (np.arange(build.holes) + 0.5) / build.holes:
            way = np.cos(angle) * self.turn[:, 1] + np.sin(angle) * self.turn[:, 2]
            lug = about_it + way * build.circle / 2
            found.append(cylinder(lug - shaft * FLANGE, lug + shaft * 2e-4, 2.2 * build.hole, cast, 14))
            found.append(cylinder(lug, lug + shaft * 4e-4, build.hole, finish_of("rubber"), 10))
        return found
