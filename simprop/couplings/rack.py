"""A rack and its pinion."""

from __future__ import annotations

from math import cos, inf, tan
from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.bought import Bought
from simprop.checking.check import Check
from simprop.couplings.base import COUPLINGS, PARALLEL, Asked, Meshing, Side, Teeth, Tie, turning
from simprop.couplings.bearing import teeth_bear, unknown_teeth
from simprop.couplings.gears import PRESSURE, Pressure
from simprop.couplings.looks import Drawn, rack, wheel
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Direction, Size, fault

MODULE = 0.0015
"""Module of a pinion that states none, m; for the picture alone (assumed)."""


@COUPLINGS.add
class Rack(Meshing):
    """A pinion on the first joint, which turns, and a rack on the second, which slides.

    Attributes:
        pitch_diameter: of the pinion, m; or
        teeth: of the pinion, with
        module: pitch diameter over number of teeth, m; also beside a pitch diameter, for the strength of the teeth.
        side: direction from the pinion to its rack; None: towards the slide's joint.
        pressure_angle: rad.
        face: width of the teeth, m; None: their strength isn't known.
        of: material of the teeth; None: likewise.
    """

    kind: Literal["rack"] = "rack"
    joints: Pair = Field(alias="rack")
    pitch_diameter: Size | None = None
    teeth: Teeth | None = None
    module: Size | None = None
    side: Direction | None = None
    pressure_angle: Pressure = PRESSURE
    face: Size | None = None
    of: MaterialName | None = None

    @model_validator(mode="after")
    def _sized(self) -> Rack:
        by_teeth = self.teeth is not None and self.module is not None
        if (self.pitch_diameter is None) != by_teeth or (self.teeth is not None and not by_teeth):
            raise fault("a pinion has one size", "pitch_diameter: 30 mm, or teeth: 20 with module: 1.5 mm")
        return self

    @property
    def radius(self) -> float:
        """Pitch radius of the pinion, m."""
        if self.pitch_diameter is not None:
            return self.pitch_diameter / 2
        return (self.teeth or 0) * (self.module or 0.0) / 2

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        module = "" if self.module is None else f", module {1e3 * self.module:g} mm"
        teeth = "" if self.teeth is None else f", {self.teeth} teeth"
        note = "" if module else "module not stated; that of pinion and rack is the same"
        pinion = f"pinion, pitch diameter {2e3 * self.radius:.4g} mm{teeth}{module}"
        return (
            Bought("gears, belts and chains", pinion, 1, note=note),
            Bought(
                "gears, belts and chains", f"rack{module}, as long as its travel and the pinion's width", 1
            ),
        )

    def tie(self, first: Side, second: Side) -> Tie:
        """Source: as for a spur gear whose mate is infinitely large."""
        turning(first)
        if second.motion != "slide":
            raise ValueError(f"joint {second.joint!r} doesn't slide")
        if abs(float(first.way @ second.way)) > PARALLEL:
            raise ValueError("a rack slides square to the axis of its pinion")
        out = second.point - first.point if self.side is None else np.array(self.side)
        out = out - first.way * float(out @ first.way) - second.way * float(out @ second.way)
        far = float(np.linalg.norm(out))
        if far < 1e-4:
            raise ValueError("the pinion doesn't know on which side its rack is (side: -z)")
        out = out / far
        return Tie(first.point + self.radius * out, second.way, -out, share=tan(self.pressure_angle))

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """A toothed wheel, and a row of teeth as long as two turns of it (for the picture alone)."""
        out = -tie.spread
        teeth = self.teeth or max(8, round(2 * self.radius / MODULE))
        pinion = wheel(tie.point - self.radius * out, first.way, out, self.radius, teeth)
        row = rack(tie.point, second.way, out, 2 * self.radius / teeth, 2 * teeth)
        return Drawn([pinion], [row])

    def checks(self, asked: Asked) -> list[Check]:
        if self.module is None:
            reason = "it doesn't say how large its teeth are (`module: 1.5 mm`)"
            return [unknown_teeth(asked, reason)]
        return teeth_bear(
            asked, [(2 * self.radius / self.module, self.module), (inf, self.module)], self.face, self.of
        )

    def size(self, force: Array) -> Array:
        """Push of the teeth along the line of action."""
        return np.abs(force) / cos(self.pressure_angle)
