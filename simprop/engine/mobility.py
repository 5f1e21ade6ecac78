"""How hard a mechanism is to move, along one of its axes or at two of its points, all loops closed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import Assembly, JointData
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.cords import Strand
from simprop.engine.acting.lines import LineData
from simprop.geometry.arrays import Array
from simprop.laws.forms import PlainLoad
from simprop.laws.springs import LineLaw

STILL = np.zeros(3)


class Mobility:
    """Effective masses of a prop in its start pose: force over acceleration when nothing else acts.

    With all joints' constraints C v = 0 on the bodies' speeds v, mass matrix M and a speed j v, it is
    1 / (j Z (Z^T M Z)^-1 Z^T j^T), Z the null space of C; motors' reflected inertia is part of M.

    Args:
        assembly: the prop.
        actuation: its motors.
    """

    def __init__(self, assembly: Assembly, actuation: Actuation):
        self._assembly = assembly
        moving = [i for i, body in enumerate(assembly.bodies) if not body.fixed]
        self._row = {i: 6 * k for k, i in enumerate(moving)}
        root = np.zeros((6 * len(moving), 6 * len(moving)))
        for i, row in self._row.items():
            body = assembly.bodies[i]
            moments, frame = np.linalg.eigh(body.inertia)
            root[row : row + 3, row : row + 3] = np.eye(3) / np.sqrt(body.mass)
            root[row + 3 : row + 6, row + 3 : row + 6] = frame / np.sqrt(np.maximum(moments, 1e-12))
        barred = []
        for joint in assembly.joints:
            forces, moments = joint.bars
            barred += [self._of_joint(joint, force, STILL) for force in forces]
            barred += [self._of_joint(joint, STILL, moment) for moment in moments]
        for coupling in assembly.couplings:
            tie, sides = coupling.tie, []
            for side in coupling.bodies:
                arm = tie.point - assembly.bodies[side].com
                sides.append(self._speed(side, arm, tie.force, tie.moment))
            barred.append(sides[0] - sides[1])
        rows = np.array(barred).reshape(len(barred), len(root)) @ root
        _, sigma, basis = np.linalg.svd(rows, full_matrices=True)
        rank = int(np.sum(sigma > 1e-9 * max(1.0, float(sigma.max(initial=0.0)))))
        self._free = basis[rank:] @ root.T
        self._inertia: Array = np.eye(len(self._free))
        for motor in actuation.motors:
            if motor.reflected_inertia > 0.0:
                along = self._free @ self._of_axis(motor.axis)
                self._inertia += motor.reflected_inertia * np.outer(along, along)

    def axis(self, axis: int) -> float:
        """Effective mass of an axis, kg or kg*m^2; 0 where it can't move.

        Args:
            axis: index into `Assembly.axes`.
        """
        return self._mass(self._of_axis(axis))

    def ease(self, axes: Sequence[int]) -> Array:
        """Accelerations of some axes for a unit load on each, (k, k)."""
        pushes = np.array([self._free @ self._of_axis(a) for a in axes])
        return np.asarray(pushes @ np.linalg.solve(self._inertia, pushes.T))

    def line(self, line: LineData) -> float:
        """Effective mass of the two ends of a line against each other along it, kg; 0 where it can't change its length.

        Args:
            line: its ends.
        """
        bodies = self._assembly.bodies
        way = bodies[line.second].com + line.second_point - bodies[line.first].com - line.first_point
        way = way / max(float(np.linalg.norm(way)), 1e-12)
        ends = [(line.second, line.second_point), (line.first, line.first_point)]
        second, first = (self._speed(body, arm, way, STILL) for body, arm in ends)
        return self._mass(second - first)

    def _mass(self, speed: Array) -> float:
        """Effective mass of a speed, a row over the bodies' own."""
        push = self._free @ speed
        ease = float(push @ np.linalg.solve(self._inertia, push)) if len(push) else 0.0
        return 1.0 / ease if ease > 1e-12 else 0.0

    def _speed(self, body: int, arm: Array, force: Array, moment: Array) -> Array:
        """Row that gives the speed of a place on a body, `arm` from its centre of mass, along a unit wrench."""
        result = np.zeros(6 * len(self._row))
        if body in self._row:
            row = self._row[body]
            result[row : row + 3] = force
            result[row + 3 : row + 6] = np.cross(arm, force) + moment
        return result

    def _of_joint(self, joint: JointData, force: Array, moment: Array) -> Array:
        """Row that gives the speed of a joint's second body against its first along a unit wrench."""
        arms = [joint.point - self._assembly.bodies[b].com for b in (joint.second, joint.first)]
        second = self._speed(joint.second, arms[0], force, moment)
        return second - self._speed(joint.first, arms[1], force, moment)

    def _of_axis(self, axis: int) -> Array:
        data = self._assembly.axes[axis]
        turns = data.motion == "turn"
        return self._of_joint(
            self._assembly.joints[data.joint], STILL if turns else data.way, data.way if turns else STILL
        )


def answers(assembly: Assembly, actuation: Actuation) -> list[float]:
    """What the force of each coupling that rubs loses for a friction load of 1 on its axis, in the start pose.

    Source: the force that keeps two sides together, F = -q (n A e) / (n A n), A their accelerations for unit loads.
    """
    found = []
    for rub in actuation.rubs:
        coupling = assembly.couplings[rub.coupling]
        others = tuple(c for c in assembly.couplings if c is not coupling)
        easy = Mobility(replace(assembly, couplings=others), actuation).ease(coupling.axes)
        normal = np.array([coupling.works[0], -coupling.works[1]])
        stiff = float(normal @ easy @ normal)
        found.append(abs(float(normal @ easy[:, 0])) / stiff if stiff > 1e-15 else 0.0)
    return found


@dataclass(frozen=True)
class Pace:
    """How fast a law makes move what it acts on.

    Attributes:
        natural: frequency of its stiffness against the effective mass in the start pose, rad/s.
        decay: rate at which its damping takes the speed away, 1/s.
        what: the law, in words.
    """

    natural: float
    decay: float
    what: str


def pace(assembly: Assembly, actuation: Actuation) -> Iterator[Pace]:
    """The pace of every spring, stop and viscous friction that acts on something that can move."""
    mobility = Mobility(assembly, actuation)
    laws = []
    for (
        line
    ) in actuation.lines:  # a straight drive or pull damps as at the end of the step, which can't blow up
        damping = line.law.damping if isinstance(line.law, LineLaw) else 0.0
        laws.append(
            (
                mobility.line(line),
                line.law.rate,
                damping,
                f"{'cord' if isinstance(line.law, Strand) else 'spring'} {line.name!r}",
            )
        )
    joints = [f"on joint {assembly.joints[axis.joint].name!r}" for axis in assembly.axes]
    for axis, stop in actuation.stops:
        laws.append((mobility.axis(axis), stop.stiffness, stop.damping, f"stop {joints[axis]}"))
    for axis, spring in actuation.torsion:
        laws.append((mobility.axis(axis), spring.rate, spring.damping, f"torsion spring {joints[axis]}"))
    for motor in actuation.motors:
        if isinstance(motor.law, PlainLoad):
            what = f"motor {motor.name!r}"
            laws.append((mobility.axis(motor.axis), motor.law.rate, motor.law.loss, what))
    for axis, viscous in enumerate(actuation.viscous.tolist()):
        laws.append((mobility.axis(axis), 0.0, viscous, f"viscous friction {joints[axis]}"))
    for mass, rate, damping, what in laws:
        if mass > 0.0 and (rate > 0.0 or damping > 0.0):
            yield Pace(math.sqrt(max(rate, 0.0) / mass), damping / mass, what)
