"""A straight pipe."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from simprop.catalog.load import material, pipe
from simprop.errors import AssemblyError
from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, path_of
from simprop.parts.round import Round, along
from simprop.reading.base import INLINE, NAME_OR_INLINE, TEXT, Record
from simprop.reading.catalogue import MaterialName, known
from simprop.reading.fields import Place, Point, Size


class PipeSize(Record):
    """A pipe described inline instead of by a catalogue name."""

    outside: Size
    wall: Size
    of: MaterialName


PipeSpec = Annotated[Annotated[str, known(pipe), TEXT] | Annotated[PipeSize, INLINE], NAME_OR_INLINE]


class Pipe(PartKind):
    """A straight pipe between two points; ``pipe: 1/2 in PVC`` names a catalogue size."""

    kind: Literal["pipe"] = "pipe"
    spec: PipeSpec = Field(alias="pipe")
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")

    def place(self, at: Placement, read: Read, name: str) -> Round:
        """A tube, weighed by its average wall."""
        return piped(self, self.spec, [self.start, self.end], at, name)


def piped(part: PartKind, spec: str | PipeSize, points: list[Point], at: Placement, name: str) -> Round:
    """A pipe through points.

    Raises:
        AssemblyError: where its wall leaves no inside, or two points are the same.
    """
    outside, wall, average, of = measures(spec, name)
    path = path_of(at, points, name)
    weighed = outside - 2 * average
    return Round(
        name=name,
        material=of,
        looks=part.looks or "plain",
        weight=along(path, outside, weighed, material(of).density, part.mass),
        path=path,
        outside=outside,
        inside=outside - 2 * wall,
        weighed=weighed,
    )


def measures(spec: str | PipeSize, name: str) -> tuple[float, float, float, str]:
    """Outside diameter, least wall, average wall, m, and material of a pipe.

    Raises:
        AssemblyError: where its wall leaves no inside.
    """
    if isinstance(spec, str):
        data = pipe(spec)
        found = data.outside, data.wall, data.average_wall, data.material
    else:
        found = spec.outside, spec.wall, spec.wall, spec.of
    if found[0] <= 2 * found[1]:
        raise AssemblyError(f"{name}: the wall is thicker than the pipe's radius")
    return found
