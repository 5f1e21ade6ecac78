"""What is done before each step of the exudyn engine: record where the prop is, and decide what holds for the step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from simprop.engine.acting.actuator import Actuator, line_tension
from simprop.engine.acting.catches import Catches
from simprop.engine.exudyn.log import Log
from simprop.engine.exudyn.native import Straight
from simprop.engine.exudyn.start import Start
from simprop.engine.exudyn.system import System
from simprop.engine.exudyn.touch import EULER, Gripped, Pose, Told
from simprop.engine.track import axis_rate
from simprop.engine.world import APPLIED, Progress
from simprop.geometry.arrays import Array
from simprop.laws.forms import Mounted
from simprop.laws.springs import LineLaw

LOOK = 100
"""Steps between reports of progress."""
SAME = 1e-9
"""Share by which a line may pull otherwise than its straight law says."""
MOTOR, FRICTION = APPLIED.index("motor"), APPLIED.index("friction")


class Stepping:
    """Called by the engine before each step, and when it has solved one.

    Args:
        system: as built.
        log: rows to fill.
        start: what friction bears at the start.
        progress: told of the steps done.

    Attributes:
        log: rows.
        done: how many are recorded.
        error: what was raised in it, to be raised again outside of the engine.
    """

    def __init__(self, system: System, log: Log, start: Start, progress: Progress | None = None):
        exu, assembly = system.exu, system.assembly
        self.system, self.log, self.progress, self._begins = system, log, progress, start
        self.actuation, self.step = system.actuation, system.step
        nothing = np.zeros(len(assembly.axes))  # `AxisLoads` sees to all but what is decided
        self.actuator = Actuator(
            replace(self.actuation, friction=nothing, viscous=nothing, torsion=(), stops=())
        )
        self.done = 0
        self.error: BaseException | None = None
        kind = exu.OutputVariableType
        self._at, self._rate, self._length = kind.Displacement, kind.Velocity, kind.Distance
        self._force, self._torque, self._tie = kind.ForceLocal, kind.TorqueLocal, kind.Force
        self._where = [0.0] * len(assembly.axes)
        self._speed = [axis_rate(assembly, axis) for axis in range(len(assembly.axes))]
        self._forces = np.full((len(assembly.joints), 6), np.nan)
        self._reaction: dict[int, float] = {}
        self._given = [0.0] * len(assembly.axes)
        self._mounted = [k for k, line in enumerate(self.actuation.lines) if isinstance(line.law, Mounted)]
        self._straight = [k for k in range(len(self.actuation.lines)) if k not in self._mounted]
        self._edged = [k for k in self._straight if not _everywhere(self.actuation.lines[k].law)]
        self._catches = Catches(self.actuation.stops)
        stopped = [axis for axis, _ in self.actuation.stops]
        self._caught = [(axis, stopped[:k].count(axis)) for k, axis in enumerate(stopped)]
        self._slot = {b: slice(EULER * k, EULER * k + EULER) for k, b in enumerate(system.moving)}
        self._rubbing = {g.joint for g in self.actuation.grips} & system.joints.keys()
        rubs = self.actuation.grips or self.actuation.rubs
        self._gripped = Gripped(assembly, self.actuation) if rubs else None
        self._told = Told(self._forces, [], [])
        if self._gripped is not None:
            self._limit(start.limits or self._gripped.first)
        lines = [self._stretched(k) for k in range(len(system.lines))]
        self._began = 0.0
        self._begin(system.mbs, 0.0, lines)
        for axis, own in system.loads.items():
            if own.friction is not None and self._speed[axis] == 0.0:
                own.friction.hold(start.loads.get(axis, 0.0), 0.0)
        self._put(system.mbs, 0.0, lines)  # for the accelerations at the start

    def __call__(self, mbs: Any, _: float) -> bool:
        """Record and decide; False stops the engine."""
        try:
            if self.done < len(self.log.state):
                self._row(mbs)
        except BaseException as error:  # it must not go through the engine
            self.error = error
            return False
        return True

    def corrected(self, mbs: Any, time: float) -> tuple[float, float]:
        """Called when a step is solved: whether what sticks and slips had to be changed, so that it is solved anew."""
        wrong = False
        for axis, loads in self.system.loads.items():
            at, rate = self._now(mbs, axis)
            flipped = False
            for bristle in loads.bristles:
                flipped |= bristle.wrong(at, rate, time - loads.began)
            element, form = self.system.axes[axis], loads.straight(time, at, rate)
            if flipped and element.form is not None:
                element.take(mbs, form)
            elif form != element.form and element.form is not None:
                flipped = element.take(mbs, None)
            wrong |= flipped
        if self.system.slips is not None:
            where, speed = list(self._where), list(self._speed)
            for axis in self.system.axes:
                where[axis], speed[axis] = self._now(mbs, axis)
            wrong |= self.system.slips.corrected(mbs, where, speed, time - self._began)
        for k in self._edged:
            element = self.system.lines[k]
            if element.form is not None and not self._holds(mbs, k, element.form):
                wrong |= element.take(mbs, None)
        return float(wrong), -1.0

    def _holds(self, mbs: Any, k: int, form: Straight) -> bool:
        """Whether a line's straight law is still its law."""
        length, rate = self._line(mbs, k)
        straight = -(form[0] + form[1] * length + form[2] * rate)
        return abs(straight - self._tension(k, length, rate)) <= SAME * (abs(form[0]) + 1.0)

    def _now(self, mbs: Any, axis: int) -> tuple[float, float]:
        """Coordinate and rate of an axis."""
        connector = self.system.axes[axis].connector
        return float(mbs.GetObjectOutput(connector, self._at)), float(
            mbs.GetObjectOutput(connector, self._rate)
        )

    def _row(self, mbs: Any) -> None:
        n, log, data = self.done, self.log, mbs.systemData
        time, width = n * self.step, log.state.shape[2]
        if width:
            log.state[n, 0] = data.GetODE2Coordinates()[:width]
            log.state[n, 1] = data.GetODE2Coordinates_t()[:width]
            log.state[n, 2] = data.GetODE2Coordinates_tt()[:width]
        where, speed = self._where, self._speed
        for axis in self.system.axes:
            where[axis], speed[axis] = self._now(mbs, axis)
        lines = [self._line(mbs, k) for k in range(len(self.system.lines))]
        for axis, loads in self.system.loads.items():
            log.applied[n, :, axis] = loads.parts(time, where[axis], speed[axis])
            self._given[axis] = float(log.applied[n, MOTOR, axis])
            if loads.drive is not None and loads.drive.on:
                self._reaction[axis] = loads.drive.load(where[axis], speed[axis], time - loads.began)
        for k, (length, rate) in enumerate(lines):
            log.line_force[n, k] = self._tension(k, length, rate)
        if self.system.slips is not None:
            log.slip_force[n] = self.system.slips.forces(where, speed, time - self._began)
        self._loaded(mbs, n, time)
        if n:
            self._begin(mbs, time, lines)
        self._put(mbs, time + self.step, lines)
        if self.actuation.columns:
            log.voltage[n], log.current[n] = self.actuator.voltage, self.actuator.current
        self.done = n + 1
        if self.progress is not None and self.done % LOOK == 0:
            self.progress(self.done)

    def _loaded(self, mbs: Any, n: int, time: float) -> None:
        """Limits of friction that goes with the load, and what touches, as a step begins."""
        log, touched = self.log, self.system.touched
        if self._gripped is not None:
            for j in self._rubbing:
                joint = self.system.joints[j]
                self._forces[j, :3] = mbs.GetObjectOutput(joint, self._force)
                self._forces[j, 3:] = mbs.GetObjectOutput(joint, self._torque)
            poses, rubs = self._poses(n), self._gripped.rubs
            ties = [float(mbs.GetObjectOutput(self.system.ties[r.coupling], self._tie)) for r in rubs]
            held = [float(log.applied[n, FRICTION, r.axis]) for r in rubs]
            self._told = Told(self._forces, ties, held)
            self._limit(self._gripped.limits(poses, self.system.bars, self._told, self._speed))
        if self.system.corded is not None:
            self.system.corded.at(*self._of(n, self.system.corded.bodies), commit=True)
        if self.system.blown is not None:
            self.system.blown.begin(*self._of(n, self.system.blown.bodies), self.step if n else 0.0)
        if touched is not None:
            places, speeds = self._of(n, touched.bodies)
            touched.at(places, speeds, self.step if n else 0.0, commit=True)
            log.touch_force[n], log.touch_point[n] = touched.force, touched.point
            touched.began = time

    def _of(self, n: int, bodies: Sequence[int]) -> tuple[Array, Array]:
        """Places and speeds of some bodies in a row."""
        none, own = [np.zeros(0)], [self._slot[b] for b in bodies]
        places, speeds = (np.concatenate(none + [self.log.state[n, k, s] for s in own]) for k in (0, 1))
        return places, speeds

    def _limit(self, limits: dict[int, float]) -> None:
        for axis, most in limits.items():
            friction = self.system.loads[axis].friction
            if friction is not None:
                friction.limit = most

    def _poses(self, n: int) -> dict[int, Pose]:
        """The bodies that move, as recorded in a row."""
        state, bodies = self.log.state, self.system.assembly.bodies
        return {b: Pose(bodies[b].com, state[n, 0, s], state[n, 1, s]) for b, s in self._slot.items()}

    def _line(self, mbs: Any, k: int) -> tuple[float, float]:
        """Length of a line and its rate."""
        connector = self.system.lines[k].connector
        length = float(mbs.GetObjectOutput(connector, self._length))
        along = np.asarray(mbs.GetObjectOutput(connector, self._at))
        moving = np.asarray(mbs.GetObjectOutput(connector, self._rate))
        return length, float(along @ moving) / max(length, 1e-12)

    def _stretched(self, k: int) -> tuple[float, float]:
        """The same in the start pose."""
        line, assembly = self.actuation.lines[k], self.system.assembly
        places, speeds = [], []
        for body, point in ((line.first, line.first_point), (line.second, line.second_point)):
            places.append(assembly.bodies[body].com + point)
            speeds.append(assembly.velocity[body] + np.cross(assembly.spin[body], point))
        apart = places[1] - places[0]
        length = float(np.linalg.norm(apart))
        return length, float(apart @ (speeds[1] - speeds[0])) / max(length, 1e-12)

    def _tension(self, k: int, length: float, rate: float) -> float:
        if isinstance(self.actuation.lines[k].law, Mounted):
            return self.actuator.pull(k)
        return line_tension(self.actuation, k, length, rate, self.step)

    def _begin(self, mbs: Any, time: float, lines: list[tuple[float, float]]) -> None:
        """What holds for the step that begins: decided for its middle, where places are foreseen by the speeds."""
        half, loads, actuator = 0.5 * self.step, self.system.loads, self.actuator
        if self.system.slips is not None:
            self.system.slips.begin(self._where, self._speed, time - self._began)
        self._began = time
        for k in self._catches.follow(self._where):
            axis, which = self._caught[k]
            loads[axis].stops[which] = self._catches.laws[k]
        for axis, own in loads.items():
            for bristle in own.bristles:
                bristle.put(self._where[axis], time - own.began)
            own.began = time
        ahead = [at + half * rate for at, rate in zip(self._where, self._speed, strict=True)]
        if actuator.stepper is not None:
            straight = {k: (lines[k][0] + half * lines[k][1], lines[k][1]) for k in self._mounted}
            actuator.decide(
                time + half, ahead, self._speed, lines=straight, reaction=self._reaction, step=self.step
            )
        if self.actuation.motors:
            actuator.evaluate(time + half, ahead, self._speed)
        self._steer(mbs)
        for axis, own in loads.items():
            for bristle in own.bristles:
                bristle.wrong(self._where[axis], self._speed[axis], 0.0)

    def _put(self, mbs: Any, at: float, lines: list[tuple[float, float]]) -> None:
        """Put all laws on their elements as they are at the end of the step, or at its start where that is `at`."""
        half = 0.5 * self.step
        if self.system.slips is not None:
            self.system.slips.put(mbs, at - self._began)
        for axis, own in self.system.loads.items():
            ahead = self._where[axis] + half * self._speed[axis]
            self.system.axes[axis].take(mbs, own.straight(at, ahead, self._speed[axis]))
        for k in self._straight:
            law = self.actuation.lines[k].law
            form = law.near(lines[k][0] + half * lines[k][1]) if isinstance(law, LineLaw) else None
            self.system.lines[k].take(mbs, form)

    def _steer(self, mbs: Any) -> None:
        """Put what was decided on the motors and lines."""
        loads, actuator = self.system.loads, self.actuator
        for axis, own in loads.items():
            if own.drive is not None:
                held = actuator.held.get(axis)
                goal, own.drive.limit = held or (0.0, 0.0)
                if held is not None and not own.drive.on:  # it takes over what the motor gave until now
                    own.drive.hold(self._given[axis], self._where[axis])
                    own.drive.speed = self._speed[axis]
                own.drive.on = held is not None
                own.drive.change = (goal - own.drive.speed) / self.step if own.drive.on else 0.0
        stepper = actuator.stepper
        if stepper is None:
            return
        for axis, own in loads.items():
            own.motors.gain, own.motors.slope = stepper.extra.get(axis, 0.0), 0.0
        for m in self.actuation.controlled:
            volts = stepper.terminal.get(m.motor)
            if volts is not None:
                motors, line = loads[m.axis].motors, m.line
                motors.gain += m.sense * line.torque_constant * volts / line.resistance
                motors.slope += line.torque_constant * line.speed_constant / line.resistance
        for k in self._mounted:
            self.system.lines[k].take(mbs, (-actuator.pull(k), 0.0, 0.0))

    def start(self, masses: Sequence[float]) -> Start:
        """What friction would have to bear at the start to keep at rest what is at rest, as far as it can.

        After one step that was taken with what was taken for it.

        Args:
            masses: effective mass of each axis, kg or kg*m^2.
        """
        assembly = self.system.assembly
        still = [
            (axis, own.friction)
            for axis, own in self.system.loads.items()
            if own.friction is not None and axis_rate(assembly, axis) == 0.0
        ]
        found = {}
        for axis, friction in still:
            data = assembly.axes[axis]
            joint = assembly.joints[data.joint]
            changes = [self._change(b, joint.point, data.motion) for b in (joint.first, joint.second)]
            gained = float(data.way @ (changes[1] - changes[0]))
            kept = self.log.applied[0, FRICTION, axis] - masses[axis] * gained / len(still)
            found[axis] = min(friction.limit, max(-friction.limit, kept))
        limits: dict[int, float] = {}
        if self._gripped is not None:
            rates = [axis_rate(assembly, a) for a in range(len(assembly.axes))]
            limits = self._gripped.limits(self._poses(0), self.system.bars, self._told, rates)
        return Start(self._begins.hung, found, limits)

    def _change(self, body: int, point: Array, motion: str) -> Array:
        """Acceleration of a body at a point, or its angular acceleration, at the start, (3,)."""
        if body not in self._slot:
            return np.zeros(3)
        row = self.log.state[0, 2, self._slot[body]]
        turning = 2.0 * row[4:7]  # G of the start pose
        if motion == "turn":
            return np.asarray(turning)
        return np.asarray(row[:3] + np.cross(turning, point - self.system.assembly.bodies[body].com))


def _everywhere(law: object) -> bool:
    """Whether a line's law is one straight law at all lengths."""
    return isinstance(law, LineLaw) and law.affine is not None
