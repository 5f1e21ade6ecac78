"""A solid round rod."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simprop.catalog.load import material
from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, path_of
from simprop.parts.round import Round, along
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Place, Size


class Rod(PartKind):
    """A solid round rod."""

    kind: Literal["rod"] = "rod"
    diameter: Size = Field(alias="rod")
    of: MaterialName
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")

    def place(self, at: Placement, read: Read, name: str) -> Round:
        path = path_of(at, [self.start, self.end], name)
        return Round(
            name=name,
            word="rod",
            material=self.of,
            looks=self.looks or "plain",
            weight=along(path, self.diameter, 0.0, material(self.of).density, self.mass),
            path=path,
            outside=self.diameter,
            inside=0.0,
            weighed=0.0,
        )
