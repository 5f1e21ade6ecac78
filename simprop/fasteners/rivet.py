"""Blind rivets: shear and tension of the worst of a row."""

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
from simprop.rules import rivets


class Rivet(Fastener):
    """Blind rivets: ``{rivet: 1/8 in aluminium, count: 4, spacing: 30 mm}``."""

    kind: Literal["rivet"] = "rivet"
    size: Annotated[str, known(fasteners.rivet)] = Field(alias="rivet")
    PIVOT: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "a rivet that turns, a black ring round its head",
        "nothing; a loose rivet stays loose",
        "drill out and set a new one, the next size if its hole is worn",
    )

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        walls = "" if grip.unknown else f", grip {1e3 * sum(grip.thick):.1f} mm"
        return (
            Bought(
                "screws", f"blind {fasteners.rivet(self.size).name}{walls}", self.count, note=grip.unknown
            ),
        )

    def checks(self, ctx: Context) -> list[Check]:
        rivet = fasteners.rivet(self.size)
        name = f"{self.count} {rivet.name}s"
        load = ctx.row(self.count, self.spacing)
        if load is None:
            return [ctx.not_computed(name, "say `count` and `spacing`: one rivet can't stop turning")]
        limits = (rivet.shear, rivet.tension)
        use = np.array([rivets.rivet_use(float(s), float(t), *limits) for s, t in zip(*load, strict=True)])
        factor, unit = least_factor("metal", ctx.setting), "of its strength"
        found = [ctx.against(name, use, 1.0, unit=unit, factor=factor, source=rivet.source)]
        if ctx.moving:
            reason = (
                "a blind rivet as a pivot clamps, wears and works loose: use a bolt with a nylon-insert nut"
            )
            found.append(ctx.warning("rivet", reason))
        return found

    def changes(self, ctx: Context) -> list[Change]:
        larger = fasteners.next_size(self.size.removesuffix(" rivet") + " rivet", "rivet")
        found = []
        if larger:
            found.append(self.change(f"{larger.removesuffix(' rivet')} rivets", ctx, size=larger))
        return found + self.more(ctx)
