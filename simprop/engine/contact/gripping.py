"""Dry friction that goes with the load in its joint: its limits, step by step, for any engine.

An engine hands over the wrench that each such joint carried in the step just done; the limits it gets hold for the next
step (a lag of one step). They are the mean of the last two, so that friction that changes the very load it comes from
settles instead of jumping. Where joints share a load in a way that rigid bodies leave open, the force counts as the
engine splits it: on whichever of them it presses, it rubs. A moment that such joints could as well leave to each other
is left out (it would become forces by which they press, as they give: see `simprop.loads.elastic`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.track import axis_rate
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Grip

STICKS = 1e9
"""A limit that holds anything, N*m or N."""
TRIES = 40
"""How often the first step is tried, each time with the limits that its own loads ask for."""
_SURE = 1e-5


@dataclass(frozen=True)
class GripData:
    """Friction of one axis of a joint.

    Attributes:
        axis: index into `Assembly.axes`.
        joint: index of the joint.
        law: by what it goes.
        moment: projector on the part of the moment that rigid bodies determine, (3, 3), first body's start axes.
    """

    axis: int
    joint: int
    law: Grip
    moment: Array


def grips(assembly: Assembly) -> tuple[GripData, ...]:
    """Friction by coefficients of all joints without play, in the order of the axes."""
    found: list[GripData] = []
    parts: list[Array] = []
    for index, joint in enumerate(assembly.joints):
        if joint.kind.play is not None:
            continue  # it rubs where it touches
        own = [f.axis for f in joint.freedoms]
        for axis, loss in zip(own, joint.kind.losses, strict=True):
            if loss.grip is not None:
                parts = parts or determined(assembly)
                found.append(GripData(axis, index, loss.grip, parts[index]))
    return tuple(found)


def determined(assembly: Assembly) -> list[Array]:
    """For each joint, the projector (3, 3) on the part of its moment that balance alone determines.

    In the start pose and the first body's axes there.
    """
    moving = {i: 6 * k for k, i in enumerate(i for i, b in enumerate(assembly.bodies) if not b.fixed)}
    points = np.array([j.point for j in assembly.joints])
    size = max(0.02, float(np.linalg.norm(np.ptp(points, axis=0))) / 3)
    columns: list[Array] = []
    blocks: list[tuple[int, Array]] = []
    for joint in assembly.joints:
        for directions, turning in zip(joint.bars, (False, True), strict=True):
            blocks.append((len(columns), directions))
            for way in directions:
                column = np.zeros(6 * len(moving))
                for body, sign in ((joint.second, 1.0), (joint.first, -1.0)):
                    if body in moving:
                        row = moving[body]
                        arm = joint.point - assembly.bodies[body].com
                        column[row : row + 3] = 0.0 if turning else sign * way
                        column[row + 3 : row + 6] = sign * (way if turning else np.cross(arm, way) / size)
                columns.append(column)
    matrix = np.array(columns).reshape(len(columns), -1).T
    _, sigma, basis = np.linalg.svd(matrix, full_matrices=True)
    rank = int(np.sum(sigma > 1e-8 * max(1e-12, float(sigma.max(initial=0.0)))))
    free = basis[rank:].T @ basis[rank:]
    result = []
    for start, directions in blocks:
        block = free[start : start + len(directions), start : start + len(directions)]
        values, vectors = np.linalg.eigh(block) if len(directions) else (np.zeros(0), np.zeros((0, 0)))
        kept = vectors[:, values < _SURE].T @ directions
        result.append(kept.T @ kept)
    return result[1::2]


class Grips:
    """The limits of load-dependent friction over a run.

    Attributes:
        data: what rubs.
        wrench: of each joint in the step just done, force and moment about its point, world, (G, 6); to be set.
        turn: rotations of the first bodies, (G, 3, 3); to be set where they move.
        rate: of each axis, (G,); to be set.
        limit: present limits, N*m or N, (G,); before the first step what is at rest sticks.
    """

    def __init__(self, assembly: Assembly, data: Sequence[GripData]):
        from simprop.engine.contact.grip_kernel import limits

        self.data, count = tuple(data), len(data)
        self.wrench, self.turn = np.zeros((count, 6)), np.tile(np.eye(3), (count, 1, 1))
        self.rate = np.array([axis_rate(assembly, g.axis) for g in self.data])
        self.limit = np.where(self.rate == 0.0, STICKS, 0.0)
        laws = [g.law for g in self.data]
        scalars = np.array([(k.surfaces.static, k.surfaces.kinetic, k.arm, k.length) for k in laws])
        vectors = (
            np.array([g.moment for g in self.data]),
            np.array([assembly.joints[g.joint].axis for g in self.data]),
        )
        fresh = np.full(count, -1.0)
        self._update: Callable[[], None] = partial(
            limits, scalars, vectors, self.wrench, self.turn, self.rate, fresh, self.limit
        )

    def update(self) -> None:
        """Set `limit` for the next step from `wrench`, `turn` and `rate` of the step just done."""
        self._update()
