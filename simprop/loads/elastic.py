"""What the joints and bodies of a prop store under load, so that joints share what balance leaves open.

Bodies are the frames of beams that their pipes, rods and bars make as drawn; what has no section is rigid and held by
the nearest beam, and so is all that stands still. What touches a body bends it where it touches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.beams import beams_of
from simprop.assembly.giving import joint_give
from simprop.assembly.types import Assembly, BodyData
from simprop.elastic.frame import FIELD, answer, field_of
from simprop.engine.acting.actuation import Actuation
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.loads.balance import Frame


@dataclass(frozen=True)
class _Held:
    """A body with what holds it.

    Attributes:
        body: index.
        joints: index of each joint, +1 where the body is its second, else -1, and its place from the centre of mass.
        lines: the same of each spring or straight drive.
        touches: the same of each place of touch, where it is in the start pose.
        rows: the same of each row of what acts from outside.
        matrix: its answer to loads there.
    """

    body: int
    joints: tuple[tuple[int, float, Array], ...]
    lines: tuple[tuple[int, float, Array], ...]
    touches: tuple[tuple[int, float, Array], ...]
    rows: tuple[tuple[int, float, Array], ...]
    matrix: Array


class Elastic:
    """The give of all joints and the answers of all bodies that bend.

    Args:
        assembly: what was run.
        laws: all that acts on it.
        frames: directions of each joint's components.
        size: length by which the solver divides moments, m.

    Attributes:
        give: of the joints' components, (columns, columns).
        matrix: of the bodies, (H, q, q): 6 numbers a place, then those of the inertia field.
    """

    def __init__(self, assembly: Assembly, laws: Actuation, frames: Sequence[Frame], size: float):
        self.assembly = assembly
        self.directions = [(f.forces, size * f.moments) for f in frames]
        self.start = np.cumsum([0, *(len(f) + len(m) for f, m in self.directions)])
        self.give = np.zeros((self.start[-1], self.start[-1]))
        for j, joint in enumerate(assembly.joints):
            at = int(self.start[j])
            for directions, tensor in zip(self.directions[j], joint_give(assembly, joint), strict=True):
                end = at + len(directions)
                self.give[at:end, at:end] = directions @ tensor @ directions.T
                at = end
        held = [self._held(i, body, laws) for i, body in enumerate(assembly.bodies) if not body.fixed]
        self.held = [h for h in held if h.matrix.any()]
        size_ = max((len(h.matrix) for h in self.held), default=0)
        self.matrix = np.zeros((len(self.held), size_, size_))
        for k, h in enumerate(self.held):
            places = len(h.matrix) - FIELD  # the field stands last
            rows = [*range(places), *range(size_ - FIELD, size_)]
            self.matrix[k][np.ix_(rows, rows)] = h.matrix

    def _held(self, index: int, body: BodyData, laws: Actuation) -> _Held:
        joints = [
            (j, sign, joint.point - body.com)
            for j, joint in enumerate(self.assembly.joints)
            for end, sign in ((joint.second, 1.0), (joint.first, -1.0))
            if end == index
        ]
        lines = [
            (k, sign, point)
            for k, line in enumerate(laws.lines)
            for end, sign, point in (
                (line.first, 1.0, line.first_point),
                (line.second, -1.0, line.second_point),
            )
            if end == index
        ]
        touches = [
            (k, sign, point)
            for k, touch in enumerate(laws.touches)
            for end, sign, point in (
                (touch.second, 1.0, touch.second_point + touch.radius * touch.middle),
                (touch.first, -1.0, touch.first_point),
            )
            if end == index
        ]
        rows = [(k, 1.0, row.point) for k, row in enumerate(laws.outside.rows) if row.body == index]
        places = np.array([place for _, _, place in (*joints, *lines, *touches, *rows)]).reshape(-1, 3)
        beams, lumps = beams_of(body)
        return _Held(
            index,
            tuple(joints),
            tuple(lines),
            tuple(touches),
            tuple(rows),
            answer(beams, places, lumps).matrix,
        )

    def loads(
        self, track: Trajectory, part: slice, turn: Array, points: Array, taken: Array, x: Array, open_: Array
    ) -> tuple[Array, Array]:
        """What `simprop.elastic.sharing.share` asks of the bodies at some steps: its `moved` and `load`.

        Args:
            turn: rotations of the bodies, (n, B, 3, 3).
            points: of the joints, (n, J, 3) m.
            taken: force and moment of each joint along and about its free axes, world, (n, J, 6).
            x: components, (n, columns).
            open_: directions that balance leaves open, (n, columns, s).
        """
        n, count = len(x), open_.shape[2]
        all_ = np.concatenate([open_, x[:, :, None]], axis=2)
        found = np.zeros((n, len(self.held), self.matrix.shape[1], count + 1))
        own = np.zeros((n, len(self.assembly.joints), 6, count + 1))
        for j, joint in enumerate(self.assembly.joints):
            forces, moments = self.directions[j]
            at, middle, end = int(self.start[j]), int(self.start[j]) + len(forces), int(self.start[j + 1])
            own[:, j, :3] = turn[:, joint.first] @ (forces.T @ all_[:, at:middle])
            own[:, j, 3:] = turn[:, joint.first] @ (moments.T @ all_[:, middle:end])
        own[:, :, :, count] += taken
        pulls = _pulls(track, part)
        for k, held in enumerate(self.held):
            back, centre = turn[:, held.body].transpose(0, 2, 1), track.position[part][:, held.body]
            for i, (j, sign, place) in enumerate(held.joints):
                away = points[:, j] - centre - turn[:, held.body] @ place
                rows = found[:, k, 6 * i : 6 * i + 6]
                rows[:, :3] = sign * (back @ own[:, j, :3])
                rows[:, 3:] = sign * (back @ (own[:, j, 3:] + _across(away) @ own[:, j, :3]))
            for i, (line, sign, _) in enumerate(held.lines, len(held.joints)):
                found[:, k, 6 * i : 6 * i + 3, count] = sign * (back @ pulls[:, line, :, None])[..., 0]
            for i, (touch, sign, place) in enumerate(held.touches, len(held.joints) + len(held.lines)):
                push = np.nan_to_num(track.touch_force[part][:, touch, :, None])
                there = np.nan_to_num(track.touch_point[part][:, touch])
                away = np.where(push.any(axis=1), there - centre - turn[:, held.body] @ place, 0.0)
                rows = found[:, k, 6 * i : 6 * i + 6, count]
                rows[:, :3] = sign * (back @ push)[..., 0]
                rows[:, 3:] = sign * (back @ (_across(away) @ push))[..., 0]
            before = len(held.joints) + len(held.lines) + len(held.touches)
            for i, (row, _, _) in enumerate(held.rows, before):
                into = found[:, k, 6 * i : 6 * i + 6, count]
                into[:, :3] = (back @ track.outer_force[part][:, row, :, None])[..., 0]
                into[:, 3:] = (back @ track.outer_moment[part][:, row, :, None])[..., 0]
            gravity = back @ np.asarray(self.assembly.rig.run.gravity)
            moves = (track.acceleration, track.spin, track.spin_acceleration)
            inside = [(back @ v[part][:, held.body, :, None])[..., 0] for v in moves]
            found[:, k, -FIELD:, count] = field_of(gravity, *inside)
        return found[..., :count], found[..., count]


def _across(r: Array) -> Array:
    """The matrices of r x, (n, 3, 3)."""
    x, y, z = r.T
    none = np.zeros_like(x)
    return np.array([[none, -z, y], [z, none, -x], [-y, x, none]]).transpose(2, 0, 1)


def _pulls(track: Trajectory, part: slice) -> Array:
    """Pull of each line on its first end, (n, L, 3) N."""
    along = track.line_end[part] - track.line_start[part]
    along = along / np.maximum(np.linalg.norm(along, axis=2, keepdims=True), 1e-12)
    return np.asarray(track.line_force[part][..., None] * along)
