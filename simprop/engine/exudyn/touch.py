"""What touches, and what rubs by its load, for the exudyn engine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.contact.gripping import Grips
from simprop.engine.contact.meshing import Rubbed
from simprop.engine.exudyn.rows import Barred, reaction
from simprop.engine.mobility import answers
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices

NOTHING = Barred(np.eye(3), (0,) * 6)
"""Of a joint that gives."""
EULER = 7
"""Numbers of a body: shift from its reference place, and of its Euler parameters from 1 0 0 0."""


def euler_rows(p: Array) -> Array:
    """G of Euler parameters, (3, 4) or (3, 4, n): the spin in world axes is 2 G p'.

    Args:
        p: with the real one first, (4,) or (n, 4).
    """
    r, x, y, z = p.T
    return np.array([[-x, r, -z, y], [-y, z, r, -x], [-z, -y, x, r]])


class Pose:
    """A body where the engine has it.

    Attributes:
        position, velocity, spin: (3,), world.
        turn: from the start pose, (3, 3).
        rows: see `euler_rows`.
    """

    def __init__(self, centre: Array, place: Array, speed: Array):
        p = place[3:7].copy()
        p[0] += 1.0
        self.position, self.velocity = centre + place[:3], speed[:3]
        self.rows = euler_rows(p)
        self.spin = 2.0 * self.rows @ speed[3:7]
        self.turn = matrices(np.array([[p[1], p[2], p[3], p[0]]]) / np.linalg.norm(p))[0]


class Touched:
    """All places of touch, as generalised forces of the bodies that take part.

    Attributes:
        bodies: those that move and touch something, by index.
        began: when the present step began, s.
    """

    def __init__(self, assembly: Assembly, actuation: Actuation, step: float):
        from simprop.engine.exudyn.touch_kernel import Generalised

        ends = [(k, b, s) for k, t in enumerate(actuation.touches) for b, s in ((t.second, 1), (t.first, -1))]
        fixed = [b.fixed for b in assembly.bodies]
        met = [(k, b, sign) for k, b, sign in ends if b >= 0 and not fixed[b]]
        self.bodies = tuple(dict.fromkeys(b for _, b, _ in met))
        rows = [(k, self.bodies.index(b), sign) for k, b, sign in met]
        self._kernel = Generalised(assembly, actuation.touches, step, self.bodies, rows)
        self.force, self.point = self._kernel.force, self._kernel.point
        self.began = 0.0

    def at(self, places: Array, speeds: Array, elapsed: float, commit: bool = False) -> Array:
        """Generalised forces of `bodies`, (7 b,), at their places and speeds, a time after the step began.

        Args:
            places: (7 b,).
            speeds: (7 b,).
            elapsed: s.
            commit: this begins a step.
        """
        return self._kernel.at(places, speeds, elapsed, commit)

    def slope(self, places: Array, speeds: Array, elapsed: float, of_place: float, of_speed: float) -> Array:
        """What those forces lose for places times `of_place` and for speeds times `of_speed`, (7 b, 7 b)."""
        return self._kernel.slope(places, speeds, elapsed, of_place, of_speed)


@dataclass(frozen=True)
class Told:
    """What friction that goes with a load asks of the step just done.

    Attributes:
        joints: force and moment of each joint, as the engine tells them, (J, 6).
        ties: load of each coupling that rubs on the axis of its second joint, N*m or N.
        held: friction load on the axis of its first, N*m or N.
    """

    joints: Array
    ties: list[float]
    held: list[float]


class Gripped:
    """The limits of friction that goes with the load of a joint or the force of a coupling.

    Attributes:
        rubs: couplings that rub.
    """

    def __init__(self, assembly: Assembly, actuation: Actuation):
        self._grips, self.rubs = Grips(assembly, actuation.grips), actuation.rubs
        self._rubbed = Rubbed(assembly, actuation.rubs, answers(assembly, actuation))
        self._assembly = assembly
        self._axes = actuation.rubbing
        self._least = {axis: float(actuation.friction[axis]) for axis in self._axes}

    def limits(
        self, poses: dict[int, Pose], bars: dict[int, Barred], told: Told, speed: list[float]
    ) -> dict[int, float]:
        """The limit of each such axis for the step that begins, N*m or N.

        Args:
            poses: of the bodies that move.
            bars: joint -> what it bars.
            told: what the engine tells.
            speed: rate of each axis.
        """
        grips, assembly = self._grips, self._assembly
        for k, grip in enumerate(grips.data):
            joint = assembly.joints[grip.joint]
            one, two = poses.get(joint.first), poses.get(joint.second)
            turn = np.eye(3) if one is None else one.turn
            ends = [
                joint.point
                if pose is None
                else pose.position + pose.turn @ (joint.point - assembly.bodies[body].com)
                for pose, body in ((one, joint.first), (two, joint.second))
            ]
            own = bars.get(grip.joint, NOTHING)
            axes = [(np.eye(3) if pose is None else pose.turn) @ own.frame for pose in (one, two)]
            row = np.nan_to_num(told.joints[grip.joint])[None]
            (force,), (moment,) = reaction(row, own.rows, axes[0][None], axes[1][None])
            grips.wrench[k, :3] = force
            grips.wrench[k, 3:] = moment + np.cross(ends[1] - ends[0], force)
            grips.turn[k] = turn
            grips.rate[k] = speed[grip.axis]
        grips.update()
        if self.rubs:
            self._rubbed.update(told.ties, [speed[r.axis] for r in self.rubs], told.held)
        return self.first

    @property
    def first(self) -> dict[int, float]:
        """The limits in force, and before the first step."""
        found = dict(self._least)
        for axis, most in zip(self._axes, (*self._grips.limit, *self._rubbed.limit), strict=True):
            found[axis] += float(most)
        return found
