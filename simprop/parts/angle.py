"""An angle: two legs at right angles."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, Through
from simprop.parts.profiled import OPEN, Profiled, profiled, wrinkles
from simprop.parts.stock import larger
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Extents3, Place, fault
from simprop.rules.profiles import angle


class Angle(PartKind):
    """An angle: first leg x second leg x wall; `thin` is where the second leg points, square to the first.

    Seen against its run, with the second leg up, the first points right. Its points run through its centre of area.
    """

    kind: Literal["angle"] = "angle"
    size: Extents3 = Field(alias="angle")
    of: MaterialName
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    thin: Direction | None = None

    @model_validator(mode="after")
    def _legs(self) -> Angle:
        first, second, wall = self.size
        if wall >= min(first, second):
            raise fault("the wall is no thinner than a leg", "leg x leg x wall, such as 25 x 25 x 3 mm")
        return self

    def place(self, at: Placement, read: Read, name: str) -> Profiled:
        first, second, wall = self.size
        section = angle(first, second, wall)
        x, y = section.rings[0][0]
        sizes = [(first, second, t) for t in larger(wall, 3) if t < min(first, second) / 2]
        least = min(first, second)
        sizes += [(side / least * first, side / least * second, wall) for side in larger(least, 3)]
        return profiled(
            self,
            self.of,
            (self.start, self.end),
            self.thin,
            section,
            at,
            name,
            word="angle",
            through=(Through(False, wall, wall), Through(False, wall, wall)),
            walls=[(x, x + first, y, y + wall), (x, x + wall, y, y + second)],
            bigger=tuple(
                (f"{a * 1e3:.4g} x {b * 1e3:.4g} x {t * 1e3:.3g} mm angle", angle(a, b, t), 1.0)
                for a, b, t in sizes
            ),
        )

    def notes(self) -> tuple[str, ...]:
        """What isn't checked of an open section."""
        first, second, wall = self.size
        return (OPEN.format("angle"), *wrinkles(self.of, max(first, second), wall, 0.45))
