"""Sockets, clamps, sheet screws and spring toggles: what holds plastic pipe."""

from __future__ import annotations

from math import degrees
from typing import cast

import numpy as np

from simprop.catalog import fasteners
from simprop.catalog.load import pipe, table
from simprop.fasteners.kinds import ClampHold, SheetScrewHold, SocketHold, ToggleHold
from simprop.rules import clamps, sections, sheet_screws, sockets, toggles, tube_holes
from simprop.rules.sections import modulus_u
from simprop.strength.checks.held import against, pull_and_twist, row_loads, tube_of
from simprop.strength.context import Context, group_arm, peak, sideways
from simprop.strength.margins import Check, not_computed, warning
from simprop.strength.setting import least_factor, weakened

LOOSE = 0.3e-3
"""A pipe thinner than its socket's bottom by more than this doesn't fit, m."""


def socket_checks(ctx: Context) -> list[Check]:
    """A pipe in a socket: pull and twist together, and bending.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(SocketHold, ctx.hold)
    tube = tube_of(ctx)
    if tube is None or tube.strength is None or tube.strength.yielding is None:
        return [not_computed("fastener", "socket", ctx.joint, "no plastic pipe is drawn at the joint")]
    size = hold.pipe or _nominal(tube.outside)
    if size is None:
        reason = f"no socket for a pipe of {tube.outside * 1e3:.1f} mm: say `pipe`"
        return [not_computed("fastener", "socket", ctx.joint, reason)]
    weak = weakened(tube.strength, ctx.setting)
    if weak is None:
        reason = f"no figures for {tube.material} at {ctx.setting.temperature:.0f} degC"
        return [not_computed("fastener", "socket", ctx.joint, reason)]
    socket = fasteners.socket(size)
    if tube.outside < socket.bottom - LOOSE:
        tilt = degrees(sockets.free_tilt(tube.outside, socket.bottom, socket.depth))
        thin = f"a {tube.outside * 1e3:.1f} mm pipe is loose in a {size} socket"
        reason = f"{thin} and tilts {tilt:.0f} deg: use a sleeve"
        return [not_computed("fastener", f"{hold.how} socket", ctx.joint, reason)]
    stress = tube.strength.yielding * weak
    own = modulus_u(sections.tube(tube.outside, tube.outside - 2 * tube.wall)) * stress
    bend = min(sockets.prying_moment(tube.outside, socket.depth, stress), own)
    if hold.how == "glued":
        cement = sockets.lap_shear(hold.cured / 3600)
        if cement is None:
            return [not_computed("fastener", "glued socket", ctx.joint, "not cured: no strength before 2 h")]
        force = sockets.glued_pull(tube.outside, socket.depth, cement * weak)
        torque = sockets.glued_torque(tube.outside, socket.depth, cement * weak)
        assumed = ["a third of the depth is bonded", f"cured {hold.cured / 3600:.0f} h"]
        source = "ASTM D2564 lap shear, from memory; ASTM D2466 socket"
    elif hold.how == "screwed":
        screw = fasteners.sheet_screw(hold.with_screw)
        force = hold.count * tube_holes.bearing_load(stress, screw.diameter, tube.wall, 1)
        torque = force * tube.outside / 2
        assumed = ["screws bear on one wall each", "slack grows as the holes wear"]
        source = "F / (d t) on one wall; use on PVC is an estimate; ASTM D2466 socket"
    else:
        force, torque, bend = 0.0, 0.0, bend * sockets.DRY_MOMENT_SHARE
        assumed = ["a dry push-fit holds no pull and no twist, a fifth of a glued one's bending"]
        source = "no published value; ASTM D2466 socket"
    factor = least_factor("plastic", ctx.setting)
    name = f"{hold.how} socket"
    limits = (force, torque)
    both = pull_and_twist(
        ctx, f"{name}: pull and twist", limits, factor=factor, assumed=assumed, source=source
    )
    bending = against(
        ctx,
        f"{name}: bending",
        ctx.tilt,
        bend,
        unit="N*m",
        factor=factor,
        assumed=assumed,
        source="p D L^2 / 6 at the pipe's strength, or its own yield moment, if less; " + source,
    )
    return [both, bending]


def _nominal(outside: float) -> str | None:
    """Nominal size of a PVC pipe by its outside diameter, or None."""
    for name in table("pipes"):
        if abs(pipe(name).outside - outside) < 2e-4 and name.endswith("PVC"):
            return name.removesuffix(" PVC")
    return None


def clamp_checks(ctx: Context) -> list[Check]:
    """Hose clamps and straps: slip, and bending by a pair of them.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(ClampHold, ctx.hold)
    tube = tube_of(ctx)
    halves = [tube.half] if tube is not None else [p.half for p in ctx.parts if p is not None]
    if not halves:
        return [not_computed("fastener", hold.what, ctx.joint, "nothing round is drawn at the joint")]
    tension = clamps.BAND_TENSION if hold.tension is None else hold.tension
    friction = clamps.FRICTION_ON_PVC if hold.friction is None else hold.friction
    assumed = ["half of the ideal band's grip counts"]
    if hold.tension is None:
        assumed.append(f"band tension {tension:.0f} N")
    if hold.friction is None:
        assumed.append(f"friction {friction:g}")
    limits = (
        hold.count * clamps.band_pull(tension, friction),
        hold.count * clamps.band_torque(tension, friction, max(halves)),
    )
    source, factor = (
        "ideal band 2 pi mu T, halved; practice, from memory",
        least_factor("plastic", ctx.setting),
    )
    name = f"{hold.count} {hold.what}"
    checks = [pull_and_twist(ctx, f"{name}: slip", limits, factor=factor, assumed=assumed, source=source)]
    if peak(ctx.tilt)[0] <= 1e-3:
        return checks
    arm = group_arm(hold.count, hold.spacing)
    if arm is None:
        reason = "one clamp carries no bending: say `count` and `spacing`"
        return [*checks, not_computed("fastener", f"{name}: bending", ctx.joint, reason)]
    limit = 2 * tension * arm[1] / arm[0]
    source = "two strands a band, at their arms"
    return [
        *checks,
        against(
            ctx,
            f"{name}: bending",
            ctx.tilt,
            limit,
            unit="N*m",
            factor=factor,
            assumed=assumed,
            source=source,
        ),
    ]


def sheet_screw_checks(ctx: Context) -> list[Check]:
    """Sheet-metal screws through the second body's wall into the first's: sideways load and pull-out, linear.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(SheetScrewHold, ctx.hold)
    screw = fasteners.sheet_screw(hold.size)
    name = f"{hold.count} {screw.name} screws"
    into, under = ctx.parts
    if into is None or under is None or into.strength is None or under.strength is None:
        reason = "both walls must be drawn, of materials with a strength"
        return [not_computed("fastener", name, ctx.joint, reason)]
    over, inner = under.strength.ultimate, into.strength.ultimate
    found = row_loads(ctx, hold.count, hold.spacing)
    weak = weakened(into.strength, ctx.setting)
    if over is None or inner is None or weak is None:
        return [
            not_computed("fastener", name, ctx.joint, "no tensile strength of a wall at this temperature")
        ]
    if found is None:
        return [not_computed("fastener", name, ctx.joint, "say `count` and `spacing`")]
    walls = (under.wall, into.wall)
    shear_limit = weak * sheet_screws.sideways(*walls, screw.diameter, over, inner)
    pull_limit = weak * sheet_screws.pull_out(into.wall, screw.diameter, inner)
    plastic = "plastic" in (into.strength.family, under.strength.family)
    return [
        against(
            ctx,
            name,
            found[0] / shear_limit + found[1] / pull_limit,
            1.0,
            unit="of its strength",
            factor=max(sheet_screws.SAFETY, least_factor("plastic", ctx.setting)),
            assumed=["form for steel borrowed for plastic"] if plastic else [],
            source="AISI S100, from memory",
        )
    ]


def toggle_checks(ctx: Context) -> list[Check]:
    """A spring toggle in a thin shell: pull, reversal, and bearing of the shell.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(ToggleHold, ctx.hold)
    size = max(peak(ctx.along)[0], 1e-12)
    reversing = bool(ctx.along.max() > 0.05 * size and ctx.along.min() < -0.05 * size)
    limit = toggles.toggle_pull(reversing)
    assumed = [
        "the shell governs: 111 N in about 3 mm of plastic",
        "moving pull" if reversing else "steady pull",
    ]
    name = "spring toggle"
    checks = [
        against(
            ctx,
            f"{name}: pull",
            np.abs(ctx.along),
            limit or 0.0,
            unit="N",
            factor=1.0,
            assumed=assumed,
            source="no published value",
        )
    ]
    if reversing:
        reason = "the pull changes its sense: a spring toggle rattles loose; bolt right through instead"
        checks.append(warning("fastener", name, ctx.joint, reason))
    tube = tube_of(ctx)
    weak = None if tube is None or tube.strength is None else weakened(tube.strength, ctx.setting)
    if tube is None or tube.strength is None or tube.strength.yielding is None or weak is None:
        reason = "no shell of a known strength is drawn there"
        return [*checks, not_computed("fastener", f"{name}: shell", ctx.joint, reason)]
    diameter = fasteners.bolt(hold.size).diameter
    bearing = tube_holes.bearing_load(tube.strength.yielding * weak, diameter, tube.wall, 1)
    factor, source = least_factor("plastic", ctx.setting), "F / (d t); " + tube.strength.source
    sides = sideways(ctx)
    shell = against(ctx, f"{name}: shell", sides, bearing, unit="N", factor=factor, source=source)
    return [*checks, shell]
