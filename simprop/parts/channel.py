"""A channel: a web with a flange at each side."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, Through
from simprop.parts.profiled import OPEN, Profiled, profiled, wrinkles
from simprop.parts.stock import larger
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Extents3, Place, fault
from simprop.rules.profiles import channel


class Channel(PartKind):
    """A channel: width of its web x height of its flanges x wall; `thin` is where the flanges point.

    Its points run through its centre of area, between web and tips.
    """

    kind: Literal["channel"] = "channel"
    size: Extents3 = Field(alias="channel")
    of: MaterialName
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    thin: Direction | None = None

    @model_validator(mode="after")
    def _room(self) -> Channel:
        width, flange, wall = self.size
        if 2 * wall >= width or wall >= flange:
            allowed = "web x flange x wall, such as 40 x 20 x 3 mm"
            raise fault("the walls leave no room between the flanges", allowed)
        return self

    def place(self, at: Placement, read: Read, name: str) -> Profiled:
        width, flange, wall = self.size
        section = channel(width, flange, wall)
        x, y = section.rings[0][0]
        sizes = [(width, flange, t) for t in larger(wall, 3) if t < min(width / 3, flange / 2)]
        sizes += [(side, side / width * flange, wall) for side in larger(width, 3)]
        return profiled(
            self,
            self.of,
            (self.start, self.end),
            self.thin,
            section,
            at,
            name,
            word="channel",
            through=(Through(False, wall, wall), Through(True, width, wall)),
            walls=[
                (x, -x, y, y + wall),
                (x, x + wall, y, y + flange),
                (-x - wall, -x, y, y + flange),
            ],
            bigger=tuple(
                (f"{a * 1e3:.4g} x {b * 1e3:.4g} x {t * 1e3:.3g} mm channel", channel(a, b, t), 1.0)
                for a, b, t in sizes
            ),
        )

    def notes(self) -> tuple[str, ...]:
        """What isn't checked of an open section."""
        _, flange, wall = self.size
        return (OPEN.format("channel"), *wrinkles(self.of, flange, wall, 0.56))
