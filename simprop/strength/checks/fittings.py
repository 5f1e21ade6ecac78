"""What pipes bear in the sockets of their fittings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.catalog.strengths import strength_of
from simprop.checking.check import Check, not_computed
from simprop.checking.context import Context, Part
from simprop.fasteners.base import fastener_checks
from simprop.fasteners.socket import Socket
from simprop.geometry.arrays import Array
from simprop.loads.joints import JointLoads
from simprop.parts.part import Shape, SocketWay
from simprop.strength.members.cuts import BodyHistory, Member, part_name
from simprop.strength.members.whole import histories
from simprop.strength.setting import setting_of

LEAST = 1e-4
"""How far into a pipe its load is looked at, m."""


def fittings(loads: JointLoads) -> list[Check]:
    """The checks of the sockets of every fitting, against the loads where the pipe comes out of it."""
    found: list[Check] = []
    for history in histories(loads):
        for k, hub in enumerate(history.data.shapes):
            for leg in hub.sockets:
                found += _way(history, hub, leg, k, loads)
    return found


def _way(history: BodyHistory, hub: Shape, leg: SocketWay, k: int, loads: JointLoads) -> list[Check]:
    member = _member(history, hub, leg)
    if member is None:
        return []
    place = f"{member.name} in {part_name(history.data, k)}"
    if not leg.nominal:
        reason = (
            "no law is known for what the set screws of a clamped fitting hold: pull and twist it by hand"
        )
        return [not_computed("fastener", hub.word, place, reason)]
    ahead = float(member.along @ leg.way) > 0
    edge = float((hub.path[0] - member.start) @ member.along) + (leg.reach if ahead else -leg.reach)
    cut = history.cut(member, min(max(edge, LEAST), member.length - LEAST), ahead)
    if cut is None:
        reason = "the frame is held to the ground on both sides of it: statics alone doesn't tell its load"
        return [not_computed("fastener", hub.word, place, reason)]
    shape = history.data.shapes[member.shape]
    through = shape.through(np.zeros(3))
    if through is None:
        return []
    tube = Part(
        history.data.called,
        f"{history.data.called} {shape.material} {shape.word}",
        through.tube,
        through.size,
        through.wall,
        None,
        through.size / 2,
        0.0,
        strength_of(shape.material) if shape.material else None,
        shape.material,
    )
    time = loads.recording.track.time
    ctx = Context(
        place,
        False,
        leg.way,
        np.stack([cut.shear_u, cut.shear_v], axis=1),
        cut.axial,
        cut.torque,
        np.hypot(cut.moment_u, cut.moment_v),
        time,
        (None, tube),
        replace(setting_of(loads.recording.assembly.rig), lasting=loads.lasting),
        "",
        np.broadcast_to(np.eye(3), (len(time), 3, 3)),
    )
    hold = Socket.model_validate({"socket": leg.how or "glued", "pipe": leg.nominal})
    more = () if leg.how else ("its sockets are glued (not stated)",)
    return [replace(c, assumed=(*c.assumed, *more)) for c in fastener_checks(hold, ctx)]


def _member(history: BodyHistory, hub: Shape, leg: SocketWay) -> Member | None:
    """The pipe in a way of a fitting; None where none is drawn in it."""
    for member in history.members:
        pipe = history.data.shapes[member.shape].fitted is not None
        lies = abs(float(member.along @ leg.way)) > 0.98
        if pipe and lies and _reaches(member, hub.path[0] + leg.way * leg.reach):
            return member
    return None


def _reaches(member: Member, point: Array) -> bool:
    along = float((point - member.start) @ member.along)
    off = float(np.linalg.norm(member.start + along * member.along - point))
    return off < 0.005 and -0.005 < along < member.length + 0.005
