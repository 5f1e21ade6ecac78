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

from simprop.assembly.kinematics import bars, kind_of, square
from simprop.assembly.turning import matrices
from simprop.assembly.types import Array, Assembly, JointData
from simprop.engine.actuation import Actuation, MotorData, actuate
from simprop.engine.world import APPLIED, Trajectory
from simprop.loads.least import WIDE, Blocks, dense, least

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


@dataclass(frozen=True)
class _Frame:
    """One joint's unknown directions in its first body's start axes: forces (k, 3) and moments (m, 3)."""

    forces: Array
    moments: Array


def wrenches(assembly: Assembly, track: Trajectory, actuation: Actuation | None = None) -> Wrenches:
    """Joint wrenches over a whole run.

    Args:
        assembly: what was run.
        track: its recorded motion and applied loads.
        actuation: its laws; worked out from the rig when None.

    Source: Newton-Euler equations; least-squares share as in the module's text.
    """
    laws = actuation or actuate(assembly)
    frames = [_frame(j) for j in assembly.joints]
    size = _length(assembly)
    few = 12 if len(assembly.bodies) < 20 else 3
    sample = np.unique(np.linspace(0, len(track.time) - 1, few).astype(int))
    probe = _System(assembly, track, laws, frames, size)
    frames = probe.split(sample)
    system = _System(assembly, track, laws, frames, size)
    sure, words = system.determined(sample)
    with_motors = system.motors_determined(sample)
    return system.solve(sure, words, with_motors)


def _length(assembly: Assembly) -> float:
    points = np.array([j.point for j in assembly.joints]) if assembly.joints else np.zeros((1, 3))
    return max(0.02, float(np.linalg.norm(np.ptp(points, axis=0))) / 3)


def _frame(joint: JointData) -> _Frame:
    return _Frame(*bars(kind_of(joint), joint.axis))


class _System:
    """The balance equations of one run: rows are bodies (force, then moment / size), columns joint components."""

    def __init__(
        self, assembly: Assembly, track: Trajectory, laws: Actuation, frames: list[_Frame], size: float
    ):
        self.assembly, self.track, self.laws, self.frames, self.size = assembly, track, laws, frames, size
        moving = [i for i, b in enumerate(assembly.bodies) if not b.fixed]
        self.row = {body: 6 * k for k, body in enumerate(moving)}
        self.moving = moving
        self.rows = 6 * len(moving)
        self.columns = sum(len(f.forces) + len(f.moments) for f in frames)

    def geometry(self, which: Array | slice) -> tuple[Array, Array]:
        """Rotation matrices (n, B, 3, 3) and joint points (n, J, 3) at some steps."""
        turn = matrices(self.track.rotation[which])
        centre = self.track.position[which]
        points = np.empty((len(centre), len(self.assembly.joints), 3))
        for j, joint in enumerate(self.assembly.joints):
            local = joint.point - self.assembly.bodies[joint.first].com
            points[:, j] = centre[:, joint.first] + turn[:, joint.first] @ local
        return turn, points

    def blocks(self, which: Array | slice, turn: Array, points: Array, with_motors: bool) -> Blocks:
        """Balance matrices as one column block a joint, then one a motor where its load is unknown too."""
        n, count = len(turn), len(self.frames) + (len(self.laws.motors) if with_motors else 0)
        data = np.zeros((n, count, 12, WIDE))
        rows = np.full((count, 2), -1, dtype=np.int64)
        counts = np.ones(count, dtype=np.int64)
        centre = self.track.position[which]
        for j, (joint, frame) in enumerate(zip(self.assembly.joints, self.frames, strict=True)):
            k, m = len(frame.forces), len(frame.moments)
            forces = turn[:, joint.first] @ frame.forces.T
            moments = turn[:, joint.first] @ frame.moments.T
            if joint.kind == "slider" and joint.play > 0.0:
                moments = self._keyed(j, joint, turn)[:, :, None]
            counts[j] = k + m
            for half, (body, sign) in enumerate(((joint.second, 1.0), (joint.first, -1.0))):
                if body not in self.row:
                    continue
                rows[j, half] = self.row[body]
                arm = points[:, j] - centre[:, body]
                top = 6 * half
                data[:, j, top : top + 3, :k] = sign * forces
                data[:, j, top + 3 : top + 6, :k] = (
                    sign / self.size * np.cross(arm[:, None, :], forces.transpose(0, 2, 1)).transpose(0, 2, 1)
                )
                data[:, j, top + 3 : top + 6, k : k + m] = sign * moments
        if with_motors:
            self._motor_blocks(data, rows, turn, points, centre)
        return Blocks(data, rows, counts, self.rows)

    def _motor_blocks(
        self, data: Array, rows: NDArray[np.int64], turn: Array, points: Array, centre: Array
    ) -> None:
        """Balance of a unit axis load of each motor."""
        for k, motor in enumerate(self.laws.motors, len(self.frames)):
            axis = self._axis_of(motor.axis)
            joint = self.assembly.joints[axis[0]]
            whole = np.zeros((len(turn), self.rows))
            self._axis_load(whole, axis, np.ones(len(turn)), turn, points, centre)
            for half, body in enumerate((joint.second, joint.first)):
                if body in self.row:
                    rows[k, half] = self.row[body]
                    data[:, k, 6 * half : 6 * half + 6, 0] = whole[:, self.row[body] : self.row[body] + 6]

    def _keyed(self, j: int, joint: JointData, turn: Array) -> Array:
        """About what a loose guide bars turning: square to its two tilts, one carried by each body, (n, 3)."""
        one, two = square(joint.axis)
        outer = any(b.joint == j and not b.forward for b in self.assembly.tree)
        held, hung = (joint.second, joint.first) if outer else (joint.first, joint.second)
        way = np.cross(turn[:, held] @ one, turn[:, hung] @ two)
        return np.asarray(way / np.linalg.norm(way, axis=1, keepdims=True))

    def _axis_of(self, axis: int) -> tuple[int, str]:
        data = self.assembly.axes[axis]
        return data.joint, data.motion

    def _axis_load(
        self, into: Array, axis: tuple[int, str], load: Array, turn: Array, points: Array, centre: Array
    ) -> None:
        """Add the balance of an axis load on the second body and its counterpart on the first; `into` is (n, rows)."""
        j, motion = axis
        joint = self.assembly.joints[j]
        way = (turn[:, joint.first] @ joint.axis) * load[:, None]
        for body, sign in ((joint.second, 1.0), (joint.first, -1.0)):
            if body not in self.row:
                continue
            row = self.row[body]
            if motion == "turn":
                into[:, row + 3 : row + 6] += sign / self.size * way
            else:
                into[:, row : row + 3] += sign * way
                into[:, row + 3 : row + 6] += sign / self.size * np.cross(points[:, j] - centre[:, body], way)

    def right(
        self, which: Array | slice, turn: Array, points: Array, skip_motors: bool
    ) -> tuple[Array, Array]:
        """Inertia less known loads, (n, rows), and the known axis load of each axis, (n, A)."""
        t, a = self.track, self.assembly
        n, centre = len(turn), self.track.position[which]
        result = np.zeros((n, self.rows))
        gravity = np.asarray(a.rig.run.gravity)
        for body in self.moving:
            row, data = self.row[body], a.bodies[body]
            spin, alpha = t.spin[which][:, body], t.spin_acceleration[which][:, body]
            inertia = turn[:, body] @ data.inertia @ turn[:, body].transpose(0, 2, 1)
            result[:, row : row + 3] = data.mass * (t.acceleration[which][:, body] - gravity)
            momentum = np.einsum("nij,nj->ni", inertia, spin)
            rate = np.einsum("nij,nj->ni", inertia, alpha) + np.cross(spin, momentum)
            result[:, row + 3 : row + 6] = rate / self.size
        known = t.applied[which].sum(axis=1)
        if skip_motors:
            known = known - t.applied[which][:, APPLIED.index("motor")]
        taken = np.zeros_like(result)
        for motor in self.laws.motors:
            known = known.copy()
            known[:, motor.axis] += self._rotor(motor, which, turn, taken)
        for k in range(len(a.axes)):
            self._axis_load(taken, self._axis_of(k), known[:, k], turn, points, centre)
        self._lines(taken, which, centre)
        self._touches(taken, which, centre)
        return result - taken, known

    def _rotor(self, motor: MotorData, which: Array | slice, turn: Array, taken: Array) -> Array:
        """Axis load that the rotor's inertia takes (and what its spin asks of the body it is mounted on)."""
        if motor.reflected_inertia == 0.0:
            return np.zeros(len(turn))
        j, _ = self._axis_of(motor.axis)
        joint = self.assembly.joints[j]
        t = self.track
        axis = turn[:, joint.first] @ joint.axis
        rate = self._rate(motor.axis, which)
        accel = self._acceleration(motor.axis, which, axis)
        cross = motor.reflected_inertia / motor.gear_ratio
        load = -motor.reflected_inertia * accel
        if joint.first in self.row:
            carried = np.einsum("ni,ni->n", t.spin_acceleration[which][:, joint.first], axis)
            load = load - cross * carried
            asked = cross * (
                accel[:, None] * axis + rate[:, None] * np.cross(t.spin[which][:, joint.first], axis)
            )
            row = self.row[joint.first]
            taken[:, row + 3 : row + 6] -= asked / self.size
        return load

    def _rate(self, axis: int, which: Array | slice) -> Array:
        return np.asarray(self.track.rate[which][:, axis])

    def _acceleration(self, axis: int, which: Array | slice, way: Array) -> Array:
        """Second rate of an axis from the bodies' accelerations, (n,)."""
        j, motion = self._axis_of(axis)
        joint = self.assembly.joints[j]
        t = self.track
        alpha = t.spin_acceleration[which]
        if motion == "turn":
            spin = t.spin[which]
            relative = alpha[:, joint.second] - alpha[:, joint.first]
            turning = np.cross(spin[:, joint.first], spin[:, joint.second])
            return np.asarray(np.einsum("ni,ni->n", relative - turning, way))
        rate = self.track.rate[:, axis]
        return np.asarray(np.gradient(rate, self.track.time)[which])

    def _lines(self, taken: Array, which: Array | slice, centre: Array) -> None:
        t = self.track
        for k, line in enumerate(self.laws.lines):
            start, end = t.line_start[which][:, k], t.line_end[which][:, k]
            along = end - start
            along = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
            pull = t.line_force[which][:, k, None] * along
            for body, sign, place in ((line.first, 1.0, start), (line.second, -1.0, end)):
                if body in self.row:
                    row = self.row[body]
                    taken[:, row : row + 3] += sign * pull
                    taken[:, row + 3 : row + 6] += sign / self.size * np.cross(place - centre[:, body], pull)

    def _touches(self, taken: Array, which: Array | slice, centre: Array) -> None:
        for k, touch in enumerate(self.laws.touches):
            force, place = self.track.touch_force[which][:, k], self.track.touch_point[which][:, k]
            for body, sign in ((touch.second, 1.0), (touch.first, -1.0)):
                if body in self.row:
                    row = self.row[body]
                    taken[:, row : row + 3] += sign * force
                    taken[:, row + 3 : row + 6] += sign / self.size * np.cross(place - centre[:, body], force)

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

    def split(self, which: Array) -> list[_Frame]:
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
            frames.append(_Frame(blocks[0], blocks[1]))
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
            self._spread(x, sure, known, turn, force[part], moment[part], sure_force[part], sure_moment[part])
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
                values = x[:, column : column + k] * scale
                world = rotation @ directions.T
                whole[:, j] += np.einsum("nij,nj->ni", world, values)
                part[:, j] += np.einsum("nij,nj->ni", world, values * sure[column : column + k])
                column += k
        for k, axis in enumerate(self.assembly.axes):
            joint = self.assembly.joints[axis.joint]
            way = (turn[:, joint.first] @ joint.axis) * known[:, k, None]
            for whole in (moment, sure_moment) if axis.motion == "turn" else (force, sure_force):
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
