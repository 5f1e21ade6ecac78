"""Hose clamps and straps: slip, and bending by a pair of them."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context, group_arm, peak
from simprop.checking.setting import least_factor
from simprop.fasteners.base import Care, Change, Fastener
from simprop.reading.fields import Force, Number
from simprop.rules import clamps


class Clamp(Fastener):
    """Worm-drive hose clamps round a pipe."""

    kind: Literal["clamp"] = "clamp"
    what: Literal["hose clamp", "strap"] = Field(alias="clamp")
    tension: Force | None = None
    friction: Number | None = None
    ALONG_PIPE: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "the pipe creeping through it, a band that has cut in",
        "after an hour, after the first night, then each week",
        "when its screw skips, or the band is rusted",
    )

    @property
    def called(self) -> str:
        return self.what if self.count == 1 else f"{self.count} x {self.what}"

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        wide = "" if grip.unknown or not grip.thick else f" to go round {1e3 * max(grip.thick):.0f} mm"
        return (Bought("fittings and clamps", f"{self.what}{wide}", self.count),)

    def checks(self, ctx: Context) -> list[Check]:
        halves = [p.half for p in ([ctx.tube] if ctx.tube is not None else ctx.parts) if p is not None]
        if not halves:
            return [ctx.not_computed(self.what, "nothing round is drawn at the joint")]
        tension = clamps.BAND_TENSION if self.tension is None else self.tension
        friction = clamps.FRICTION_ON_PVC if self.friction is None else self.friction
        assumed = ["half of the ideal band's grip counts"]
        if self.tension is None:
            assumed.append(f"band tension {tension:.0f} N")
        if self.friction is None:
            assumed.append(f"friction {friction:g}")
        limits = (
            self.count * clamps.band_pull(tension, friction),
            self.count * clamps.band_torque(tension, friction, max(halves)),
        )
        name, factor = f"{self.count} {self.what}", least_factor("plastic", ctx.setting)
        source = "ideal band 2 pi mu T, halved; practice, from memory"
        slip = ctx.pull_and_twist(f"{name}: slip", limits, factor=factor, assumed=assumed, source=source)
        if peak(ctx.tilt)[0] <= 1e-3:
            return [slip]
        name = f"{name}: bending"
        arm = group_arm(self.count, self.spacing)
        if arm is None:
            reason = "one clamp carries no bending: say `count` and `spacing`"
            return [slip, ctx.not_computed(name, reason)]
        limit, source = 2 * tension * arm[1] / arm[0], "two strands a band, at their arms"
        return [
            slip,
            ctx.against(name, ctx.tilt, limit, unit="N*m", factor=factor, assumed=assumed, source=source),
        ]

    def changes(self, ctx: Context) -> list[Change]:
        return self.more(ctx)
