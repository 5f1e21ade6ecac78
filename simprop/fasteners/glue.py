"""Glue on wood: shear and prying of a glue line."""

from __future__ import annotations

from math import ceil
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context
from simprop.checking.setting import least_factor
from simprop.fasteners.base import Care, Change, Fastener
from simprop.geometry.arrays import Array
from simprop.reading.fields import Area
from simprop.rules import glue

SPARE = 1.05
"""How much more than just enough a change of the glued area aims at. Assumed."""


class Glue(Fastener):
    """Glue on wood: which surfaces meet, and how large they are."""

    kind: Literal["glue"] = "glue"
    grain: Literal["side to side", "end to side", "end to end"] = Field(alias="glue")
    area: Area
    wet: bool = False
    CARE: ClassVar[Care] = Care(
        "a dark line or a gap along the joint",
        "nothing",
        "the joint when it has opened: clean it to bare wood and glue again",
    )

    @property
    def called(self) -> str:
        return f"glue, {self.grain}"

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        words = f"wood glue{', waterproof' if self.wet else ''}, {self.grain}, {1e4 * self.area:.3g} cm2"
        return (Bought("glue and welds", words, self.count),)

    def checks(self, ctx: Context) -> list[Check]:
        """Shear and prying on a square of the stated area."""
        end = self.grain != "side to side"
        return [
            ctx.against(
                f"glue, {self.grain}",
                self._demand(ctx),
                glue.glue_load(self.area, self.grain, self.wet),
                unit="N",
                factor=least_factor("wood", ctx.setting),
                assumed=["a square glue line; share of end grain" if end else "a square glue line"],
                source="USDA Wood Handbook, shear of softwood, from memory; statics",
            )
        ]

    def changes(self, ctx: Context) -> list[Change]:
        """As much more glue as the load asks for; prying, which a larger area also eases, is left as it is."""
        need = float(self._demand(ctx).max()) * least_factor("wood", ctx.setting) * SPARE
        area = ceil(1e4 * self.area * need / glue.glue_load(self.area, self.grain, self.wet))
        return [self.change(f"{area} cm^2 of glue, or screws as well", ctx, area=area * 1e-4)]

    def _demand(self, ctx: Context) -> Array:
        moment = np.sqrt(ctx.torque**2 + ctx.tilt**2)
        return np.asarray(ctx.whole + 6 * moment / np.sqrt(self.area))
