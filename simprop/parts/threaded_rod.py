"""Threaded rod."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.load import material, table
from simprop.catalog.threads import thread
from simprop.geometry.arrays import Array
from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, Stock, path_of
from simprop.parts.round import ALIKE, Round, along, of_length
from simprop.reading.catalogue import MaterialName, known
from simprop.reading.fields import Place
from simprop.rules.mass import MassProperties
from simprop.rules.sections import RoundSection, Section, tube
from simprop.rules.threads import NOTCH, mean_diameter, stress_diameter


class ThreadedRod(PartKind):
    """A rod threaded all along; ``threaded_rod: M8`` names a coarse thread of the catalogue."""

    kind: Literal["threaded_rod"] = "threaded_rod"
    size: Annotated[str, known(thread)] = Field(alias="threaded_rod")
    of: MaterialName = "steel"
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")

    def place(self, at: Placement, read: Read, name: str) -> Threaded:
        path = path_of(at, [self.start, self.end], name)
        data = thread(self.size)
        mean = mean_diameter(data.diameter, data.pitch)
        return Threaded(
            name=name,
            word="threaded rod",
            material=self.of,
            looks=self.looks or "plain",
            weight=along(path, mean, 0.0, material(self.of).density, self.mass),
            path=path,
            outside=data.diameter,
            inside=0.0,
            weighed=mean,
            core=stress_diameter(data.diameter, data.pitch, data.depth),
        )


@dataclass(frozen=True, kw_only=True)
class Threaded(Round):
    """A rod under its thread: drawn by its outside, weighed as a plain rod of diameter `weighed`, as strong as one of
    `core`, m."""

    notch: ClassVar[float] = NOTCH
    core: float

    def part_of(self, mass: float, start: Array, end: Array) -> MassProperties:
        return of_length(mass, start, end, self.weighed, 0.0)

    @property
    def cut_from(self) -> Stock:
        sizes = map(thread, table("threads"))
        name = next(size.name for size in sizes if abs(size.diameter - self.outside) < ALIKE)
        return Stock("threaded rod", self.material, (), self.laid, name)

    def section(self) -> RoundSection:
        """By its stress area."""
        return tube(self.core)

    def stronger(self) -> list[tuple[str, Section, float]]:
        """Thicker ones of the catalogue."""
        sizes = sorted((thread(name) for name in table("threads")), key=lambda t: t.diameter)
        inch = not np.isclose(self.outside * 1e3, round(self.outside * 1e3))
        return [
            (f"{t.name} threaded rod", tube(stress_diameter(t.diameter, t.pitch, t.depth)), 1.0)
            for t in sizes
            if t.diameter > self.outside + 1e-6 and t.name.startswith("M") != inch
        ]
