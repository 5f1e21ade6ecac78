"""Screws and glue in wood at a joint."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from typing import cast

import numpy as np

from simprop.catalog import fasteners
from simprop.catalog.strengths import strength_of
from simprop.errors import SimpropError
from simprop.fasteners.kinds import GlueHold, ScrewHold
from simprop.geometry.arrays import Array
from simprop.rules import glue, wood_screws
from simprop.strength.context import Context, Part, group_arm, sideways
from simprop.strength.margins import ALLOWABLE, Check, Remedy, judge, not_computed, warning, worst
from simprop.strength.setting import least_factor

LEAST_LEVER = 0.02
"""Half width that a part pries over where no rows of screws say more, m."""
END_GRAIN = 0.67
"""Sideways load of screws in end grain; AWC NDS, from memory."""
STEEL_BEARING = 61.85e3 * wood_screws.PSI
"""Dowel bearing of a steel side plate, Pa; AWC NDS (A36: 87 ksi / 1.4), from memory."""


def screw_checks(ctx: Context) -> tuple[Check, ...]:
    """Withdrawal and sideways load of wood screws, together.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(ScrewHold, ctx.hold)
    check = _screws(ctx, hold)
    if check.verdict == "fail":
        remedies = []
        for text, update in _changes(hold):
            other = _screws(ctx, hold.model_copy(update=update))
            if other.margin is not None:
                remedies.append(Remedy(text, worst([other])))
        check = replace(check, remedies=tuple(remedies))
    screw = fasteners.wood_screw(hold.size)
    if screw.sort == "drywall":
        reason = "drywall screws are hardened and snap when a joint works: use wood screws"
        return check, warning("fastener", "screw", ctx.joint, reason)
    return (check,)


def _changes(hold: ScrewHold) -> list[tuple[str, dict[str, object]]]:
    found: list[tuple[str, dict[str, object]]] = []
    if fasteners.wood_screw(hold.size).sort == "drywall":
        found.append(("#8 wood screws instead", {"size": "#8 wood"}))
    for more in (hold.count + 2, hold.count * 2, hold.count * 4):
        spacing = hold.spacing or 0.04
        found.append((f"{more} screws {spacing * 1e3:.0f} mm apart", {"count": more, "spacing": spacing}))
    longer = hold.length * 1.5
    found.append((f"screws {longer * 1e3:.0f} mm long", {"length": longer}))
    sort = fasteners.wood_screw(hold.size).sort
    larger = None if sort == "drywall" else fasteners.next_size(hold.size, sort)
    if larger:
        found.append((f"{larger} screws", {"size": larger}))
    if hold.grain == "end":
        found.append(("screw into side grain, not end grain", {"grain": "side"}))
    return found


def _screws(ctx: Context, hold: ScrewHold) -> Check:
    screw = fasteners.wood_screw(hold.size)
    name = f"{hold.count} {screw.name} screws in {hold.into}"
    wood = strength_of(hold.into)
    if wood is None or wood.gravity is None:
        return not_computed("fastener", name, ctx.joint, f"no specific gravity of {hold.into}")
    through = hold.through
    side = ctx.parts[1]
    assumed = []
    if through is None:
        if side is None:
            return not_computed("fastener", name, ctx.joint, "say `through`: the thickness under the head")
        through = side.wall
        assumed.append(f"{through * 1e3:.0f} mm under the head, as drawn")
    inside = hold.length - through
    try:
        share = wood_screws.penetration_share(inside, screw.diameter)
    except SimpropError as error:
        return not_computed("fastener", name, ctx.joint, str(error))
    wet = wood_screws.WET_SERVICE if hold.wet else 1.0
    bearing = wood_screws.dowel_bearing(wood.gravity, screw.root)
    modes = wood_screws.lateral_modes(
        screw.root,
        screw.bending_yield,
        inside,
        through,
        main_bearing=bearing,
        side_bearing=_side_bearing(side, screw.root, bearing),
    )
    lateral = min(modes.values()) * share * wet * (END_GRAIN if hold.grain == "end" else 1.0)
    if screw.sort == "drywall":
        lateral = 0.0
    pull = wood_screws.screw_withdrawal(wood.gravity, screw.diameter) * inside * wet
    if screw.sort == "lag":
        pull = wood_screws.lag_withdrawal(wood.gravity, screw.diameter, hold.grain == "end") * inside * wet
    elif hold.grain == "end":
        pull = 0.0
    load = _each(ctx, hold, assumed)
    if load is None:
        reason = "one screw can't stop the parts from turning: say `count` and `spacing`"
        return not_computed("fastener", name, ctx.joint, reason)
    use = [_hankinson(float(a), float(b), lateral, pull) for a, b in zip(*load, strict=True)]
    row = int(np.argmax(use))
    if not ctx.axis.any():
        assumed.append("the screws' direction isn't said (`along`): the force counts across and along")
    return judge(
        "fastener",
        name,
        ctx.joint,
        use[row],
        1.0,
        unit="of its allowable load",
        factor=ALLOWABLE,
        assumed=assumed,
        source=f"AWC NDS withdrawal and yield modes, together by Hankinson; {screw.source}",
        time=float(ctx.time[row]),
    )


def _side_bearing(side: Part | None, root: float, wood: float) -> float:
    if side is None or side.strength is None:
        return wood
    if side.strength.family == "wood" and side.strength.gravity is not None:
        return wood_screws.dowel_bearing(side.strength.gravity, root)
    if side.strength.family == "metal":
        return STEEL_BEARING if "Al" not in side.material else (side.strength.ultimate or wood)
    return side.strength.yielding or wood


def _each(ctx: Context, hold: ScrewHold, assumed: list[str]) -> tuple[Array, Array] | None:
    """Load across and along the worst screw, (n,) N each."""
    across, along = sideways(ctx) / hold.count, np.abs(ctx.along) / hold.count
    arm = group_arm(hold.count, hold.spacing)
    if arm is None:
        if float(np.abs(ctx.torque).max()) > 1e-3 and hold.count < 2:
            return None
        halves = [p.half for p in ctx.parts if p is not None]
        lever = max([LEAST_LEVER, *halves])
        if float(ctx.tilt.max()) > 1e-3 or float(np.abs(ctx.torque).max()) > 1e-3:
            assumed.append(f"screws {lever * 1e3:.0f} mm from the middle (`spacing` isn't said)")
        return across + np.abs(ctx.torque) / (hold.count * lever), along + ctx.tilt / (hold.count * lever)
    return across + np.abs(ctx.torque) * arm[0] / arm[1], along + ctx.tilt * arm[0] / arm[1]


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


def glue_checks(ctx: Context) -> tuple[Check, ...]:
    """Shear and prying of a glue line, on a square of the stated area.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(GlueHold, ctx.hold)
    force = np.sqrt(sideways(ctx) ** 2 + ctx.along**2)
    moment = np.sqrt(ctx.torque**2 + ctx.tilt**2)
    demand = force + 6 * moment / np.sqrt(hold.area)
    row = int(np.argmax(demand))
    check = judge(
        "fastener",
        f"glue, {hold.grain}",
        ctx.joint,
        float(demand[row]),
        glue.glue_load(hold.area, hold.grain, hold.wet),
        unit="N",
        factor=least_factor("wood", ctx.setting),
        assumed=[
            "a square glue line; share of end grain" if hold.grain != "side to side" else "a square glue line"
        ],
        source="USDA Wood Handbook, shear of softwood, from memory; statics",
        time=float(ctx.time[row]),
    )
    if check.verdict == "fail" and check.margin:
        scale = 1.05 / check.margin
        area = hold.area * scale
        text = f"{area * 1e4:.0f} cm^2 of glue, or screws as well"
        check = replace(check, remedies=(Remedy(text, 1.05),))
    return (check,)
