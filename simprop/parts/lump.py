"""A mass at a point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from pydantic import Field

from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.placement import Placement
from simprop.parts.ball import Sphere, standing
from simprop.parts.looks import USUAL
from simprop.parts.part import PartKind, Read, Shape
from simprop.reading.fields import Direction, Mass, Moments, Place
from simprop.rules.mass import MassProperties

DRAWN = 0.016
"""Diameter at which a lump is drawn, m."""


class Lump(PartKind):
    """A mass at a point, with its own inertia about x, y, z of the start pose if it is known.

    Attributes:
        inertia: moments about x, y, z through the point, kg*m^2; None: it has none.
        up: where the top of its looks points in the start pose, as the fingers of a hand that reaches out.
    """

    kind: Literal["lump"] = "lump"
    weight: Mass = Field(alias="lump")
    at: Place
    inertia: Moments | None = None
    up: Direction = (0.0, 0.0, 1.0)

    def place(self, at: Placement, read: Read, name: str) -> Mote:
        centre = at.stretched(self.at)
        inertia = np.diag(self.inertia) if self.inertia is not None else np.zeros((3, 3))
        return Mote(
            name=name,
            material="",
            looks=self.looks or "plain",
            weight=MassProperties(self.weight, centre, inertia),
            path=centre[None, :],
            diameter=DRAWN,
            turn=standing(np.array(self.up)),
        )


@dataclass(frozen=True, kw_only=True)
class Mote(Sphere):
    """A mass at a point, as a small ball; dressed at the usual size of its looks."""

    word: str = "lump"

    def box(self) -> tuple[Array, Array, Array]:
        """Its own, or that of its looks."""
        middle, turn, half = super().box()
        return middle, turn, np.array(USUAL[self.looks]) / 2 if self.looks in USUAL else half

    def solids(self) -> tuple[Convex, ...]:
        """A ball, or the box of its looks."""
        return (self.as_box(),) if self.looks in USUAL else super().solids()

    def face(self, way: Array) -> float:
        """A circle, or the face of the box of its looks."""
        return Shape.face(self, way) if self.looks in USUAL else super().face(way)
