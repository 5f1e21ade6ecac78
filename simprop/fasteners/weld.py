"""A fillet weld: strength, and fatigue life."""

from __future__ import annotations

from math import ceil, inf, sqrt
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.bought import Bought, Grip
from simprop.catalog.load import material
from simprop.catalog.strengths import FatigueLine, strength_of
from simprop.checking.check import Check
from simprop.checking.context import Context
from simprop.checking.life import life_check
from simprop.checking.setting import least_factor
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.reading.fields import Size
from simprop.rules import welds


class Weld(Fastener):
    """A fillet weld in steel: its throat, and the length of the run."""

    kind: Literal["weld"] = "weld"
    throat: Size = Field(alias="weld")
    length: Size
    of: Annotated[str, known(material)] = "A36"
    ALONG_PIPE: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "a fine line or rust along the toe of the weld, each month",
        "nothing",
        "ground out and welded anew by who can when there is a crack",
    )

    @property
    def called(self) -> str:
        return f"{self.throat * 1e3:g} mm weld, {self.length * 1e3:g} mm long"

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        words = f"fillet weld in {self.of}, throat {1e3 * self.throat:g} mm, run {1e3 * self.length:g} mm"
        return (Bought("glue and welds", words, self.count, note="made, not bought: by somebody who welds"),)

    def checks(self, ctx: Context) -> list[Check]:
        """Stress in the throat, and its life."""
        metal = strength_of(self.of)
        if metal is None or metal.family != "metal" or metal.ultimate is None:
            return [ctx.not_computed("weld", f"welds are known for metals, not {self.of}")]
        limit, source = welds.fillet_load(1.0, 1.0, metal.ultimate), "EN 1993-1-8 (its 1.25 is in it)"
        if metal.name.startswith("6"):
            limit, source = welds.WELDED_6061_YIELD / sqrt(3), "6061-T6 beside a weld, from memory"
        tube = ctx.tube
        if tube is not None and self.length > 2 * tube.outside:
            turning = (4 * ctx.tilt + 2 * np.abs(ctx.torque)) / tube.outside
            assumed = ["a ring weld round the tube"]
        else:
            turning = 6 * (ctx.tilt + np.abs(ctx.torque)) / self.length
            assumed = ["a straight weld; moments by its length"]
        stress = (ctx.whole + turning) / (self.throat * self.length)
        factor = least_factor("metal", ctx.setting) / welds.GAMMA
        cycles = (welds.FATIGUE_STRESS / 2, welds.FATIGUE_CYCLES, welds.FATIGUE_SLOPE)
        return [
            ctx.against(
                "fillet weld", stress, limit, unit="Pa", factor=factor, assumed=assumed, source=source
            ),
            life_check(
                f"{ctx.joint}, weld",
                stress,
                line=FatigueLine(*cycles, False, False),
                ultimate=inf,
                setting=ctx.setting,
                step=ctx.step,
                assumed=["the size of the load taken as the stress history"],
                source="EN 1993-1-9 detail category 36, slope 3, from memory",
            ),
        ]

    def changes(self, ctx: Context) -> list[Change]:
        length = ceil(self.length * 2e3)
        return [self.change(f"a {length} mm long weld", ctx, length=length * 1e-3)]
