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
from simprop.parts.part import Shape
from simprop.strength.members.pieces import nearest_piece, pieces

BRACKET = 0.003
"""Thickness of the bracket or hook at the end of a spring, rope or strut, m: assumed, as sold."""
STANDS_OFF = 0.002
"""An end drawn further than this from its body pries at its fastener, m (assumed)."""
BESIDE = 0.005
"""From the face of a part to the middle of such a bracket on it, m (assumed)."""
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
    parts = (part_at(first, joint.point, axis), part_at(second, joint.point, axis))
    swing = np.einsum("nji,njk->nik", turn, matrices(track.rotation[:, joint.second]))
    motors = [name for name, motor in assembly.rig.motors.items() if motor.joint == joint.name]
    return Context(
        joint.name,
        bool(joint.freedoms),
        axis,
        *split(axis, force, moment),
        track.time,
        parts,
        setting,
        "" if most else wrenches.shared[j],
        swing,
        motors[0] if motors and joint.kind.pivot else "",
    )


def end_context(
    loads: JointLoads, k: int, which: int, hold: Fastener, setting: Setting
) -> tuple[Context, tuple[str, ...]]:
    """What holds one end of a line element sees, and what is assumed of it.

    The pull goes through what holds it, or stands as far off as it is drawn; the end swings with the line. The second
    part is the hook or bracket.

    Args:
        k: index of the line.
        which: 0 for its first end, 1 for its second.
    """
    assembly, track, line = loads.recording.assembly, loads.recording.track, loads.recording.laws.lines[k]
    index, other = (line.first, line.second) if which == 0 else (line.second, line.first)
    body, point = assembly.bodies[index], (line.first_point, line.second_point)[which]
    ends = (track.line_start[:, k], track.line_end[:, k])
    way = ends[1 - which] - ends[which]
    way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
    pull = track.line_force[:, k, None] * way
    assumed = [f"its bracket or hook is {BRACKET * 1e3:.0f} mm of steel and pulled through its fastener"]
    if which == 0 and assembly.rig.between_points[k][2].over:
        down = np.asarray(assembly.rig.run.gravity)
        pull = pull + np.abs(track.line_force[:, k, None]) * down / max(float(np.linalg.norm(down)), 1e-12)
        assumed.append("both strands of the rope pull on the pulley")
    turn = matrices(track.rotation[:, index])
    force, inside = (np.einsum("nji,nj->ni", turn, v) for v in (pull, way))
    axis = np.zeros(3) if hold.along is None else np.asarray(hold.along, float)
    if not axis.any() and hold.ALONG_PIPE:
        axis = _pipe_direction(body, body, point + body.com)
    off = max(0.0, min((_clear(shape, point) for shape in body.shapes), default=0.0))
    across, along, torque, tilt = split(axis, force, np.zeros_like(force))
    if off > STANDS_OFF:
        assumed.append(
            f"its bracket stands {off * 1e3:.0f} mm off what it is fastened to, and pries by as much"
        )
        tilt = tilt + off * np.linalg.norm(force, axis=1)
        torque = torque if axis.any() else tilt
    drawn = part_at(body, point + body.com, axis)
    beside = 0.0 if drawn is None else drawn.middle + drawn.half + BESIDE
    steel = Part(
        "bracket",
        "its bracket",
        False,
        BRACKET,
        BRACKET,
        None,
        BRACKET / 2,
        beside,
        strength_of("A36"),
        "A36",
    )
    ctx = Context(
        f"{line.name}: end on {body.called} (towards {assembly.bodies[other].called})",
        True,
        axis,
        across,
        along,
        torque,
        tilt,
        track.time,
        (drawn, steel),
        setting,
        "",
        _turned(inside),
    )
    return ctx, tuple(assumed)


def split(axis: Array, force: Array, moment: Array) -> tuple[Array, Array, Array, Array]:
    """Load across, along, about and square to an axis, as `Context` has them.

    Args:
        axis: unit (3,), or zeros where there is none.
        force: (n, 3) N.
        moment: (n, 3) N*m.

    Returns:
        (n, 2) N, (n,) N, (n,) N*m, (n,) N*m.

    Source: components of a vector.
    """
    if axis.any():
        one, two = square_to(axis)
        torque = moment @ axis
        tilt = np.linalg.norm(moment - torque[:, None] * axis, axis=1)
        return np.stack([force @ one, force @ two], axis=1), force @ axis, torque, tilt
    size, tilt = np.linalg.norm(force, axis=1), np.linalg.norm(moment, axis=1)
    return np.stack([size, np.zeros_like(size)], axis=1), size, tilt, tilt


def _turned(way: Array) -> Array:
    """The least rotation that brings a direction (n, 3) from its first row to each row, (n, 3, 3)."""
    axis = np.cross(way[0], way)
    x, y, z = axis.T
    none = np.zeros_like(x)
    across = np.array([[none, -z, y], [z, none, -x], [-y, x, none]]).transpose(2, 0, 1)
    gain = 1.0 / np.maximum(1.0 + way @ way[0], 1e-9)
    return np.asarray(np.eye(3) + across + gain[:, None, None] * (across @ across))


def _pipe_direction(first: BodyData, second: BodyData, point: Array) -> Array:
    for body in (second, first):
        found = pieces(body)
        if not found:
            continue
        piece = found[nearest_piece(found, point - body.com)]
        if piece.length > 0:
            return piece.unit
    return np.zeros(3)


def _clear(shape: Shape, point: Array) -> float:
    """How far a point is outside of a part as it is, m."""
    return min(solid.distance(point) for solid in shape.solids())


def part_at(body: BodyData, point: Array, axis: Array) -> Part | None:
    """What a fastener goes through at a place of a body; None: nothing.

    Args:
        body: which.
        point: (3,) m, world, in the start pose.
        axis: direction of the fastener, (3,); zeros: not known.

    Source: the nearest part within `NEAR`.
    """
    local = point - body.com
    rows = [
        (p, body.shapes[p.shape].through(axis))
        for p in pieces(body)
        if _clear(body.shapes[p.shape], local) <= NEAR
    ]
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
