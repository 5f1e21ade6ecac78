"""The wrench through every joint at every step, by Newton and Euler over the recorded motion.

For each moving body the six balance equations hold: the sum of the joint wrenches equals mass times acceleration (and
the rate of spin) less all known loads. All bodies together give a linear system in the joints' components, solved
in batches. Where joints share a load in a way that rigid bodies don't determine (two hinges of a lid, the side load of
a planar loop), they take it as their own give and that of the bodies between them make it: the split that stores the
least elastic energy (`simprop.loads.elastic`). Beside it stands the range that it lies in: as if all joints were
equally stiff (the least sum of squares, moments counted at the prop's own length), and as if this one bore all that
it can.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly, JointData
from simprop.elastic.sharing import alone, share
from simprop.engine.acting.actuation import Actuation
from simprop.engine.world import APPLIED, Trajectory
from simprop.geometry.arrays import Array
from simprop.loads.balance import Balance, Frame, frame_of
from simprop.loads.elastic import Elastic
from simprop.loads.kernel import add_components
from simprop.loads.least import dense, least

Flags = NDArray[np.bool_]
_LARGE = 90
"""Rows above which a singular value decomposition takes too long."""
_CHUNK = 1024
_SURE = 1e-5


@dataclass(frozen=True)
class Shares:
    """Force and moment of a joint that shares a load: sizes at each step, (n,) N and N*m.

    Attributes:
        equal: as if all joints were equally stiff.
        alone: as if this joint took all that it can.
        most: its whole wrench then, as in `Wrenches`: force and moment, (n, 3) N and N*m, world.
    """

    equal: tuple[Array, Array]
    alone: tuple[Array, Array]
    most: tuple[Array, Array]


@dataclass(frozen=True)
class Wrenches:
    """Wrench of each joint on its second body, at the joint's point (carried by the first body); n steps, J joints.

    Attributes:
        point: where the joint is, (n, J, 3) m, world.
        force: (n, J, 3) N, world.
        moment: about the point, (n, J, 3) N*m, world.
        shared: for each joint, what rigid bodies don't determine, in words ("" where all is).
        shares: of each joint that shares a load, by its index, the range in which its part lies.
        recovered: axis load that each motor must have given, from the motion alone, (n, M) N*m or N; NaN where the
            mechanism doesn't determine it.
        applied: axis load that the law of each motor gave, (n, M).
        coupled: force of each coupling on the body that its first joint moves, (n, C) N.
        unbalanced: what the motion leaves over in the balance equations, as a share of the largest load.
    """

    point: Array
    force: Array
    moment: Array
    shared: tuple[str, ...]
    shares: Mapping[int, Shares]
    recovered: Array
    applied: Array
    unbalanced: float
    coupled: Array = field(default_factory=lambda: np.zeros((0, 0)))


def wrenches(assembly: Assembly, track: Trajectory, laws: Actuation) -> Wrenches:
    """Joint wrenches over a whole run.

    Args:
        assembly: what was run.
        track: its recorded motion and applied loads.
        laws: all that acts on it.

    Source: Newton-Euler equations; shares by least work as in the module's text.
    """
    frames = [frame_of(j) for j in assembly.joints]
    size = _length(assembly)
    sample = _sample(assembly, track)
    probe = _Solver(assembly, track, laws, frames, size)
    frames = probe.split(sample)
    system = _Solver(assembly, track, laws, frames, size)
    return system.solve(system.undetermined(sample), system.motors_determined(sample))


def determined(assembly: Assembly, track: Trajectory, laws: Actuation) -> list[Frame]:
    """What of each joint rigid bodies determine, as directions in its first body's start axes."""
    probe = _Solver(assembly, track, laws, [frame_of(j) for j in assembly.joints], _length(assembly))
    sample = _sample(assembly, track)
    frames = probe.split(sample)
    loose = _Solver(assembly, track, laws, frames, _length(assembly)).undetermined(sample).columns
    found, column = [], 0
    for frame in frames:
        kept = []
        for directions in (frame.forces, frame.moments):
            kept.append(directions[~loose[column : column + len(directions)]])
            column += len(directions)
        found.append(Frame(*kept))
    return found


def _sample(assembly: Assembly, track: Trajectory) -> Array:
    few = 12 if len(assembly.bodies) < 20 else 3
    return np.unique(np.linspace(0, len(track.time) - 1, few).astype(int))


def _length(assembly: Assembly) -> float:
    points = np.array([j.point for j in assembly.joints]) if assembly.joints else np.zeros((1, 3))
    return max(0.02, float(np.linalg.norm(np.ptp(points, axis=0))) / 3)


@dataclass(frozen=True)
class Open:
    """What balance leaves open.

    Attributes:
        count: in how many directions.
        words: what of each joint, in words ("" for nothing).
        columns: which components, (columns,).
    """

    count: int
    words: tuple[str, ...]
    columns: Flags


class _Solver(Balance):
    """Solves the balance equations, and tells what they don't determine."""

    def _free(self, which: Array) -> Array:
        """Projectors on what the balance leaves undetermined at some steps, (m, columns, columns)."""
        turn, points = self.geometry(which)
        a = dense(self.blocks(which, turn, points, with_motors=False))
        return np.array([_undetermined(one) for one in a])

    def usual(self, which: Array) -> Array:
        """The mean of those projectors over the steps that leave least open, (columns, columns).

        A pose in which links pass in line leaves more open for a moment; that is no property of the prop.
        """
        free = self._free(which)
        counts = np.rint(np.trace(free, axis1=1, axis2=2))
        return np.asarray(free[counts == counts.min()].mean(axis=0))

    def split(self, which: Array) -> list[Frame]:
        """Joint directions turned so that determined and undetermined ones stand apart, where they can."""
        if not self.rows or not self.columns:
            return self.frames
        free = self.usual(which)
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
                    mixed = values[0] < _SURE < values[-1]
                    directions = vectors.T @ directions if mixed else directions
                blocks.append(directions)
            frames.append(Frame(blocks[0], blocks[1]))
        return frames

    def undetermined(self, which: Array) -> Open:
        """What rigid bodies leave open."""
        if not self.columns or not self.rows:
            return Open(0, tuple("" for _ in self.frames), np.zeros(self.columns, dtype=bool))
        free = self.usual(which)
        loose: Flags = np.asarray(np.diag(free) >= _SURE)
        words, column = [], 0
        for joint, frame in zip(self.assembly.joints, self.frames, strict=True):
            parts = []
            for directions, what in ((frame.forces, "force"), (frame.moments, "moment")):
                here = loose[column : column + len(directions)]
                names = [_word(d, joint, what) for d, open_ in zip(directions, here, strict=True) if open_]
                column += len(directions)
                parts += sorted(set(names))
            words.append(", ".join(parts))
        return Open(int(np.rint(np.trace(free))), tuple(words), loose)

    def motors_determined(self, which: Array) -> bool:
        """True if the motion alone tells the axis load of every motor."""
        if not self.laws.motors or not self.rows:
            return False
        turn, points = self.geometry(which)
        both = dense(self.blocks(which, turn, points, with_motors=True))
        return all(_adds_rank(x[:, : self.known], x[:, self.known :]) for x in both)

    def _chunks(self) -> Iterator[slice]:
        for start in range(0, len(self.track.time), _CHUNK):
            yield slice(start, min(start + _CHUNK, len(self.track.time)))

    def solve(self, open_: Open, with_motors: bool) -> Wrenches:
        """Solve every step."""
        n, joints, motors = len(self.track.time), len(self.assembly.joints), len(self.laws.motors)
        point, force, moment = (np.zeros((n, joints, 3)) for _ in range(3))
        recovered = np.full((n, motors), np.nan)
        coupled = np.zeros((n, len(self.assembly.couplings)))
        left_over = 0.0
        known_loads = self.track.touch_force, self.track.line_force
        largest = max(float(np.abs(load).max(initial=0.0)) for load in known_loads)
        sharing = [j for j, words in enumerate(open_.words) if words]
        sizes = {j: np.zeros((4, n)) for j in sharing}
        most = tuple(np.zeros((n, len(sharing), 3)) for _ in range(2))
        elastic = Elastic(self.assembly, self.laws, self.frames, self.size) if open_.count else None
        for part in self._chunks():
            turn, points = self.geometry(part)
            b, known = self.right(part, turn, points, with_motors)
            blocks = self.blocks(part, turn, points, with_motors)
            x, rest, free = least(blocks, b, open_.count)
            if self.assembly.couplings:  # what parts the wheels goes with the force that turns them
                pushes = x[:, self.columns : self.known]
                rubbed, of_axes = self.rubbed(part, turn, pushes)
                b, known = b - self._spreads(part, turn, pushes) - rubbed, known - of_axes
                x, rest, free = least(blocks, b, open_.count)
                coupled[part] = x[:, self.columns : self.known]
            left_over = max(left_over, float(np.abs(rest).max(initial=0.0)))
            largest = max(largest, float(np.abs(x).max(initial=0.0)))
            if with_motors:
                recovered[part] = x[:, self.known :]
                known = known.copy()
                for k, motor in enumerate(self.laws.motors):
                    known[:, motor.axis] += recovered[part][:, k]
            point[part], x = points, x[:, : self.columns]
            taken = self._taken(known, turn, self.slid(turn, self.track.position[part]) - points)
            if elastic is not None:
                free = np.ascontiguousarray(free[:, : self.columns])
                for i, j in enumerate(sharing):
                    own = self._own(j)
                    flags = np.zeros(self.columns, dtype=bool)
                    flags[own] = True
                    all_ = alone(x, free, flags)[:, own]
                    sizes[j][:2, part] = self._bearing(j, x[:, own])
                    sizes[j][2:, part] = self._bearing(j, all_)
                    all_force, all_moment = (whole[part][:, i] for whole in most)
                    all_force += taken[:, j, :3]
                    all_moment += taken[:, j, 3:]
                    self._put(j, all_, turn, all_force, all_moment)
                x = share(
                    x,
                    free,
                    elastic.give,
                    *elastic.loads(self.track, part, turn, points, taken, x, free),
                    elastic.matrix,
                )
            self._walls(part, points, force[part], moment[part])
            self._spread(x, taken, turn, force[part], moment[part])
        given = (
            np.stack(
                [self.track.applied[:, APPLIED.index("motor"), m.axis] for m in self.laws.motors], axis=1
            )
            if motors
            else np.zeros((n, 0))
        )
        rest_share = left_over / largest if largest > 0 else 0.0
        shares = {
            j: Shares((sizes[j][0], sizes[j][1]), (sizes[j][2], sizes[j][3]), (most[0][:, i], most[1][:, i]))
            for i, j in enumerate(sharing)
        }
        return Wrenches(point, force, moment, open_.words, shares, recovered, given, rest_share, coupled)

    def _spreads(self, part: slice, turn: Array, force: Array) -> Array:
        """Balance of what comes with the forces of couplings (n, C), whichever way they go, (n, rows)."""
        found = np.zeros((len(force), self.rows))
        for k, coupling in enumerate(self.assembly.couplings):
            size = np.maximum(coupling.tie.steady, coupling.tie.share * np.abs(force[:, k]))
            both = self.tied(coupling, turn, self.track.position[part], size, spread=True)
            for body, own in zip(coupling.bodies, both, strict=True):
                if body in self.row:
                    found[:, self.row[body] : self.row[body] + 6] += own
        return found

    def _own(self, j: int) -> slice:
        """Which components are those of a joint."""
        sizes = [len(f.forces) + len(f.moments) for f in self.frames]
        return slice(sum(sizes[:j]), sum(sizes[: j + 1]))

    def _bearing(self, j: int, values: Array) -> tuple[Array, Array]:
        """Size of the force and of the moment that a joint's own components (n, k) make, (n,) each."""
        frame, k = self.frames[j], len(self.frames[j].forces)
        force, moment = values[:, :k] @ frame.forces, self.size * values[:, k:] @ frame.moments
        return np.linalg.norm(force, axis=1), np.linalg.norm(moment, axis=1)

    def _walls(self, part: slice, points: Array, force: Array, moment: Array) -> None:
        """What joints with play get where they touch."""
        for k, touch in enumerate(self.laws.touches):
            if touch.joint >= 0:
                push, place = self.track.touch_force[part][:, k], self.track.touch_point[part][:, k]
                force[:, touch.joint] += push
                moment[:, touch.joint] += np.cross(place - points[:, touch.joint], push)

    def _taken(self, known: Array, turn: Array, arms: Array) -> Array:
        """Known force and moment of each joint along and about its free axes, world, (n, J, 6)."""
        taken = np.zeros((len(known), len(self.assembly.joints), 6))
        for k, axis in enumerate(self.assembly.axes):
            joint = self.assembly.joints[axis.joint]
            way = (turn[:, joint.first] @ axis.way) * known[:, k, None]
            if axis.motion == "slide":
                taken[:, axis.joint, :3] += way
                way = np.cross(arms[:, axis.joint], way)
            taken[:, axis.joint, 3:] += way
        return taken

    def _spread(self, x: Array, taken: Array, turn: Array, force: Array, moment: Array) -> None:
        """Components back to world vectors, with the known loads of free axes added."""
        column = 0
        force += taken[:, :, :3]
        moment += taken[:, :, 3:]
        for j, frame in enumerate(self.frames):
            count = len(frame.forces) + len(frame.moments)
            self._put(j, x[:, column : column + count], turn, force[:, j], moment[:, j])
            column += count

    def _put(self, j: int, own: Array, turn: Array, force: Array, moment: Array) -> None:
        """Add what a joint's own components (n, k) make to its force and moment, (n, 3) each, world."""
        frame, rotation, k = (
            self.frames[j],
            turn[:, self.assembly.joints[j].first],
            len(self.frames[j].forces),
        )
        add_components(force, rotation, frame.forces, own[:, :k], 1.0)
        add_components(moment, rotation, frame.moments, own[:, k:], self.size)


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
    """Projector on the null space of a matrix; of a large one by its damped normal equations, good to 1e-7."""
    if len(a) <= _LARGE:
        _, sigma, v = np.linalg.svd(a, full_matrices=True)
        rank = int(np.sum(sigma > 1e-8 * max(1e-12, float(sigma.max(initial=0.0)))))
        return np.asarray(v[rank:].T @ v[rank:])
    gram = a @ a.T
    damped = gram + 1e-12 * np.trace(gram) / len(gram) * np.eye(len(gram))
    return np.asarray(np.eye(a.shape[1]) - a.T @ np.linalg.solve(damped, a))


def _word(direction: Array, joint: JointData, what: str) -> str:
    along = abs(float(direction @ joint.axis)) > 0.7
    if what == "force":
        return "axial force" if along else "side force"
    return "twisting moment" if along else "tilting moment"
