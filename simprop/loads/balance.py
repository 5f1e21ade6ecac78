"""The balance equations of every moving body over a run: rows are bodies, columns joint components."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly, Axis, CouplingData, JointData
from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.acting.rotors import rotors
from simprop.engine.contact.meshing import shared
from simprop.engine.world import APPLIED, Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.kernel import inertia_rows, wrench_columns
from simprop.loads.least import WIDE, Blocks


@dataclass(frozen=True)
class Frame:
    """One joint's unknown directions in its first body's start axes: forces (k, 3) and moments (m, 3)."""

    forces: Array
    moments: Array


def frame_of(joint: JointData) -> Frame:
    """What a joint bars, as directions in its first body's start axes."""
    return Frame(*joint.bars)


class Balance:
    """The balance equations of one run: rows are bodies (force, then moment / size), columns joint components."""

    def __init__(
        self, assembly: Assembly, track: Trajectory, laws: Actuation, frames: list[Frame], size: float
    ):
        self.assembly, self.track, self.laws, self.frames, self.size = assembly, track, laws, frames, size
        moving = [i for i, b in enumerate(assembly.bodies) if not b.fixed]
        self.inertia = rotors(assembly, laws.motors).whole
        self.row = {body: 6 * k for k, body in enumerate(moving)}
        self.moving = moving
        self.rows = 6 * len(moving)
        self.columns = sum(len(f.forces) + len(f.moments) for f in frames)
        self.known = self.columns + len(assembly.couplings)  # columns before those of the motors

    def geometry(self, which: Array | slice) -> tuple[Array, Array]:
        """Rotation matrices (n, B, 3, 3) and joint points (n, J, 3) at some steps."""
        turn = matrices(self.track.rotation[which])
        centre = self.track.position[which]
        return turn, self._carried([j.first for j in self.assembly.joints], turn, centre)

    def slid(self, turn: Array, centre: Array) -> Array:
        """The joints' points that their second bodies carry, through which forces along slides act, (n, J, 3)."""
        return self._carried([j.second for j in self.assembly.joints], turn, centre)

    def _carried(self, bodies: Sequence[int], turn: Array, centre: Array) -> Array:
        """Points that were at the joints at the start, each carried by one body, (n, J, 3)."""
        points = np.empty((len(centre), len(bodies), 3))
        for j, (joint, body) in enumerate(zip(self.assembly.joints, bodies, strict=True)):
            local = joint.point - self.assembly.bodies[body].com
            points[:, j] = centre[:, body] + turn[:, body] @ local
        return points

    def blocks(self, which: Array | slice, turn: Array, points: Array, with_motors: bool) -> Blocks:
        """Balance matrices as one column block a joint, one a coupling, then one a motor of unknown load."""
        tied = len(self.assembly.couplings)
        n, count = len(turn), len(self.frames) + tied + (len(self.laws.motors) if with_motors else 0)
        data = np.zeros((n, count, 12, WIDE))
        rows = np.full((count, 2), -1, dtype=np.int64)
        counts = np.ones(count, dtype=np.int64)
        centre = self.track.position[which]
        for j, (joint, frame) in enumerate(zip(self.assembly.joints, self.frames, strict=True)):
            k, m = len(frame.forces), len(frame.moments)
            forces = turn[:, joint.first] @ frame.forces.T
            moments = turn[:, joint.first] @ frame.moments.T
            turns = [f.way for f in joint.freedoms if f.how == "turn"]
            if len(turns) == 2:
                moments = _keyed(turn[:, joint.first] @ turns[0], turn[:, joint.second] @ turns[1])
            counts[j] = k + m
            for half, (body, sign) in enumerate(((joint.second, 1.0), (joint.first, -1.0))):
                if body not in self.row:
                    continue
                rows[j, half] = self.row[body]
                wrench_columns(data, j, half, sign, forces, moments, points[:, j], centre[:, body], self.size)
        for k, coupling in enumerate(self.assembly.couplings):
            whole = self.tied(coupling, turn, centre, np.ones(n), spread=False)
            for half, body in enumerate(coupling.bodies):
                if body in self.row:
                    rows[len(self.frames) + k, half] = self.row[body]
                    data[:, len(self.frames) + k, 6 * half : 6 * half + 6, 0] = whole[half]
        if with_motors:
            self._motor_blocks(data, rows, turn, centre)
        return Blocks(data, rows, counts, self.rows)

    def tied(
        self, coupling: CouplingData, turn: Array, centre: Array, size: Array, *, spread: bool
    ) -> tuple[Array, Array]:
        """Balance of a coupling force, or of what comes with it, on its two bodies, (n, 6) each.

        Args:
            size: N, (n,).
            spread: what comes with the force whichever way it goes, else the force itself.
        """
        tie = coupling.tie
        one = (tie.spread, tie.spread_moment) if spread else (tie.force, tie.moment)
        return self.pushed(coupling, turn, centre, size, one)

    def pushed(
        self, coupling: CouplingData, turn: Array, centre: Array, size: Array, one: tuple[Array, Array]
    ) -> tuple[Array, Array]:
        """Balance of so many times one force and moment where a coupling meets, on its two bodies, (n, 6) each."""
        base, carried = self.assembly.bodies[coupling.carrier], turn[:, coupling.carrier]
        point = centre[:, coupling.carrier] + carried @ (coupling.tie.point - base.com)
        force, moment = one
        push, twist = (carried @ v * size[:, None] for v in (force, moment))
        found = []
        for body, sign in zip(coupling.bodies, (1.0, -1.0), strict=True):
            about = twist + np.cross(point - centre[:, body], push)
            found.append(sign * np.hstack([push, about / self.size]))
        return found[0], found[1]

    def rubbed(self, part: slice, turn: Array, force: Array) -> tuple[Array, Array]:
        """Balance of couplings' friction between their two bodies, less that on the axis, which engines take for it.

        Args:
            part: which steps.
            turn: rotation of the bodies, (n, B, 3, 3).
            force: of couplings, (n, C) N.

        Returns:
            (n, rows), and what of the friction of each axis that is, (n, A).
        """
        found, centre = np.zeros((len(force), self.rows)), self.track.position[part]
        of_axes = np.zeros((len(force), len(self.assembly.axes)))
        slid = self.slid(turn, centre)
        for rub in self.laws.rubs:
            if not rub.law.inside:
                continue
            coupling, track = self.assembly.couplings[rub.coupling], self.track
            friction = track.applied[part, APPLIED.index("friction"), rub.axis]
            own = shared(rub, force[:, rub.coupling], track.rate[part, rub.axis], friction)
            law = rub.law
            for body, whole in zip(
                coupling.bodies,
                self.pushed(coupling, turn, centre, own, (law.force, law.moment)),
                strict=True,
            ):
                if body in self.row:
                    found[:, self.row[body] : self.row[body] + 6] += whole
            self._axis_load(found, self.assembly.axes[rub.axis], -own, turn, slid, centre)
            of_axes[:, rub.axis] += own
        return found, of_axes

    def _motor_blocks(self, data: Array, rows: NDArray[np.int64], turn: Array, centre: Array) -> None:
        """Balance of a unit axis load of each motor."""
        slid = self.slid(turn, centre)
        for k, motor in enumerate(self.laws.motors, len(self.frames) + len(self.assembly.couplings)):
            axis = self.assembly.axes[motor.axis]
            joint = self.assembly.joints[axis.joint]
            whole = np.zeros((len(turn), self.rows))
            self._axis_load(whole, axis, np.ones(len(turn)), turn, slid, centre)
            for half, body in enumerate((joint.second, joint.first)):
                if body in self.row:
                    rows[k, half] = self.row[body]
                    data[:, k, 6 * half : 6 * half + 6, 0] = whole[:, self.row[body] : self.row[body] + 6]

    def _axis_load(
        self, into: Array, axis: Axis, load: Array, turn: Array, slid: Array, centre: Array
    ) -> None:
        """Add the balance of an axis load on the second body and its counterpart on the first; `into` is (n, rows)."""
        joint = self.assembly.joints[axis.joint]
        way = (turn[:, joint.first] @ axis.way) * load[:, None]
        for body, sign in ((joint.second, 1.0), (joint.first, -1.0)):
            if body not in self.row:
                continue
            row = self.row[body]
            if axis.motion == "turn":
                into[:, row + 3 : row + 6] += sign / self.size * way
            else:
                into[:, row : row + 3] += sign * way
                arm = slid[:, axis.joint] - centre[:, body]
                into[:, row + 3 : row + 6] += sign / self.size * np.cross(arm, way)

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
            motion = tuple(v[which][:, body] for v in (t.acceleration, t.spin, t.spin_acceleration))
            inertia = self.inertia[body]
            inertia_rows(result, row, data.mass, inertia, self.size, turn[:, body], motion, gravity)
        known = t.applied[which].sum(axis=1)
        if skip_motors:
            known = known - t.applied[which][:, APPLIED.index("motor")]
        taken = np.zeros_like(result)
        for motor in self.laws.motors:
            known = known.copy()
            known[:, motor.axis] += self._rotor(motor, which, turn, taken)
        slid = self.slid(turn, centre)
        for k, axis in enumerate(a.axes):
            self._axis_load(taken, axis, known[:, k], turn, slid, centre)
        self._lines(taken, which, centre)
        self._touches(taken, which, centre)
        self._slips(taken, which, turn, centre)
        self._outside(taken, which, turn)
        return result - taken, known

    def _rotor(self, motor: MotorData, which: Array | slice, turn: Array, taken: Array) -> Array:
        """Axis load that the rotor's inertia takes (and what its spin asks of the body it is mounted on)."""
        if motor.reflected_inertia == 0.0:
            return np.zeros(len(turn))
        data = self.assembly.axes[motor.axis]
        joint = self.assembly.joints[data.joint]
        t = self.track
        axis = turn[:, joint.first] @ data.way
        rate = t.rate[which][:, motor.axis]
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

    def _acceleration(self, axis: int, which: Array | slice, way: Array) -> Array:
        """Second rate of an axis from the bodies' accelerations, (n,)."""
        data = self.assembly.axes[axis]
        joint = self.assembly.joints[data.joint]
        t = self.track
        alpha = t.spin_acceleration[which]
        if data.motion == "turn":
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

    def _slips(self, taken: Array, which: Array | slice, turn: Array, centre: Array) -> None:
        """Add the forces of what may slip, and what comes with them."""
        for k, coupling in enumerate(self.assembly.slips):
            force, tie = self.track.slip_force[which][:, k], coupling.tie
            spread = np.maximum(tie.steady, tie.share * np.abs(force))
            pushed = self.tied(coupling, turn, centre, force, spread=False)
            parted = self.tied(coupling, turn, centre, spread, spread=True)
            for body, one, two in zip(coupling.bodies, pushed, parted, strict=True):
                if body in self.row:
                    taken[:, self.row[body] : self.row[body] + 6] += one + two

    def _touches(self, taken: Array, which: Array | slice, centre: Array) -> None:
        for k, touch in enumerate(self.laws.touches):
            force, place = self.track.touch_force[which][:, k], self.track.touch_point[which][:, k]
            for body, sign in ((touch.second, 1.0), (touch.first, -1.0)):
                if body in self.row:
                    row = self.row[body]
                    taken[:, row : row + 3] += sign * force
                    taken[:, row + 3 : row + 6] += sign / self.size * np.cross(place - centre[:, body], force)

    def _outside(self, taken: Array, which: Array | slice, turn: Array) -> None:
        for k, outer in enumerate(self.laws.outside.rows):
            if outer.body in self.row:
                force, row = self.track.outer_force[which][:, k], self.row[outer.body]
                moment = self.track.outer_moment[which][:, k] + np.cross(
                    turn[:, outer.body] @ outer.point, force
                )
                taken[:, row : row + 3] += force
                taken[:, row + 3 : row + 6] += moment / self.size


def _keyed(one: Array, two: Array) -> Array:
    """What a joint with two turns bars turning about: square to both, one carried by each body, (n, 3, 1)."""
    way = np.cross(one, two)
    return np.asarray(way / np.linalg.norm(way, axis=1, keepdims=True))[:, :, None]
