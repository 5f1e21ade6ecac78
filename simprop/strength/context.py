"""What the fasteners of a run see, from its loads and what is drawn where they sit."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import BodyData
from simprop.catalog.strengths import strength_of
from simprop.checking.context import Context, Part, square_to
from simprop.checking.setting import Setting
from simprop.fasteners.base import Fastener
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.strength.members.pieces import nearest_piece, pieces

NEAR = 0.03
"""A part further from the joint than this is not what the fastener goes through, m."""


def context(loads: JointLoads, j: int, hold: Fastener, setting: Setting, *, most: bool = False) -> Context:
    """The context of joint number `j`.

    Args:
        j: index of the joint.
        most: with all that it can bear of a load that it shares (see `simprop.loads.newton_euler.Shares`).
    """
    assembly = loads.recording.assembly
    joint = assembly.joints[j]
    first, second = assembly.bodies[joint.first], assembly.bodies[joint.second]
    axis = np.asarray(hold.along if hold.along is not None else joint.axis, float)
    if not axis.any() and hold.ALONG_PIPE:
        axis = _pipe_direction(first, second, joint.point)
    track = loads.recording.track
    turn = matrices(track.rotation[:, joint.first])
    wrenches = loads.wrenches
    wrench = wrenches.shares[j].most if most else (wrenches.force[:, j], wrenches.moment[:, j])
    force, moment = (np.einsum("nji,nj->ni", turn, v) for v in wrench)
    if axis.any():
        one, two = square_to(axis)
        across = np.stack([force @ one, force @ two], axis=1)
        along, torque = force @ axis, moment @ axis
        tilt = np.linalg.norm(moment - torque[:, None] * axis, axis=1)
    else:
        size = np.linalg.norm(force, axis=1)
        across = np.stack([size, np.zeros_like(size)], axis=1)
        along = size
        tilt = torque = np.linalg.norm(moment, axis=1)
    parts = (_part(first, joint.point, axis), _part(second, joint.point, axis))
    swing = np.einsum("nji,njk->nik", turn, matrices(track.rotation[:, joint.second]))
    motors = [name for name, motor in assembly.rig.motors.items() if motor.joint == joint.name]
    return Context(
        joint.name,
        bool(joint.freedoms),
        axis,
        across,
        along,
        torque,
        tilt,
        track.time,
        parts,
        setting,
        "" if most else wrenches.shared[j],
        swing,
        motors[0] if motors and joint.kind.pivot else "",
    )


def _pipe_direction(first: BodyData, second: BodyData, point: Array) -> Array:
    for body in (second, first):
        found = pieces(body)
        if not found:
            continue
        piece = found[nearest_piece(found, point - body.com)]
        if piece.length > 0:
            return piece.unit
    return np.zeros(3)


def _part(body: BodyData, point: Array, axis: Array) -> Part | None:
    local = point - body.com
    rows = [(p, body.shapes[p.shape].through(axis)) for p in pieces(body) if p.distance(local) <= NEAR]
    solid = [(p, through) for p, through in rows if through is not None]
    if not solid:
        return None
    piece, through = min(solid, key=lambda row: row[0].nearness(local))
    shape = body.shapes[piece.shape]
    place = float((local - piece.start) @ piece.unit)
    edge = max(min(place, piece.length - place), 0.0) if piece.length > 0 else None
    return Part(
        body=body.called,
        label=f"{body.called} {shape.material} {shape.word}".replace("  ", " "),
        tube=through.tube,
        outside=through.size,
        wall=through.wall,
        edge=edge,
        half=through.size / 2,
        middle=float((piece.start + place * piece.unit - local) @ axis),
        strength=strength_of(shape.material) if shape.material else None,
        material=shape.material,
        grain=piece.unit,
    )
