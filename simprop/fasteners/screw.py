"""Screws in wood: withdrawal and sideways load, together."""

from __future__ import annotations

from math import ceil, hypot
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bolts import long_words
from simprop.catalog.bought import Bought, Grip
from simprop.catalog.load import material
from simprop.catalog.strengths import strength_of
from simprop.checking.check import ALLOWABLE, Check
from simprop.checking.context import Context, group_arm
from simprop.errors import SimpropError
from simprop.fasteners import wood_member
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.geometry.arrays import Array
from simprop.reading.fields import Size
from simprop.rules import wood_joints

LEAST_LEVER = 0.02
"""Half width that a part pries over where no rows of screws say more, m."""
END_GRAIN = 0.67
"""Sideways load of screws in end grain; AWC NDS, from memory."""


class Screw(Fastener):
    """Screws into wood: ``{screw: "#8 wood", count: 4, into: pine, length: 1-1/4 in}``.

    Attributes:
        screw: ``#8 wood``, ``1/4 in lag``, ``#6 drywall``.
        into: wood that the thread is in.
        length: of the screw, m.
        through: thickness of the part under the head, m.
        grain: side or end, of the wood the thread is in.
        wet: gets wet in service.
    """

    kind: Literal["screw"] = "screw"
    size: Annotated[str, known(fasteners.wood_screw)] = Field(alias="screw")
    into: Annotated[str, known(material)]
    length: Size
    through: Size | None = None
    grain: Literal["side", "end"] = "side"
    wet: bool = False
    PIVOT: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "a head that stands off, a hole in the wood gone loose",
        "by hand after the first wet and dry spell, then each month",
        "with the next size or beside the old hole when it no longer bites",
    )

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        screw = fasteners.wood_screw(self.size)
        size = screw.name.removesuffix(f" {screw.sort.removesuffix(' screw')}")
        word = {"lag": "lag screw", "drywall": "drywall screw"}.get(screw.sort, "wood screw")
        return (Bought("screws", f"{word} {size} x {long_words(self.length)}", self.count),)

    def checks(self, ctx: Context) -> list[Check]:
        found = [self._use(ctx)]
        if fasteners.wood_screw(self.size).sort == "drywall":
            reason = "drywall screws are hardened and snap when a joint works: use wood screws"
            found.append(ctx.warning("screw", reason))
        return found

    def changes(self, ctx: Context) -> list[Change]:
        found: list[Change] = []
        sort = fasteners.wood_screw(self.size).sort
        if sort == "drywall":
            found.append(self.change("#8 wood screws instead", ctx, size="#8 wood"))
        for more in dict.fromkeys((self.count + 2, self.count * 2, self.count * 4)):
            spacing = self.spacing or 0.04
            words = f"{more} screws {spacing * 1e3:.4g} mm apart"
            found.append(self.change(words, ctx, count=more, spacing=spacing))
        longer = ceil(self.length * 1.5e3)
        found.append(self.change(f"screws {longer} mm long", ctx, length=longer * 1e-3))
        larger = None if sort == "drywall" else fasteners.next_size(self.size, sort)
        if larger:
            found.append(self.change(f"{larger} screws", ctx, size=larger))
        if self.grain == "end":
            found.append(self.change("screw into side grain, not end grain", ctx, grain="side"))
        return found

    def _use(self, ctx: Context) -> Check:
        screw = fasteners.wood_screw(self.size)
        name = f"{self.count} {screw.name} screws in {self.into}"
        wood = strength_of(self.into)
        if wood is None or wood.gravity is None:
            return ctx.not_computed(name, f"no specific gravity of {self.into}")
        side, through, assumed = ctx.parts[1], self.through, []
        if through is None:
            if side is None:
                return ctx.not_computed(name, "say `through`: the thickness under the head")
            through = side.wall
            assumed.append(f"{through * 1e3:.0f} mm under the head, as drawn")
        inside, lag = self.length - through, screw.sort == "lag"
        try:
            share = wood_joints.penetration_share(inside, screw.diameter, lag)
        except SimpropError as error:
            return ctx.not_computed(name, str(error))
        wet = wood_joints.WET_SERVICE if self.wet else 1.0
        lateral = self._lateral(ctx, wood.gravity, inside, through) * share * wet
        thread = min(inside, wood_joints.thread_length(self.length, screw.diameter, lag))
        if lag:
            pull = wood_joints.lag_withdrawal(wood.gravity, screw.diameter, self.grain == "end")
        else:
            side_grain = self.grain == "side"
            pull = wood_joints.screw_withdrawal(wood.gravity, screw.diameter) if side_grain else 0.0
        pull *= thread * wet
        load = self._each(ctx, assumed)
        if load is None:
            reason = "one screw can't stop the parts from turning: say `count` and `spacing`"
            return ctx.not_computed(name, reason)
        if not ctx.axis.any():
            assumed.append("the screws' direction isn't said (`along`): the force counts across and along")
        return ctx.against(
            name,
            np.array([_hankinson(a, b, c, pull) for a, b, c in np.column_stack([*load, lateral]).tolist()]),
            1.0,
            unit="of its allowable load",
            factor=ALLOWABLE,
            assumed=assumed,
            source=f"AWC NDS withdrawal and yield modes, together by Hankinson; {screw.source}",
        )

    def _lateral(self, ctx: Context, gravity: float, inside: float, through: float) -> Array:
        """Allowable sideways load of one screw by its yield modes at each step, N (n,)."""
        screw = fasteners.wood_screw(self.size)
        if screw.sort == "drywall":
            return np.zeros(len(ctx.time))
        along = ctx.grain_angle(0) if self.grain == "side" else np.zeros(len(ctx.time))
        main = wood_joints.dowel_bearing(gravity, screw.diameter, along)
        side = wood_member.bearing(ctx, 1, screw.diameter)
        slant = np.maximum(along, ctx.grain_angle(1)) if wood_member.is_wood(ctx, 1) else along
        modes = wood_joints.lateral_modes(
            screw.root,
            screw.bending_yield,
            inside,
            through,
            main_bearing=main,
            side_bearing=main if side is None else side,
            angle=slant,
            nominal=screw.diameter,
        )
        weakest = np.min(list(modes.values()), axis=0)
        return np.asarray(weakest * (END_GRAIN if self.grain == "end" else 1.0))

    def _each(self, ctx: Context, assumed: list[str]) -> tuple[Array, Array] | None:
        """Load across and along the worst screw, (n,) N each."""
        across, along = ctx.sideways / self.count, np.abs(ctx.along) / self.count
        torque = np.abs(ctx.torque)
        arm = group_arm(self.count, self.spacing)
        if arm is not None:
            return across + torque * arm[0] / arm[1], along + ctx.tilt * arm[0] / arm[1]
        if float(torque.max()) > 1e-3 and self.count < 2:
            return None
        lever = max([LEAST_LEVER, *(p.half for p in ctx.parts if p is not None)])
        if float(ctx.tilt.max()) > 1e-3 or float(torque.max()) > 1e-3:
            assumed.append(f"screws {lever * 1e3:.0f} mm from the middle (`spacing` isn't said)")
        return across + torque / (self.count * lever), along + ctx.tilt / (self.count * lever)


def _hankinson(across: float, along: float, lateral: float, pull: float) -> float:
    """Use of a screw that is loaded at a slant: R (W cos^2 + Z sin^2) / (W Z); AWC NDS, from memory."""
    size = hypot(across, along)
    if size == 0:
        return 0.0
    if (lateral <= 0 and across > 0) or (pull <= 0 and along > 0):
        return float("1e9")
    first = across**2 / lateral if across > 0 else 0.0
    second = along**2 / pull if along > 0 else 0.0
    return (first + second) / size
