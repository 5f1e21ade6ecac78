"""Checks of a run as a whole: the fastener of each joint, and whatever looks at more than one member."""

from __future__ import annotations

from dataclasses import replace

from simprop.checking.check import Check, not_computed
from simprop.checking.checks import Checks
from simprop.checking.harder import harder
from simprop.fasteners.base import fastener_checks
from simprop.loads.joints import JointLoads
from simprop.strength.checks.falls import fall_of
from simprop.strength.context import context
from simprop.strength.setting import setting_of

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
