"""A bent tube."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read
from simprop.parts.pipe import PipeSpec, piped
from simprop.parts.round import Round
from simprop.reading.fields import Place


class Tube(PartKind):
    """A pipe bent through three or more points."""

    kind: Literal["tube"] = "tube"
    spec: PipeSpec = Field(alias="tube")
    through: tuple[Place, ...] = Field(min_length=2)

    def place(self, at: Placement, read: Read, name: str) -> Round:
        return piped(self, self.spec, list(self.through), at, name)

    def notes(self) -> tuple[str, ...]:
        """That corners aren't rounded."""
        words = "bent tube weighed as straight pieces, corners not rounded"
        return (words,) if len(self.through) > 2 else ()
