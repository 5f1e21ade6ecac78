"""Set screws, roll pins, blind rivets, rod ends and welds."""

from __future__ import annotations

from math import inf, sqrt
from typing import cast

import numpy as np

from simprop.catalog import fasteners
from simprop.catalog.strengths import FatigueLine, strength_of
from simprop.fasteners.kinds import RivetHold, RodEndHold, RollPinHold, SetScrewHold, WeldHold
from simprop.rules import pins, rivets, rod_ends, setscrews, welds
from simprop.strength.checks.fatigue_life import life_check
from simprop.strength.checks.held import against, pull_and_twist, row_loads, step_of, tube_of
from simprop.strength.context import Context, peak, sideways
from simprop.strength.margins import Check, not_computed, warning
from simprop.strength.setting import least_factor

STEEL_SHAFT = 250e6
"""Yield of an unnamed steel shaft, Pa: ASTM A36. Assumed."""


def set_screw_checks(ctx: Context) -> list[Check]:
    """A hub on its shaft: slip by pull and twist together.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(SetScrewHold, ctx.hold)
    screw = fasteners.set_screw(hold.size)
    swings = float(np.ptp(ctx.torque)) > 0.2 * max(peak(ctx.torque)[0], 1e-12)
    limits = (
        setscrews.hub_pull(screw.holding, hold.count, hold.flat),
        setscrews.hub_torque(screw.holding, hold.shaft, hold.count, hold.flat),
    )
    assumed = [f"tightened to {screw.seating:.1f} N*m on a steel shaft"]
    if hold.count > 1:
        assumed.append(f"two screws hold {setscrews.SECOND_SCREW} times one")
    return [
        pull_and_twist(
            ctx,
            f"{screw.name} screw: hub on the shaft",
            limits,
            factor=setscrews.FACTOR_MOVING if swings else setscrews.FACTOR_STATIC,
            assumed=assumed,
            source=screw.source,
        )
    ]


def roll_pin_checks(ctx: Context) -> list[Check]:
    """A roll pin across a shaft, or as a pivot.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(RollPinHold, ctx.hold)
    pin = fasteners.roll_pin(hold.size)
    factor = least_factor("metal", ctx.setting)
    if hold.shaft is None:
        limit = pins.pin_shear(pin.double_shear, 2 if hold.shear == "double" else 1)
        name = f"{pin.name} pin in {hold.shear} shear"
        return [against(ctx, name, sideways(ctx), limit, unit="N", factor=factor, source=pin.source)]
    shear = pins.cross_pin_torque(pin.double_shear, hold.shaft)
    crush = pins.shaft_bearing_torque(STEEL_SHAFT, pin.diameter, hold.shaft)
    return [
        pull_and_twist(
            ctx,
            f"{hold.count} {pin.name} pin across the shaft",
            (hold.count * pin.double_shear, hold.count * min(shear, crush)),
            factor=factor,
            assumed=["the shaft is of mild steel"],
            source=f"statics; {pin.source}",
        )
    ]


def rivet_checks(ctx: Context) -> list[Check]:
    """A row of blind rivets.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(RivetHold, ctx.hold)
    rivet = fasteners.rivet(hold.size)
    name = f"{hold.count} {rivet.name}s"
    found = row_loads(ctx, hold.count, hold.spacing)
    if found is None:
        reason = "say `count` and `spacing`: one rivet can't stop turning"
        return [not_computed("fastener", name, ctx.joint, reason)]
    limits = (rivet.shear, rivet.tension)
    use = np.array([rivets.rivet_use(float(s), float(t), *limits) for s, t in zip(*found, strict=True)])
    factor, unit = least_factor("metal", ctx.setting), "of its strength"
    checks = [against(ctx, name, use, 1.0, unit=unit, factor=factor, source=rivet.source)]
    if ctx.moving:
        reason = "a blind rivet as a pivot clamps, wears and works loose: use a bolt with a nylon-insert nut"
        checks.append(warning("fastener", "rivet", ctx.joint, reason))
    return checks


def rod_end_checks(ctx: Context) -> list[Check]:
    """A rod end or ball link: load while it swings, and tilt.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(RodEndHold, ctx.hold)
    part = fasteners.rod_end(hold.size)
    force = np.sqrt(sideways(ctx) ** 2 + ctx.along**2) if ctx.axis.any() else sideways(ctx)
    limit = rod_ends.rod_end_load(part.static, part.swinging, ctx.moving)
    factor = least_factor("metal", ctx.setting)
    assumed = [f"{a} of the {part.name}" for a in part.assumed]
    load = against(ctx, part.name, force, limit, unit="N", factor=factor, assumed=assumed, source=part.source)
    if not ctx.axis.any():
        reason = "say `along`: the direction of the ball's bolt in the start pose"
        return [load, not_computed("fastener", f"{part.name}: tilt", ctx.joint, reason)]
    tilt = np.arccos(np.clip((ctx.swing @ ctx.axis) @ ctx.axis, -1.0, 1.0))
    assumed = ["square to its bolt in the start pose"]
    name = f"{part.name}: tilt"
    return [
        load,
        against(ctx, name, tilt, part.tilt, unit="rad", factor=1.0, assumed=assumed, source=part.source),
    ]


def weld_checks(ctx: Context) -> list[Check]:
    """A fillet weld: strength, and life.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(WeldHold, ctx.hold)
    metal = strength_of(hold.of)
    if metal is None or metal.family != "metal" or metal.ultimate is None:
        reason = f"welds are known for metals, not {hold.of}"
        return [not_computed("fastener", "weld", ctx.joint, reason)]
    limit, source = welds.fillet_load(1.0, 1.0, metal.ultimate), "EN 1993-1-8 (its 1.25 is in it)"
    if metal.name.startswith("6"):
        limit, source = welds.WELDED_6061_YIELD / sqrt(3), "6061-T6 beside a weld, from memory"
    size = hold.throat * hold.length
    force = np.sqrt(sideways(ctx) ** 2 + ctx.along**2)
    tube = tube_of(ctx)
    if tube is not None and hold.length > 2 * tube.outside:
        turning = (4 * ctx.tilt + 2 * np.abs(ctx.torque)) / tube.outside
        assumed = ["a ring weld round the tube"]
    else:
        turning = 6 * (ctx.tilt + np.abs(ctx.torque)) / hold.length
        assumed = ["a straight weld; moments by its length"]
    stress = (force + turning) / size
    cycles = (welds.FATIGUE_STRESS / 2, welds.FATIGUE_CYCLES, welds.FATIGUE_SLOPE)
    factor = least_factor("metal", ctx.setting) / welds.GAMMA
    return [
        against(ctx, "fillet weld", stress, limit, unit="Pa", factor=factor, assumed=assumed, source=source),
        life_check(
            f"{ctx.joint}, weld",
            stress,
            line=FatigueLine(*cycles, False, False),
            ultimate=inf,
            setting=ctx.setting,
            step=step_of(ctx),
            assumed=["the size of the load taken as the stress history"],
            source="EN 1993-1-9 detail category 36, slope 3, from memory",
        ),
    ]
