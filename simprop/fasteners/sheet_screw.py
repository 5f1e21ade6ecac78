"""Sheet-metal screws: sideways load and pull-out of thin walls, linear."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context
from simprop.checking.setting import least_factor, weakened
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.rules import sheet_screws


class SheetScrew(Fastener):
    """Sheet-metal screws through one thin wall into another."""

    kind: Literal["sheet_screw"] = "sheet_screw"
    size: Annotated[str, known(fasteners.sheet_screw)] = Field(alias="sheet_screw")
    PIVOT: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "a screw that spins in its hole",
        "by hand, after the first night, then each month",
        "with the next size when it spins",
    )

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        name = fasteners.sheet_screw(self.size).name.removesuffix(" sheet")
        note = "length: through both walls (not stated)"
        return (Bought("screws", f"sheet-metal screw {name}", self.count, note=note),)

    def checks(self, ctx: Context) -> list[Check]:
        """Through the second body's wall into the first's."""
        screw = fasteners.sheet_screw(self.size)
        name = f"{self.count} {screw.name} screws"
        into, under = ctx.parts
        if into is None or under is None or into.strength is None or under.strength is None:
            reason = "both walls must be drawn, of materials with a strength"
            return [ctx.not_computed(name, reason)]
        over, inner = under.strength.ultimate, into.strength.ultimate
        load = ctx.row(self.count, self.spacing)
        weak = weakened(into.strength, ctx.setting)
        if over is None or inner is None or weak is None:
            return [ctx.not_computed(name, "no tensile strength of a wall at this temperature")]
        if load is None:
            return [ctx.not_computed(name, "say `count` and `spacing`")]
        shear = weak * sheet_screws.sideways(under.wall, into.wall, screw.diameter, over, inner)
        pull = weak * sheet_screws.pull_out(into.wall, screw.diameter, inner)
        plastic = "plastic" in (into.strength.family, under.strength.family)
        return [
            ctx.against(
                name,
                load[0] / shear + load[1] / pull,
                1.0,
                unit="of its strength",
                factor=max(sheet_screws.SAFETY, least_factor("plastic", ctx.setting)),
                assumed=["form for steel borrowed for plastic"] if plastic else [],
                source="AISI S100, from memory",
            )
        ]

    def changes(self, ctx: Context) -> list[Change]:
        return self.more(ctx)
