"""A thin bar of which only the weight is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.surface import Surface
from simprop.geometry.sweep import swept
from simprop.parts.part import PartKind, Read, Shape, long_box, path_of
from simprop.parts.round import of_length
from simprop.reading.fields import Mass, Place

DRAWN = 0.008
"""Diameter at which it is drawn, m."""


class Slender(PartKind):
    """A thin straight bar known only by its weighed mass (no inertia about its own line)."""

    kind: Literal["slender"] = "slender"
    weight: Mass = Field(alias="slender")
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")

    def place(self, at: Placement, read: Read, name: str) -> Line:
        """A line with mass."""
        path = path_of(at, [self.start, self.end], name)
        return Line(
            name=name,
            material="",
            looks=self.looks or "plain",
            weight=of_length(self.weight, path[0], path[1], 0.0, 0.0),
            path=path,
        )


@dataclass(frozen=True, kw_only=True)
class Line(Shape):
    """A line with mass, drawn thin."""

    bolted: ClassVar[bool] = False
    no_section: ClassVar[str] = (
        "a slender part has a weight but no section: describe it as a pipe, rod or bar"
    )
    word: str = "slender"
    diameter: float = DRAWN

    @property
    def radius(self) -> float:
        """As drawn, m."""
        return self.diameter / 2

    def box(self) -> tuple[Array, Array, Array]:
        return long_box(self.path, None, self.diameter, self.diameter)

    def face(self, way: Array) -> float:
        """Its length across the wind times the diameter at which it is drawn."""
        return float(np.linalg.norm(np.cross(self.path[1] - self.path[0], way)) * self.diameter)

    def drawn(self, finish: Finish) -> list[Surface]:
        return [swept(self.path, self.diameter, 0.0, finish, 16 if self.diameter < 0.008 else 24)]
