"""The wrench through every joint at every step, by Newton and Euler over the recorded motion.

For each moving body the six balance equations hold: the sum of the joint wrenches equals mass times acceleration (and
the rate of spin) less all known loads. All bodies together give a linear system in the joints' components, solved
in batches. Where joints share a load in a way that rigid bodies don't determine (the side load of a planar loop), the
solution with the least sum of squares is taken, moments counted at the prop's own length: as if all joints
were equally stiff. Such components are named and kept out of the peaks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly, JointData
from simprop.engine.acting.actuation import Actuation
from simprop.engine.world import APPLIED, Trajectory
from simprop.geometry.arrays import Array
from simprop.loads.balance import Balance, Frame, frame_of
from simprop.loads.kernel import add_components
from simprop.loads.least import dense, least

Flags = NDArray[np.bool_]
_LARGE = 90
"""Rows above which a singular value decomposition takes too long."""
_CHUNK = 1024
_SURE = 1e-5


@dataclass(frozen=True)
class Wrenches:
    """Wrench of each joint on its second body, at the joint's point (carried by the first body); n steps, J joints.

    Attributes:
        point: where the joint is, (n, J, 3) m, world.
        force: (n, J, 3) N, world.
        moment: about the point, (n, J, 3) N*m, world.
        sure_force: the part of the force that rigid bodies determine, (n, J, 3) N.
        sure_moment: the same of the moment, (n, J, 3) N*m.
        shared: for each joint, what rigid bodies don't determine, in words ("" where all is).
        recovered: axis load that each motor must have given, from the motion alone, (n, M) N*m or N; NaN where the
            mechanism doesn't determine it.
        applied: axis load that the law of each motor gave, (n, M).
        unbalanced: what the motion leaves over in the balance equations, as a share of the largest load.
    """

    point: Array
    force: Array
    moment: Array
    sure_force: Array
    sure_moment: Array
    shared: tuple[str, ...]
    recovered: Array
    applied: Array
    unbalanced: float


def wrenches(assembly: Assembly, track: Trajectory, laws: Actuation) -> Wrenches:
    """Joint wrenches over a whole run.

    Args:
        assembly: what was run.
        track: its recorded motion and applied loads.
        laws: all that acts on it.

    Source: Newton-Euler equations; least-squares share as in the module's text.
    """
    frames = [frame_of(j) for j in assembly.joints]
    size = _length(assembly)
    few = 12 if len(assembly.bodies) < 20 else 3
    sample = np.unique(np.linspace(0, len(track.time) - 1, few).astype(int))
    probe = _Solver(assembly, track, laws, frames, size)
    frames = probe.split(sample)
    system = _Solver(assembly, track, laws, frames, size)
    sure, words = system.determined(sample)
    with_motors = system.motors_determined(sample)
    return system.solve(sure, words, with_motors)


def _length(assembly: Assembly) -> float:
    points = np.array([j.point for j in assembly.joints]) if assembly.joints else np.zeros((1, 3))
    return max(0.02, float(np.linalg.norm(np.ptp(points, axis=0))) / 3)


class _Solver(Balance):
    """Solves the balance equations, and tells what they don't determine."""

    def _free(self, which: Array) -> Array:
        """Projector on what the balance leaves undetermined, summed over some steps, (columns, columns)."""
        turn, points = self.geometry(which)
        a = dense(self.blocks(which, turn, points, with_motors=False))
        if self.rows > _LARGE:
            return sum((_undetermined(one) for one in a), np.zeros((self.columns, self.columns)))
        total = np.zeros((self.columns, self.columns))
        for one in a:
            _, sigma, v = np.linalg.svd(one, full_matrices=True)
            rank = int(np.sum(sigma > 1e-8 * max(1e-12, float(sigma[0])))) if sigma.size else 0
            total += v[rank:].T @ v[rank:]
        return total

    def split(self, which: Array) -> list[Frame]:
        """Joint directions turned so that determined and undetermined ones stand apart, where they can."""
        if not self.rows or not self.columns:
            return self.frames
        free = self._free(which)
        column = 0
        frames = []
        for frame in self.frames:
            blocks = []
            for directions in (frame.forces, frame.moments):
                k = len(directions)
                block = free[column : column + k, column : column + k]
                column += k
                if k:
                    values, vectors = np.linalg.eigh(block)
                    mixed = values[0] + 1e-12 > 1e-9 or values[-1] > _SURE > values[0]
                    directions = vectors.T @ directions if mixed and values[-1] > _SURE else directions
                blocks.append(directions)
            frames.append(Frame(blocks[0], blocks[1]))
        return frames

    def determined(self, which: Array) -> tuple[Flags, tuple[str, ...]]:
        """Which components rigid bodies determine, (columns,), and in words what they don't, one text a joint."""
        if not self.columns:
            return np.zeros(0, dtype=bool), tuple("" for _ in self.frames)
        sure: Flags = np.zeros(self.columns, dtype=bool)
        if self.rows:
            sure = np.asarray(np.diag(self._free(which)) < _SURE)
        words, column = [], 0
        for joint, frame in zip(self.assembly.joints, self.frames, strict=True):
            parts = []
            for directions, what in ((frame.forces, "force"), (frame.moments, "moment")):
                names = [
                    _word(direction, joint, what)
                    for direction, known in zip(
                        directions, sure[column : column + len(directions)], strict=True
                    )
                    if not known
                ]
                column += len(directions)
                parts += sorted(set(names))
            words.append(", ".join(parts))
        return sure, tuple(words)

    def motors_determined(self, which: Array) -> bool:
        """True if the motion alone tells the axis load of every motor."""
        if not self.laws.motors or not self.rows:
            return False
        turn, points = self.geometry(which)
        both = dense(self.blocks(which, turn, points, with_motors=True))
        return all(_adds_rank(x[:, : self.columns], x[:, self.columns :]) for x in both)

    def _chunks(self) -> Iterator[slice]:
        for start in range(0, len(self.track.time), _CHUNK):
            yield slice(start, min(start + _CHUNK, len(self.track.time)))

    def solve(self, sure: Flags, words: tuple[str, ...], with_motors: bool) -> Wrenches:
        """Solve every step."""
        n, joints, motors = len(self.track.time), len(self.assembly.joints), len(self.laws.motors)
        point, force, moment = (np.zeros((n, joints, 3)) for _ in range(3))
        sure_force, sure_moment = np.zeros((n, joints, 3)), np.zeros((n, joints, 3))
        recovered = np.full((n, motors), np.nan)
        left_over, largest = 0.0, float(np.abs(self.track.touch_force).max(initial=0.0))
        for part in self._chunks():
            turn, points = self.geometry(part)
            b, known = self.right(part, turn, points, with_motors)
            x, rest = least(self.blocks(part, turn, points, with_motors), b)
            left_over = max(left_over, float(np.abs(rest).max(initial=0.0)))
            largest = max(largest, float(np.abs(x).max(initial=0.0)))
            if with_motors:
                recovered[part] = x[:, self.columns :]
                known = known.copy()
                for k, motor in enumerate(self.laws.motors):
                    known[:, motor.axis] += recovered[part][:, k]
            point[part] = points
            self._walls(part, points, force[part], moment[part])
            self._walls(part, points, sure_force[part], sure_moment[part])
            arms = self.slid(turn, self.track.position[part]) - points
            found = force[part], moment[part], sure_force[part], sure_moment[part]
            self._spread(x, sure, known, turn, arms, *found)
        applied = (
            np.stack(
                [self.track.applied[:, APPLIED.index("motor"), m.axis] for m in self.laws.motors], axis=1
            )
            if motors
            else np.zeros((n, 0))
        )
        share = left_over / largest if largest > 0 else 0.0
        return Wrenches(point, force, moment, sure_force, sure_moment, words, recovered, applied, share)

    def _walls(self, part: slice, points: Array, force: Array, moment: Array) -> None:
        """What joints with play get where they touch."""
        for k, touch in enumerate(self.laws.touches):
            if touch.joint >= 0:
                push, place = self.track.touch_force[part][:, k], self.track.touch_point[part][:, k]
                force[:, touch.joint] += push
                moment[:, touch.joint] += np.cross(place - points[:, touch.joint], push)

    def _spread(
        self,
        x: Array,
        sure: Flags,
        known: Array,
        turn: Array,
        arms: Array,
        force: Array,
        moment: Array,
        sure_force: Array,
        sure_moment: Array,
    ) -> None:
        """Components back to world vectors, with the known axis loads added."""
        column = 0
        for j, (joint, frame) in enumerate(zip(self.assembly.joints, self.frames, strict=True)):
            rotation = turn[:, joint.first]
            for directions, whole, part, scale in (
                (frame.forces, force, sure_force, 1.0),
                (frame.moments, moment, sure_moment, self.size),
            ):
                k = len(directions)
                here = slice(column, column + k)
                add_components(whole[:, j], part[:, j], rotation, directions, x[:, here], sure[here], scale)
                column += k
        for k, axis in enumerate(self.assembly.axes):
            joint = self.assembly.joints[axis.joint]
            way = (turn[:, joint.first] @ axis.way) * known[:, k, None]
            if axis.motion == "slide":
                for whole in (force, sure_force):
                    whole[:, axis.joint] += way
                way = np.cross(arms[:, axis.joint], way)
            for whole in (moment, sure_moment):
                whole[:, axis.joint] += way


def _adds_rank(a: Array, more: Array) -> bool:
    """True if each further column is independent of the matrix and of the other columns."""
    if len(a) <= _LARGE:
        both = np.concatenate([a, more], axis=1)
        return bool(np.linalg.matrix_rank(both, 1e-7) - np.linalg.matrix_rank(a, 1e-7) == more.shape[1])
    gram = a @ a.T
    damped = gram + 1e-12 * np.trace(gram) / len(gram) * np.eye(len(gram))
    beyond = more - gram @ np.linalg.solve(damped, more)
    return bool(np.linalg.matrix_rank(beyond, 1e-6) == more.shape[1])


def _undetermined(a: Array) -> Array:
    """Projector on the null space of a large matrix by its damped normal equations; good to 1e-7."""
    gram = a @ a.T
    damped = gram + 1e-12 * np.trace(gram) / len(gram) * np.eye(len(gram))
    return np.asarray(np.eye(a.shape[1]) - a.T @ np.linalg.solve(damped, a))


def _word(direction: Array, joint: JointData, what: str) -> str:
    along = abs(float(direction @ joint.axis)) > 0.7
    if what == "force":
        return "axial force" if along else "side force"
    return "twisting moment" if along else "tilting moment"
