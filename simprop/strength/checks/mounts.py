"""What holds a motor to the body that carries it, against the torque it gives, its weight and what its shaft bears."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.catalog.strengths import strength_of
from simprop.checking.check import Check, not_computed
from simprop.checking.context import Context, Part, peak
from simprop.fasteners.base import Fastener, fastener_checks
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.loads.mounts import Held, held_motors
from simprop.parts.part import FLANGE
from simprop.rig.mounting import build_of
from simprop.strength.context import part_at, split
from simprop.strength.setting import setting_of

STEEL = "A36"


def mounts(loads: JointLoads) -> list[Check]:
    """The checks of what holds each mounted motor; where nothing is named, what it must carry."""
    recording = loads.recording
    rig = recording.assembly.rig
    found: list[Check] = []
    for held in held_motors(recording, loads.wrenches):
        build = build_of(rig.motors[held.motor])
        hold = None if build is None else held.mount.hold(build)
        if hold is None:
            force, moment = (peak(np.linalg.norm(v, axis=1))[0] for v in (held.force, held.moment))
            reason = (
                f"the rig doesn't say what holds it: it must carry {force:.3g} N and {moment:.3g} N*m "
                "(`mount: {..., held_by: {bolt: M6, count: 3}}`)"
            )
            found.append(not_computed("fastener", "mount", f"motor {held.motor}, mount", reason))
            continue
        ctx = _context(loads, held, hold)
        bears = (
            "all that the joint bears goes through its shaft (`bears: false` where the joint has bearings)"
        )
        assumed = [f"its side of the mount is {FLANGE * 1e3:.0f} mm of steel"]
        assumed += [bears] if held.mount.bears else []
        found += [
            replace(c, assumed=(*c.assumed, *assumed)) if c.margin is not None else c
            for c in fastener_checks(hold, ctx)
        ]
    return found


def _context(loads: JointLoads, held: Held, hold: Fastener) -> Context:
    assembly, track = loads.recording.assembly, loads.recording.track
    body = assembly.bodies[held.body]
    axis = held.on.way if hold.along is None else np.asarray(hold.along, float)
    turn = matrices(track.rotation[:, held.body])
    force, moment = (np.einsum("nji,nj->ni", turn, v) for v in (held.force, held.moment))
    point = held.on.place + body.com
    drawn = part_at(body, point, axis)
    beside = 0.0 if drawn is None else drawn.middle + drawn.half + held.on.half
    case = Part(
        f"motor {held.motor}",
        f"motor {held.motor}",
        False,
        2 * held.on.half,
        FLANGE,
        None,
        held.on.half,
        beside,
        strength_of(STEEL),
        STEEL,
    )
    setting = replace(setting_of(assembly.rig), lasting=loads.lasting)
    still = np.broadcast_to(np.eye(3), (len(track.time), 3, 3))
    return Context(
        f"motor {held.motor}, mount on {body.called}",
        False,
        axis,
        *split(axis, force, moment),
        track.time,
        (drawn, case),
        setting,
        "",
        still,
    )
