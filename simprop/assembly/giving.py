"""How far the joints of a prop give in what they bar, from what is drawn at them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.assembly.types import Assembly, BodyData, Give, JointData
from simprop.catalog.load import material
from simprop.elastic.give import STEEL, edge_give, pin_give, tilt_give
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Giving
from simprop.parts.part import Shape

NEAR = 0.03
"""A part further from the joint than this is not what it is fastened to, m."""
PIN = 6e-3
"""Diameter of a pin that isn't stated, m (assumed)."""
WALL = 6e-3
"""Wall of what isn't drawn at a joint, m, taken for steel (assumed)."""
SPREAD = 30e-3
"""Length over which a joint that doesn't turn or slide resists tilting where nothing says more, m (assumed)."""


def joint_give(assembly: Assembly, joint: JointData) -> tuple[Array, Array]:
    """How far a joint gives: m/N and rad/(N m) as tensors in its first body's start axes, (3, 3) each.

    Pin and walls as drawn by `simprop.elastic.give.pin_give`; along its axis a joint gives as much as across it
    (assumed); tilting by the length of its bearing or of both walls. A joint that gives as stated gives so.
    """
    if joint.give is not None:
        inverse = np.linalg.pinv(joint.give.stiffness, rcond=1e-15, hermitian=True)
        return np.asarray(inverse[:3, :3]), np.asarray(inverse[3:, 3:])
    axis, thick = joint.axis, joint.kind.thick or PIN
    ends = [_wall(assembly.bodies[b], joint.point, axis) for b in (joint.first, joint.second)]
    moduli = ends[0][1], ends[1][1]
    length = joint.kind.bed
    walls = (ends[0][0], ends[1][0]) if length is None else (length, length)
    across = pin_give(thick, walls, moduli)
    tilt = tilt_give(across, sum(walls) if axis.any() else SPREAD)
    twist = edge_give(across, max(thick, *walls) if axis.any() else SPREAD)
    line = np.outer(axis, axis)
    square = np.eye(3) - line
    return across * np.eye(3), tilt * square + twist * line if axis.any() else tilt * np.eye(3)


def given(assembly: Assembly) -> Assembly:
    """The same prop with the joints that the rig lets give, in place of rigid ones.

    Args:
        assembly: of rigid bodies and joints.
    """
    joints = tuple(replace(j, give=_spring(assembly, j)) if j.kind.give else j for j in assembly.joints)
    return replace(assembly, joints=joints)


def _spring(assembly: Assembly, joint: JointData) -> Give:
    """How a joint gives, as stated or as drawn."""
    stated = joint.kind.give if isinstance(joint.kind.give, Giving) else Giving()
    bodies = [assembly.bodies[i] for i in (joint.first, joint.second)]
    light = min((b for b in bodies if not b.fixed), key=lambda b: b.mass)
    line = np.outer(joint.axis, joint.axis)
    stiffness, damping = np.zeros((6, 6)), np.zeros((6, 6))
    figures = ((stated.across, stated.along), (stated.tilt, stated.twist))
    heavy = (light.mass, max(float(np.linalg.eigvalsh(light.inertia)[0]), light.mass * PIN**2))
    for k, (tensor, bars) in enumerate(zip(joint_give(assembly, joint), joint.bars, strict=True)):
        square, along = np.eye(3) - line, float(joint.axis @ tensor @ joint.axis)
        drawn = (float(np.trace(square @ tensor) / np.trace(square)), along)
        ways = [k if k is not None else 1.0 / g if g else 0.0 for k, g in zip(figures[k], drawn, strict=True)]
        held = bars.T @ bars
        part = held @ (ways[0] * square + ways[1] * line) @ held
        own = slice(3 * k, 3 * k + 3)
        stiffness[own, own] = part
        damping[own, own] = 2.0 * stated.damping * np.sqrt(heavy[k] / ways[0]) * part
    return Give(stiffness, damping)


def _wall(body: BodyData, point: Array, axis: Array) -> tuple[float, float]:
    """Wall m and Young's modulus Pa of what a joint goes through on one body."""
    local = point - body.com
    rows = [
        (through, shape)
        for shape in body.shapes
        if _near(shape, local)[0] <= NEAR and (through := shape.through(axis)) is not None
    ]
    if not rows:
        return WALL, STEEL
    through, shape = min(rows, key=lambda row: _near(row[1], local))
    modulus = material(shape.material).modulus if shape.material else None
    return through.wall, modulus or STEEL


def _near(shape: Shape, point: Array) -> tuple[float, float]:
    """Key by which the nearest part is found: the gap to it as it is, and how far its middle is."""
    return min(solid.nearness(point) for solid in shape.solids())
