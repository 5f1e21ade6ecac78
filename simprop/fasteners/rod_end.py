"""A rod end or ball link: load while it swings, and tilt."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context
from simprop.checking.setting import least_factor
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.rules import rod_ends


class RodEnd(Fastener):
    """A rod end or ball link."""

    kind: Literal["rod_end"] = "rod_end"
    size: Annotated[str, known(fasteners.rod_end)] = Field(alias="rod_end")
    PIVOT: ClassVar[bool] = True
    EYED: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "play in the ball, a bent thread",
        "its lock nut, after the first night, then each week",
        "when its play can be felt, and before each season where it swings all night",
    )

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        name = fasteners.rod_end(self.size).name
        note = "the bolt or stud for its eye isn't stated; its own length comes off the rod that it is screwed to"
        return (Bought("hubs, pins and rod ends", name, self.count, wears="its ball wears", note=note),)

    def checks(self, ctx: Context) -> list[Check]:
        part = fasteners.rod_end(self.size)
        aimed = bool(ctx.axis.any())
        force = ctx.whole if aimed else ctx.sideways
        limit = rod_ends.rod_end_load(part.static, part.swinging, ctx.moving)
        factor = least_factor("metal", ctx.setting)
        assumed = [f"{a} of the {part.name}" for a in part.assumed]
        load = ctx.against(
            part.name, force, limit, unit="N", factor=factor, assumed=assumed, source=part.source
        )
        name = f"{part.name}: tilt"
        if not aimed:
            reason = "say `along`: the direction of the ball's bolt in the start pose"
            return [load, ctx.not_computed(name, reason)]
        tilt = np.arccos(np.clip((ctx.swing @ ctx.axis) @ ctx.axis, -1.0, 1.0))
        assumed = ["square to its bolt in the start pose"]
        source = part.source
        return [
            load,
            ctx.against(name, tilt, part.tilt, unit="rad", factor=1.0, assumed=assumed, source=source),
        ]

    def changes(self, ctx: Context) -> list[Change]:
        if not self.size.upper().startswith("M6"):
            return []
        return [self.change("an M8 rod end", ctx, size="M8 rod end")]
