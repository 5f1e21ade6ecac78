"""Checks of a run as a whole: the fastener of each joint, and whatever looks at more than one member."""

from __future__ import annotations

from dataclasses import replace

from simprop.checking.check import Check, not_computed, warning
from simprop.checking.checks import Checks
from simprop.checking.context import peak
from simprop.checking.harder import harder
from simprop.fasteners.base import fastener_checks
from simprop.loads.joints import JointLoads
from simprop.strength.checks.falls import fall_of
from simprop.strength.context import context, end_context
from simprop.strength.setting import setting_of

FELT = 0.5
"""What carries less than this needs no word about its ends, N."""
RUN_CHECKS: Checks[JointLoads] = Checks()
"""Checks that are given all loads of a run."""


@RUN_CHECKS.add
def fasteners(loads: JointLoads) -> list[Check]:
    """The checks of every joint's fastener, by its share of what joints share or by all of it (see `falls`)."""
    assembly = loads.recording.assembly
    setting = replace(setting_of(assembly.rig), lasting=loads.lasting)
    found: list[Check] = []
    for j, joint in enumerate(assembly.joints):
        hold = joint.kind.held_by
        if hold is not None:
            own = fastener_checks(hold, context(loads, j, hold, setting))
            fall = fall_of(loads, j) if j in loads.wrenches.shares else None
            if fall is not None and fall.feared:
                most = fastener_checks(hold, context(loads, j, hold, setting, most=True))
                words = f"bears all that it can of what it shares ({loads.wrenches.shared[j]}): {fall.words}"
                found += harder(own, most, words)
            else:
                found += own
        elif joint.kind.needs_fastener:
            reason = "the rig doesn't say what holds it (`held_by: {bolt: 1/4-20, ...}`)"
            found.append(not_computed("fastener", "fastener", joint.name, reason))
    return found


@RUN_CHECKS.add
def ends(loads: JointLoads) -> list[Check]:
    """The checks of what holds the ends of springs, pushers and pulls; where nothing is named, what it must carry."""
    rig, track = loads.recording.assembly.rig, loads.recording.track
    setting = replace(setting_of(rig), lasting=loads.lasting)
    found: list[Check] = []
    for k, (name, sort, line) in enumerate(rig.between_points):
        most, row = peak(track.line_force[:, k])
        for which, (hold, key) in enumerate(zip(line.ends, ("from", "to"), strict=True)):
            if hold is not None:
                ctx, assumed = end_context(loads, k, which, hold, setting)
                found += [
                    replace(c, assumed=(*c.assumed, *assumed)) if c.margin is not None else c
                    for c in fastener_checks(hold, ctx)
                ]
            elif line.hooked and most > FELT:
                carried = 2 * most if line.over and which == 0 else most
                reason = (
                    f"no hook or bracket is named: must carry {carried:.3g} N (`held_by: {{{key}: ...}}`)"
                )
                place = f"{sort} {name}, {key}"
                found.append(
                    warning(
                        "fastener",
                        "hook",
                        place,
                        reason,
                        demand=carried,
                        unit="N",
                        time=float(track.time[row]),
                    )
                )
    return found
