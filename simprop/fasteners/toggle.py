"""A spring toggle in a thin shell: pull, reversal, and bearing of the shell."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context, peak
from simprop.checking.setting import least_factor, weakened
from simprop.fasteners.base import Care, Fastener, known
from simprop.rules import toggles, tube_holes


class Toggle(Fastener):
    """A spring toggle through a cap or another thin shell; the value is its bolt."""

    kind: Literal["toggle"] = "toggle"
    size: Annotated[str, known(fasteners.bolt)] = Field(alias="toggle")
    CARE: ClassVar[Care] = Care(
        "a bolt that stands loose, a shell that is dented in",
        "snug and no more: the shell gives",
        "the shell's place when it is cracked; move a hand's breadth on",
    )

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        note = "length: shell and bracket, and room for the wings behind"
        return (Bought("fittings and clamps", f"spring toggle with bolt {self.size}", self.count, note=note),)

    def checks(self, ctx: Context) -> list[Check]:
        name, size = "spring toggle", max(peak(ctx.along)[0], 1e-12)
        reversing = bool(ctx.along.max() > 0.05 * size and ctx.along.min() < -0.05 * size)
        how = "moving pull" if reversing else "steady pull"
        found = [
            ctx.against(
                f"{name}: pull",
                np.abs(ctx.along),
                toggles.toggle_pull(reversing) or 0.0,
                unit="N",
                factor=1.0,
                assumed=["the shell governs: 111 N in about 3 mm of plastic", how],
                source="no published value",
            )
        ]
        if reversing:
            reason = "the pull changes its sense: a spring toggle rattles loose; bolt right through instead"
            found.append(ctx.warning(name, reason))
        name, s = f"{name}: shell", None if ctx.tube is None else ctx.tube.strength
        weak = None if s is None else weakened(s, ctx.setting)
        if ctx.tube is None or s is None or s.yield_strength is None or weak is None:
            return [*found, ctx.not_computed(name, "no shell of a known strength is drawn there")]
        diameter = fasteners.bolt(self.size).diameter
        limit = tube_holes.bearing_load(s.yield_strength * weak, diameter, ctx.tube.wall, 1)
        factor, source = least_factor("plastic", ctx.setting), "F / (d t); " + s.source
        return [*found, ctx.against(name, ctx.sideways, limit, unit="N", factor=factor, source=source)]
