"""What each joint bars in the frame of the engine's joints, cut to what isn't barred already.

The engine bars shifts along, and turns about, the axes of a frame; a row too many makes its equations singular.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly, Closure, JointData
from simprop.errors import EngineError
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import square

_ALIGNED = 1e-6


@dataclass(frozen=True)
class Barred:
    """A joint as the engine bars it.

    Attributes:
        frame: its axes as columns, world axes of the start pose, (3, 3).
        rows: which of the three shifts and three turns in that frame are barred, (6,) of 0 and 1.
    """

    frame: Array
    rows: tuple[int, ...]


def barred(assembly: Assembly) -> dict[int, Barred]:
    """The joints that bar something, by index, without those that give.

    Raises:
        EngineError: for a joint whose free motions don't lie along three square axes.
    """
    closing = {c.joint: c for c in assembly.closures}
    found = {}
    for j, joint in enumerate(assembly.joints):
        if joint.give is not None:
            continue
        frame = _frame(joint)
        rows = _rows(joint, frame)
        if j in closing:
            rows = _cut(rows, frame, closing[j])
        if any(rows):
            found[j] = Barred(frame, tuple(rows))
    return found


def reaction(told: Array, rows: Sequence[int], one: Array, two: Array) -> tuple[Array, Array]:
    """Force and moment of a joint on its second body, at the point that this carries, (n, 3) N and N*m each.

    The engine tells the force on the first body in the first's axes. In place of a moment it tells the multipliers of
    its equations for turns: of two barred turns those of one axis staying square to two others, which make a moment
    square to their own axes. Their signs were measured on a joint that bears a stated torque, for each set of turns.

    Args:
        told: force and multipliers, (n, 6).
        rows: which shifts and turns the joint bars, (6,) of 0 and 1.
        one, two: axes of its rows as the first and the second body carry them, as columns, (n, 3, 3) world.
    """
    turns, moment = [k for k in range(3) if rows[3 + k]], told[:, 3:]
    if len(turns) == 2:
        free = np.zeros(3)
        free[3 - sum(turns)] = 1.0
        moment = np.cross(free, moment)
    elif len(turns) == 3:
        moment = moment * [-1.0, 1.0, 1.0]
    else:
        moment = moment * [1.0, -1.0, 1.0]
    return -np.einsum("nij,nj->ni", one, told[:, :3]), np.einsum("nij,nj->ni", two, moment)


def _frame(joint: JointData) -> Array:
    """Three square axes along which the free motions of a joint lie."""
    ways: list[Array] = []
    for freedom in joint.freedoms:
        if freedom.how == "ball":
            continue
        along = [abs(float(freedom.way @ way)) for way in ways]
        if any(a > 1 - _ALIGNED for a in along):
            continue
        if any(a > _ALIGNED for a in along):
            raise EngineError(
                f"joint {joint.name!r} moves along axes that aren't square to each other: the exudyn engine can't "
                "carry that; use another engine"
            )
        ways.append(freedom.way)
    if not ways:
        return np.eye(3)
    if len(ways) == 1:
        ways += list(square(ways[0]))
    elif len(ways) == 2:
        ways.append(np.cross(ways[0], ways[1]))
    frame = np.array(ways[:3]).T
    if np.linalg.det(frame) < 0:
        frame[:, 2] *= -1.0
    return frame


def _rows(joint: JointData, frame: Array) -> list[int]:
    rows = [1] * 6
    for freedom in joint.freedoms:
        if freedom.how == "ball":
            rows[3:] = [0, 0, 0]
            continue
        axis = int(np.argmax(np.abs(frame.T @ freedom.way)))
        rows[axis + (0 if freedom.how == "slide" else 3)] = 0
    return rows


def _cut(rows: list[int], frame: Array, closure: Closure) -> list[int]:
    """Leave out as many rows as the rest of the prop already bars: those most like what it bars."""
    if not len(closure.redundant):
        return rows
    inside = np.hstack([closure.redundant[:, :3] @ frame, closure.redundant[:, 3:] @ frame])
    inside[:, [k for k in range(6) if not rows[k]]] = 0.0
    rows = list(rows)
    for _ in range(len(inside)):
        i, k = np.unravel_index(int(np.argmax(np.abs(inside))), inside.shape)
        if abs(inside[i, k]) < _ALIGNED:
            break
        rows[int(k)] = 0
        pivot = inside[i] / inside[i, k]
        inside = np.delete(inside, i, axis=0)
        inside = inside - np.outer(inside[:, k], pivot)
    return rows
