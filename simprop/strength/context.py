"""What a fastener sees: the load across, along and about it at every step, and the parts it goes through."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from simprop.assembly.types import BodyData
from simprop.catalog.strengths import Strength, strength_of
from simprop.fasteners.kinds import Holding
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.strength.members.pieces import Piece, distance_to, nearest_piece, pieces
from simprop.strength.setting import Setting

NEAR = 0.03
"""A part further from the joint than this is not what the fastener goes through, m."""


@dataclass(frozen=True)
class Part:
    """What a fastener goes through on one of its two bodies.

    Attributes:
        body: name of the body.
        label: as a person would call it, such as ``arm PVC pipe``.
        kind: tube, or plate (bar, block, disc).
        outside: outside diameter of a tube, or the size of a plate along the fastener, m.
        wall: thickness of one wall of a tube, or the plate's size along the fastener, m.
        edge: from the fastener to the nearer free end as drawn, m; None for a block.
        along: direction of a tube or bar, (3,); zeros for all else.
        half: half of its size along the fastener, m.
        middle: place of its middle line along the fastener's axis, m.
        strength: of its material; None where the catalogue has none.
        material: its name.
    """

    body: str
    label: str
    kind: Literal["tube", "plate"]
    outside: float
    wall: float
    edge: float | None
    along: Array
    half: float
    middle: float
    strength: Strength | None
    material: str


@dataclass(frozen=True)
class Context:
    """A held joint with its loads over all steps.

    Attributes:
        joint: its name.
        hold: what holds it.
        moving: the joint moves while the prop runs.
        axis: unit direction of the fastener in the start pose; zeros where it isn't known.
        across: load across the fastener, (n, 2) N, in two directions of the first body.
        along: load along it, (n,) N, positive when the second body is pulled along `axis`.
        torque: about it, (n,) N*m.
        tilt: moment square to it, (n,) N*m, never negative.
        time: (n,) s.
        parts: of the first and the second body; None where nothing is drawn at the joint.
        setting: temperature, season, people.
        shared: what rigid bodies leave undetermined at this joint, in words, or "".
        swing: rotation of the second body against the first, (n, 3, 3).
    """

    joint: str
    hold: Holding
    moving: bool
    axis: Array
    across: Array
    along: Array
    torque: Array
    tilt: Array
    time: Array
    parts: tuple[Part | None, Part | None]
    setting: Setting
    shared: str
    swing: Array


def context(loads: JointLoads, j: int, setting: Setting) -> Context | None:
    """The context of joint number `j`; None where the rig doesn't say what holds it.

    Args:
        loads: of a run.
        j: index of the joint.
        setting: temperature, season, people.
    """
    assembly = loads.recording.assembly
    joint = assembly.joints[j]
    hold = assembly.rig.joints[joint.name].held_by
    if hold is None:
        return None
    first, second = assembly.bodies[joint.first], assembly.bodies[joint.second]
    axis = np.asarray(hold.along if hold.along is not None else joint.axis, float)
    if not axis.any() and hold.kind in ("socket", "clamp", "weld"):
        axis = _pipe_direction(first, second, joint.point)
    track = loads.recording.track
    turn = matrices(track.rotation[:, joint.first])
    force = np.einsum("nji,nj->ni", turn, loads.wrenches.force[:, j])
    moment = np.einsum("nji,nj->ni", turn, loads.wrenches.moment[:, j])
    if axis.any():
        one, two = _square(axis)
        across = np.stack([force @ one, force @ two], axis=1)
        along, torque = force @ axis, moment @ axis
        tilt = np.linalg.norm(moment - torque[:, None] * axis, axis=1)
    else:
        size = np.linalg.norm(force, axis=1)
        across = np.stack([size, np.zeros_like(size)], axis=1)
        along, torque = size, np.zeros_like(size)
        tilt = np.linalg.norm(moment, axis=1)
    parts = (_part(first, joint.point, axis), _part(second, joint.point, axis))
    swing = np.einsum("nji,njk->nik", turn, matrices(track.rotation[:, joint.second]))
    return Context(
        joint.name,
        hold,
        joint.kind != "fixed",
        axis,
        across,
        along,
        torque,
        tilt,
        track.time,
        parts,
        setting,
        loads.wrenches.shared[j],
        swing,
    )


def peak(values: Array) -> tuple[float, int]:
    """Largest size of some values and its index.

    Args:
        values: (n,).

    Example:
        >>> peak(np.array([1.0, -3.0, 2.0]))
        (3.0, 1)
    """
    row = int(np.argmax(np.abs(values)))
    return float(abs(values[row])), row


def sideways(ctx: Context) -> Array:
    """Size of the load across the fastener, (n,) N.

    Args:
        ctx: the held joint with its loads.
    """
    return np.asarray(np.linalg.norm(ctx.across, axis=1))


def _square(axis: Array) -> tuple[Array, Array]:
    least = np.eye(3)[int(np.argmin(np.abs(axis)))]
    one = np.cross(axis, least)
    one = one / np.linalg.norm(one)
    return one, np.cross(axis, one)


def _pipe_direction(first: BodyData, second: BodyData, point: Array) -> Array:
    for body in (second, first):
        found = pieces(body)
        if not found:
            continue
        piece = found[nearest_piece(found, point - body.com)]
        way = piece.end - piece.start
        if way.any():
            return np.asarray(way / np.linalg.norm(way))
    return np.zeros(3)


def _part(body: BodyData, point: Array, axis: Array) -> Part | None:
    found = pieces(body)
    if not found:
        return None
    local = point - body.com
    piece = found[nearest_piece(found, local)]
    shape = body.shapes[piece.shape]
    if distance_to(piece, local) > NEAR or shape.kind not in ("pipe", "bar", "block", "disc"):
        return None
    way = piece.end - piece.start
    length = float(np.linalg.norm(way))
    unit = way / length if length > 0 else np.zeros(3)
    edge = None
    if length > 0:
        s = float((local - piece.start) @ unit)
        edge = max(min(s, length - s), 0.0)
    strength = strength_of(shape.material) if shape.material else None
    word = {"pipe": "pipe", "bar": "bar", "block": "block", "disc": "disc"}[shape.kind]
    if shape.kind == "pipe" and (len(shape.size) < 2 or shape.size[1] <= 0):
        word = "rod"
    label = f"{body.name} {shape.material} {word}".replace("  ", " ")
    centre = piece.start if length == 0 else piece.start + float((local - piece.start) @ unit) * unit
    middle = float((centre + body.com - point) @ axis)
    if word == "pipe":
        outside, inside = shape.size[0], shape.size[1]
        wall = (outside - inside) / 2
        return Part(
            body.name, label, "tube", outside, wall, edge, unit, outside / 2, middle, strength, shape.material
        )
    size = _size_along(shape.kind, shape.size, shape.direction, piece, axis)
    return Part(body.name, label, "plate", size, size, edge, unit, size / 2, middle, strength, shape.material)


def _size_along(kind: str, size: tuple[float, ...], direction: Array, piece: Piece, axis: Array) -> float:
    if kind == "pipe":
        return size[0]
    if kind == "bar":
        return size[1] if not axis.any() or abs(float(direction @ axis)) > 0.7 else size[0]
    if kind == "disc":
        return size[1] if not axis.any() or abs(float(direction @ axis)) > 0.7 else size[0]
    if not axis.any():
        return float(2 * piece.half.min())
    return float(2 * np.abs(piece.turn.T @ axis) @ piece.half)


def group_arm(count: int, spacing: float | None) -> tuple[float, float] | None:
    """Largest arm m and sum of squared arms m^2 of a straight row of fasteners about its middle; None for one.

    Args:
        count: how many.
        spacing: between two of them, m; None: not known.

    Example:
        >>> group_arm(3, 0.1)
        (0.1, 0.020000000000000004)
    """
    if count < 2 or spacing is None:
        return None
    arms = (np.arange(count) - (count - 1) / 2) * spacing
    return float(arms.max()), float((arms**2).sum())
