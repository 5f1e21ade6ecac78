"""How hard a mechanism is to move along an axis, or along a line between two of its points, all loops closed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.assembly.types import Assembly, JointData
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.lines import LineData
from simprop.geometry.arrays import Array
from simprop.geometry.turning import rotate


def effective_mass(
    assembly: Assembly, actuation: Actuation, position: Array, rotation: Array, ways: Sequence[int | LineData]
) -> list[float]:
    """Effective mass of axes and lines: force over acceleration of an axis, or of a length, when nothing else acts.

    With all joints' constraints C v = 0 on the bodies' speeds v, mass matrix M and axis speed j v, it is
    1 / (j Z (Z^T M Z)^-1 Z^T j^T), Z the null space of C; motors' reflected inertia is part of M.

    Args:
        position: centres of mass, (B, 3) m.
        rotation: of the bodies from the start, (B, 4).
        ways: axes by number, or lines between two points.

    Returns:
        One number a way, kg or kg*m^2; 0 for one that can't move.
    """
    moving = {i: 6 * k for k, i in enumerate(i for i, b in enumerate(assembly.bodies) if not b.fixed)}
    root = np.zeros((6 * len(moving), 6 * len(moving)))
    for i, row in moving.items():
        body = assembly.bodies[i]
        moments, frame = np.linalg.eigh(body.inertia)
        turn = np.stack([rotate(rotation[i], column) for column in frame.T], axis=1)
        root[row : row + 3, row : row + 3] = np.eye(3) / np.sqrt(body.mass)
        root[row + 3 : row + 6, row + 3 : row + 6] = turn / np.sqrt(np.maximum(moments, 1e-12))

    still = np.zeros(3)

    def moved(body: int, point: Array, force: Array, moment: Array) -> Array:
        """Row that gives the speed of a body at a point along a unit wrench."""
        result = np.zeros(len(root))
        if body in moving:
            row = moving[body]
            result[row : row + 3] = force
            result[row + 3 : row + 6] = np.cross(point - position[body], force) + moment
        return result

    def speed(joint: JointData, force: Array, moment: Array) -> Array:
        """The same of the joint's second body against its first."""
        first = assembly.bodies[joint.first]
        point = position[joint.first] + rotate(rotation[joint.first], joint.point - first.com)
        return moved(joint.second, point, force, moment) - moved(joint.first, point, force, moment)

    def lengthened(line: LineData) -> Array:
        """Row that gives the rate of a line's length."""
        one = position[line.first] + rotate(rotation[line.first], line.first_point)
        two = position[line.second] + rotate(rotation[line.second], line.second_point)
        unit = (two - one) / max(float(np.linalg.norm(two - one)), 1e-9)
        return moved(line.second, two, unit, still) - moved(line.first, one, unit, still)

    barred = []
    for joint in assembly.joints:
        held = rotation[joint.first]
        forces, moments = joint.bars
        barred += [speed(joint, rotate(held, f), still) for f in forces]
        barred += [speed(joint, still, rotate(held, m)) for m in moments]
    rows = np.array(barred).reshape(-1, len(root)) @ root
    _, sigma, basis = np.linalg.svd(rows, full_matrices=True)
    rank = int(np.sum(sigma > 1e-9 * max(1.0, float(sigma.max(initial=0.0)))))
    free = basis[rank:]

    def along(way: int | LineData) -> Array:
        if not isinstance(way, int):
            return np.asarray(free @ root.T @ lengthened(way))
        data = assembly.axes[way]
        joint = assembly.joints[data.joint]
        unit, turns = rotate(rotation[joint.first], data.way), data.motion == "turn"
        return np.asarray(free @ root.T @ speed(joint, still if turns else unit, unit if turns else still))

    inertia: Array = np.eye(len(free))
    for motor in actuation.motors:
        if motor.reflected_inertia > 0.0:
            inertia += motor.reflected_inertia * np.outer(along(motor.axis), along(motor.axis))
    result = []
    for way in ways:
        push = along(way)
        ease = float(push @ np.linalg.solve(inertia, push)) if len(free) else 0.0
        result.append(1.0 / ease if ease > 1e-12 else 0.0)
    return result
