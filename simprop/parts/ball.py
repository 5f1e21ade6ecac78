"""A ball."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.load import material
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.solids import sphere
from simprop.geometry.surface import Surface, frame_along
from simprop.parts.part import PartKind, Read, Shape
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Place, Size, fault
from simprop.rules import mass as masses
from simprop.rules.mass import MassProperties


class Ball(PartKind):
    """A ball: solid with `of`, a thin shell with `of` and `wall`, or simply weighed with `mass`.

    Attributes:
        up: where the top of its looks points in the start pose, as of a head that lies down.
    """

    unchecked: ClassVar[str] = "balls"
    kind: Literal["ball"] = "ball"
    diameter: Size = Field(alias="ball")
    of: MaterialName | None = None
    wall: Size | None = None
    at: Place
    up: Direction = (0.0, 0.0, 1.0)

    @model_validator(mode="after")
    def _weight(self) -> Ball:
        if self.of is None and self.mass is None:
            raise fault("a ball says what it is of, or its mass", "of: foam, or mass: 0.25 kg")
        return self

    def place(self, at: Placement, read: Read, name: str) -> Sphere:
        """A solid or hollow ball; a thin shell where only its weight is known."""
        outer = self.diameter / 2
        inner = outer - self.wall if self.wall is not None else 0.0
        if inner < 0:
            raise AssemblyError(f"{name}: the wall is thicker than the ball's radius")
        volume = 4 / 3 * np.pi * (outer**3 - inner**3)
        mass = self.mass or material(self.of or "").density * volume
        moment = masses.ball(mass, outer, outer if self.of is None else inner)
        centre = at.stretched(self.at)
        return Sphere(
            name=name,
            material=self.of or "",
            looks=self.looks or "plain",
            weight=MassProperties(mass, centre, moment * np.eye(3)),
            path=centre[None, :],
            diameter=self.diameter,
            turn=standing(np.array(self.up)),
        )

    def notes(self) -> tuple[str, ...]:
        """That it was taken for a shell."""
        return ("weighed ball taken for a thin shell (assumed)",) if self.of is None else ()


def standing(up: Array) -> Array:
    """Axes (right, away, up) as columns, (3, 3), of what was drawn upright, facing the viewer, and points up elsewhere.

    Args:
        up: unit direction in which its top points, (3,).
    """
    top, away, left = frame_along(up, np.array([0.0, 1.0, 0.0]))
    return np.stack([-left, away, top], axis=1)


@dataclass(frozen=True, kw_only=True)
class Sphere(Shape):
    """Something round about a point: a ball, or a mass of which no more is known. Diameter in m."""

    bolted: ClassVar[bool] = False
    word: str = "ball"
    diameter: float

    @property
    def radius(self) -> float:
        """Half of its diameter, m."""
        return self.diameter / 2

    def box(self) -> tuple[Array, Array, Array]:
        return self.path[0], self.turn, np.full(3, self.diameter / 2)

    def face(self, way: Array) -> float:
        return float(np.pi / 4 * self.diameter**2)

    def drawn(self, finish: Finish) -> list[Surface]:
        return [sphere(self.diameter, finish).moved(np.eye(3), self.path[0])]
