"""A square or rectangular tube."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from simprop.catalog.load import material
from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, Through
from simprop.parts.profiled import Profiled, profiled, wrinkles
from simprop.parts.stock import larger
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Extents3, Length, Place, fault
from simprop.rules.profiles import box_tube

ROLLED = 5000.0
"""Metals heavier than this are bent from strip and welded; lighter stuff is pressed through a die, kg/m^3."""
CORNERS = 2.0
"""Outside radius of the corners of tube bent from strip over its wall: EN 10219-2, walls up to 6 mm."""


class SquareTube(PartKind):
    """A square or rectangular tube: width x height x wall, from point to point; `thin` is along its height."""

    kind: Literal["square_tube"] = "square_tube"
    size: Extents3 = Field(alias="square_tube")
    of: MaterialName
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    thin: Direction | None = None
    corners: Length | None = None

    @model_validator(mode="after")
    def _hollow(self) -> SquareTube:
        width, height, wall = self.size
        least = min(width, height)
        if 2 * wall >= least:
            raise fault(
                "the wall leaves no inside", f"a wall under {least * 500:.4g} mm: width x height x wall"
            )
        if self.corners is not None and not 0.0 <= self.corners <= least / 2:
            raise fault("no such corners", f"an outside radius of 0 mm to {least * 500:.4g} mm")
        return self

    def place(self, at: Placement, read: Read, name: str) -> Profiled:
        width, height, wall = self.size
        corner = self._corner()
        sizes = [(width, height, t) for t in larger(wall, 3) if t < min(width, height) / 3]
        least = min(width, height)
        sizes += [(side / least * width, side / least * height, wall) for side in larger(least, 3)]
        return profiled(
            self,
            self.of,
            (self.start, self.end),
            self.thin,
            box_tube(width, height, wall, corner),
            at,
            name,
            word="square tube" if width == height else "rectangular tube",
            through=(Through(True, height, wall), Through(True, width, wall)),
            walls=[(-width / 2, width / 2, -height / 2, height / 2)],
            bigger=tuple(
                (
                    f"{w * 1e3:.4g} x {h * 1e3:.4g} x {t * 1e3:.3g} mm tube",
                    box_tube(w, h, t, min(corner * t / wall, w / 2, h / 2)),
                    1.0,
                )
                for w, h, t in sizes
            ),
        )

    def _corner(self) -> float:
        if self.corners is not None:
            return self.corners
        width, height, wall = self.size
        rolled = material(self.of).density > ROLLED
        return min(CORNERS * wall, width / 2, height / 2) if rolled else 0.0

    def notes(self) -> tuple[str, ...]:
        """How its corners are taken, and whether its walls are too thin."""
        width, height, wall = self.size
        said = wrinkles(self.of, max(width, height) - 2 * wall, wall, 1.40)
        if self.corners is not None:
            return said
        words = (
            "round outside by twice the wall, as of tube bent from strip" if self._corner() > 0 else "sharp"
        )
        return (f"corners of the tube taken as {words} (assumed; say `corners`)", *said)
