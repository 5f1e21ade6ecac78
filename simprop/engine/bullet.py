"""Steps a prop with PyBullet; the only file that imports it.

What had to be heeded (pybullet 3.2.7, each measured):

- `changeDynamics` ignores an inertia unless the mass comes in the same call, and sets it to zero where
damping or
  the largest joint speed come with it: two calls, and the inertia is read back.
- Damping and joint motors are on unless turned off; the largest joint speed is 100 rad/s unless raised.
- Links are put in depth-first order, which is asserted.
- One motor a joint, the last call wins: Coulomb friction is a speed motor to 0 with limited force (it sticks
as dry
  friction does); where a synchronous motor needs that, friction is an explicit force.
- A ball joint counts in the principal axes of its link, and so do the pivots of constraints.
- Positions after n steps belong to (n + 1/2) h when speeds belong to n h.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.assembly.types import Array, Assembly
from simprop.engine.actuation import Actuation
from simprop.engine.actuator import Actuator
from simprop.engine.links import Anchor, Link, Rotor, anchors, chain
from simprop.engine.mobility import effective_mass
from simprop.engine.outside import LineProbe, TurnProbe, compose
from simprop.engine.result import Log, check_rates, link_poses, trajectory
from simprop.engine.starting import Start, start_state
from simprop.engine.turning import inverse, multiply, of_matrix, rotate
from simprop.engine.world import Progress, Trajectory
from simprop.errors import EngineError, EngineMissingError
from simprop.laws.friction import coulomb
from simprop.laws.springs import tension
from simprop.laws.synchronous import SynchronousLaw

_ITERATIONS = 50
_RESIDUAL = 1e-10
_CORRECTION = 0.8
"""Share of a loop's gap that is closed at each step; the default of 0.2 leaves four times the gap (measured)."""
_LEAST_INERTIA = 1e-12
_ROTOR_MASS = 1e-6
_CHECK = 64
"""Steps between looks at the joint speeds."""
_REFRESH = 0.01
"""Time between new effective masses for explicit friction, s."""


class BulletEngine:
    """Semi-implicit steps in joint coordinates, loops closed by point constraints."""

    name = "bullet"

    def run(
        self,
        assembly: Assembly,
        actuation: Actuation,
        step: float,
        steps: int,
        progress: Progress | None = None,
    ) -> Trajectory:
        """Step the prop from its start pose; see `simprop.engine.world.Engine`.

        Raises:
            EngineMissingError: when PyBullet isn't installed here.
            EngineError: when the prop can't be built or its motion goes wrong.
        """
        world = _World(_pybullet(), assembly, actuation, step)
        try:
            log = world.run(steps, progress)
        finally:
            world.close()
        return trajectory(assembly, actuation, world.links, world.anchors, step=step, log=log)


def _pybullet() -> Any:
    """The module, imported without the line that it prints."""
    if "pybullet" in sys.modules:
        return sys.modules["pybullet"]
    sys.stdout.flush()
    kept = os.dup(1)
    void = os.open(os.devnull, os.O_WRONLY)
    os.dup2(void, 1)
    try:
        import pybullet
    except ImportError:
        raise EngineMissingError(
            "PyBullet isn't installed here (there are wheels for Linux x86-64 up to Python 3.11 alone): "
            "use --engine mujoco"
        ) from None
    finally:
        ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
        os.close(void)
    return pybullet


@dataclass(frozen=True)
class _Inertial:
    """Mass properties of a link: mass, principal moments (3,), centre from its point (3,), principal axes (4,)."""

    mass: float
    moments: Array
    centre: Array
    axes: Array


class _World:
    """One simulation in a client of its own."""

    def __init__(self, bullet: Any, assembly: Assembly, actuation: Actuation, step: float):
        self.p, self.assembly, self.actuation, self.step = bullet, assembly, actuation, step
        _closable(assembly)
        self.links = chain(assembly, _rotors(assembly, actuation))
        self.anchors = anchors(assembly, self.links)
        self.of_axis = {k.axis_index: i for i, k in enumerate(self.links) if k.axis_index >= 0}
        self.of_body = {k.body: i for i, k in enumerate(self.links) if k.body >= 0}
        self.inertials = [self._inertial(link) for link in self.links]
        self.start = start_state(assembly, self.links, self.anchors, step, _CORRECTION)
        self.client = bullet.connect(bullet.DIRECT)
        if self.client < 0:
            raise EngineError("PyBullet gave no client (too many runs at once in one process)")
        try:
            self._build()
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Free the client."""
        self.p.disconnect(self.client)

    def _build(self) -> None:
        p, c = self.p, self.client
        p.setGravity(*self.assembly.rig.run.gravity, physicsClientId=c)
        p.setPhysicsEngineParameter(
            fixedTimeStep=self.step,
            numSubSteps=0,
            numSolverIterations=_ITERATIONS,
            solverResidualThreshold=_RESIDUAL,
            erp=_CORRECTION,
            physicsClientId=c,
        )
        self.prop = self._make_links()
        self._check_order()
        for i, (link, inertial) in enumerate(zip(self.links, self.inertials, strict=True)):
            self._set_dynamics(i, link, inertial)
        self._set_start(self.start)
        for anchor in self.anchors:
            self._tie(anchor)
        for axis, friction in enumerate(self.actuation.friction):
            if axis in self.of_axis and friction > 0.0:
                self._speed_motor(axis, 0.0, float(friction))
        for rotor in _rotors(self.assembly, self.actuation):
            self._gear(rotor)

    def _inertial(self, link: Link) -> _Inertial:
        if link.body < 0:
            mass = _ROTOR_MASS if link.inertia > 0.0 else 0.0
            return _Inertial(mass, np.full(3, link.inertia), np.zeros(3), np.array([0.0, 0.0, 0.0, 1.0]))
        body = self.assembly.bodies[link.body]
        inertia = body.inertia + _on_fixed(self.assembly, self.actuation, link.body)
        moments, axes = np.linalg.eigh(0.5 * (inertia + inertia.T))
        if np.linalg.det(axes) < 0.0:
            axes[:, 0] *= -1.0
        return _Inertial(
            body.mass, np.maximum(moments, _LEAST_INERTIA), body.com - link.point, of_matrix(axes)
        )

    def _make_links(self) -> int:
        p, links = self.p, self.links
        kinds = {
            "turn": p.JOINT_REVOLUTE,
            "slide": p.JOINT_PRISMATIC,
            "ball": p.JOINT_SPHERICAL,
            "fixed": p.JOINT_FIXED,
        }
        none = [-1] * len(links)
        origins = [k.point - (links[k.parent].point if k.parent >= 0 else 0.0) for k in links]
        return int(
            p.createMultiBody(
                baseMass=0.0,
                linkMasses=[m.mass for m in self.inertials],
                linkCollisionShapeIndices=none,
                linkVisualShapeIndices=none,
                linkPositions=[o.tolist() for o in origins],
                linkOrientations=[[0.0, 0.0, 0.0, 1.0]] * len(links),
                linkInertialFramePositions=[m.centre.tolist() for m in self.inertials],
                linkInertialFrameOrientations=[m.axes.tolist() for m in self.inertials],
                linkParentIndices=[k.parent + 1 for k in links],
                linkJointTypes=[kinds[k.kind] for k in links],
                linkJointAxis=[k.axis.tolist() if k.axis.any() else [0.0, 0.0, 1.0] for k in links],
                physicsClientId=self.client,
            )
        )

    def _check_order(self) -> None:
        p, c = self.p, self.client
        if p.getNumJoints(self.prop, physicsClientId=c) != len(self.links):
            raise EngineError("PyBullet made another number of links than asked for")
        for i, link in enumerate(self.links):
            if p.getJointInfo(self.prop, i, physicsClientId=c)[16] != link.parent:
                raise EngineError("PyBullet put the links in another order than depth-first")

    def _set_dynamics(self, i: int, link: Link, inertial: _Inertial) -> None:
        p, c = self.p, self.client
        p.changeDynamics(
            self.prop,
            i,
            linearDamping=0.0,
            angularDamping=0.0,
            jointDamping=0.0,
            maxJointVelocity=1e5,
            physicsClientId=c,
        )
        if inertial.mass > 0.0:
            moments = inertial.moments.tolist()
            p.changeDynamics(
                self.prop, i, mass=inertial.mass, localInertiaDiagonal=moments, physicsClientId=c
            )
            got = p.getDynamicsInfo(self.prop, i, physicsClientId=c)
            if got[0] != inertial.mass or list(got[2]) != moments:
                name = self.assembly.bodies[link.body].name if link.body >= 0 else "a rotor"
                raise EngineError(f"PyBullet didn't take the mass and inertia of {name}")
        if link.kind == "ball":
            p.setJointMotorControlMultiDof(
                self.prop,
                i,
                p.POSITION_CONTROL,
                targetPosition=[0.0, 0.0, 0.0, 1.0],
                targetVelocity=[0.0, 0.0, 0.0],
                positionGain=0.0,
                velocityGain=0.0,
                force=[0.0, 0.0, 0.0],
                physicsClientId=c,
            )
        elif link.kind != "fixed":
            p.setJointMotorControl2(
                self.prop, i, p.VELOCITY_CONTROL, targetVelocity=0.0, force=0.0, physicsClientId=c
            )

    def _set_start(self, start: Start) -> None:
        p, c = self.p, self.client
        for i, link in enumerate(self.links):
            if link.kind in ("turn", "slide"):
                p.resetJointState(self.prop, i, start.coordinate[i], start.rate[i], physicsClientId=c)
            elif link.kind == "ball":
                turn = self._ball_inside(i, start.balls[i])
                rate = rotate(inverse(self.inertials[i].axes), start.ball_rates[i])
                p.resetJointStateMultiDof(self.prop, i, turn.tolist(), rate.tolist(), physicsClientId=c)

    def _pivot(self, link: int, point: Array) -> list[float]:
        """A point at the start pose in the principal axes of a link, from its centre of mass."""
        if link < 0:
            return [float(v) for v in point]
        inertial = self.inertials[link]
        arm = point - self.links[link].point - inertial.centre
        return [float(v) for v in rotate(inverse(inertial.axes), arm)]

    def _tie(self, anchor: Anchor) -> None:
        p = self.p
        p.createConstraint(
            self.prop,
            anchor.first,
            self.prop,
            anchor.second,
            p.JOINT_POINT2POINT,
            [0.0, 0.0, 0.0],
            self._pivot(anchor.first, anchor.point),
            self._pivot(anchor.second, anchor.point),
            physicsClientId=self.client,
        )

    def _speed_motor(self, axis: int, speed: float, force: float) -> None:
        p = self.p
        p.setJointMotorControl2(
            self.prop,
            self.of_axis[axis],
            p.VELOCITY_CONTROL,
            targetVelocity=speed,
            force=force,
            physicsClientId=self.client,
        )

    def _gear(self, rotor: Rotor) -> None:
        """Tie a rotor's turn to its axis: rotor = ratio * axis."""
        p, c = self.p, self.client
        driven = self.of_axis[rotor.axis_index]
        twin = driven - 1
        while self.links[twin].inertia == 0.0 or self.links[twin].parent != self.links[driven].parent:
            twin -= 1
        tie = p.createConstraint(
            self.prop,
            twin,
            self.prop,
            driven,
            p.JOINT_GEAR,
            [0.0, 0.0, 1.0],
            [0.0, 0.0, 0.0],
            [0.0, 0.0, 0.0],
            physicsClientId=c,
        )
        p.changeConstraint(tie, gearRatio=-rotor.ratio, maxForce=1e9, physicsClientId=c)

    def run(self, steps: int, progress: Progress | None) -> Log:
        """Take `steps` steps and record them."""
        p, c, h, prop = self.p, self.client, self.step, self.prop
        assembly, friction = self.assembly, [float(f) for f in self.actuation.friction]
        control, by_torque = p.setJointMotorControl2, p.TORQUE_CONTROL
        actuator = Actuator(self.actuation)
        motor, spring, stop, damping = actuator.motor, actuator.spring, actuator.stop, actuator.damping
        log = Log.empty(assembly, self.actuation, self.links, steps)
        moving = [i for i, k in enumerate(self.links) if k.kind in ("turn", "slide")]
        moving_links = [self.links[i] for i in moving]
        slot = {i: k for k, i in enumerate(moving)}
        balls = list(log.balls)
        coordinates, log.coordinate[0] = np.zeros((steps + 1, len(moving))), self.start.coordinate
        coordinates[0] = self.start.coordinate[moving]
        for i in balls:
            log.balls[i][0] = self._ball_inside(i, self.start.balls[i])
        acted = _acted(self.actuation)
        inner = [(a, i, slot[i]) for a, i in self.of_axis.items() if a in acted]
        synchronous = {m.axis for m in self.actuation.motors if isinstance(m.law, SynchronousLaw)}
        held = [(a, slot[i]) for a, i in self.of_axis.items() if friction[a] > 0.0 or a in synchronous]
        outer = _Outer(self, acted)
        where, rate = [0.0] * len(assembly.axes), [0.0] * len(assembly.axes)
        state: Sequence[Any] = list(zip(self.start.coordinate[moving], self.start.rate[moving], strict=True))
        before = [s[1] for s in state]
        drives: dict[int, tuple[float, float]] = {}
        braked = list(outer.braked)
        masses: dict[int, float] = {}
        refresh, report = max(1, round(_REFRESH / h)), max(1, steps // 200)
        for n in range(steps):
            for axis, _, k in inner:
                where[axis], now = state[k][0], state[k][1]
                rate[axis] = 1.5 * now - 0.5 * before[k]
            if outer.bodies:
                outer.measure(where, rate)
            actuator.evaluate((n + 0.5) * h, where, rate)
            if actuator.drives != drives:
                self._switch(drives, actuator.drives)
                drives = dict(actuator.drives)
                braked = [a for a in drives if friction[a] > 0.0] + outer.braked
                masses = {}
            if braked and (n % refresh == 0 or not masses):
                masses = self._masses(braked, coordinates[n], moving, log, n)
            brake = {a: coulomb(friction[a], rate[a], h, masses[a]) for a in braked}
            for axis, i, _ in inner:
                total = motor[axis] + spring[axis] + stop[axis] + damping[axis] + brake.get(axis, 0.0)
                if total != 0.0:
                    control(prop, i, by_torque, force=total, physicsClientId=c)
            if outer.bodies:
                outer.apply(n, log, actuator, brake)
            p.stepSimulation(physicsClientId=c)
            before = [s[1] for s in state]
            state = p.getJointStates(prop, moving, physicsClientId=c) if moving else []
            coordinates[n + 1] = [s[0] for s in state]
            if balls:
                turns = p.getJointStatesMultiDof(prop, balls, physicsClientId=c)
                for i, s in zip(balls, turns, strict=True):
                    log.balls[i][n + 1] = s[0]
            if acted:
                log.laws[n] = (motor, spring, stop, damping)
            for axis, value in brake.items():
                log.friction[n, axis] = value
            for axis, k in held:
                (log.drive if axis in drives else log.friction)[n, axis] += state[k][3]
            if log.current.size:
                log.current[n], log.voltage[n] = actuator.current, actuator.voltage
            if n % _CHECK == 0 or n == steps - 1:
                check_rates(assembly, moving_links, [s[1] for s in state], (n + 1) * h)
            if progress is not None and (n + 1) % report == 0:
                progress(n + 1)
        log.coordinate[:, moving] = coordinates
        for i in balls:
            log.balls[i] = self._ball_outside(i, log.balls[i])
        return log

    def _switch(self, old: dict[int, tuple[float, float]], new: dict[int, tuple[float, float]]) -> None:
        """Give the one speed motor of a joint to its drive, or back to its friction."""
        for axis in {*old, *new}:
            if axis not in self.of_axis:
                name = self.assembly.joints[self.assembly.axes[axis].joint].name
                raise EngineError(
                    f"joint {name!r} is driven at a speed but closes a loop; use --engine mujoco"
                )
            if axis in new:
                self._speed_motor(axis, *new[axis])
            else:
                self._speed_motor(axis, 0.0, float(self.actuation.friction[axis]))

    def _masses(
        self, axes: Sequence[int], moved: Array, moving: Sequence[int], log: Log, row: int
    ) -> dict[int, float]:
        coordinate = np.zeros((1, len(self.links)))
        coordinate[0, moving] = moved
        balls = {i: self._ball_outside(i, b[row : row + 1]) for i, b in log.balls.items()}
        position, rotation = link_poses(self.assembly, self.links, coordinate, balls)
        found = effective_mass(self.assembly, self.actuation, position[0], rotation[0], axes)
        return dict(zip(axes, found, strict=True))

    def _ball_inside(self, link: int, turn: Array) -> Array:
        """A ball's rotation in the principal axes in which PyBullet counts it."""
        inner = self.inertials[link].axes
        return multiply(multiply(inverse(inner), turn), inner)

    def _ball_outside(self, link: int, turn: Array) -> Array:
        inner = self.inertials[link].axes
        return multiply(multiply(inner, turn), inverse(inner))


class _Outer:
    """What acts between bodies of a `_World` rather than on its joints."""

    def __init__(self, world: _World, acted: set[int]):
        assembly, actuation = world.assembly, world.actuation
        self.world, self.actuation = world, actuation
        closing = [a for a in range(len(assembly.axes)) if a not in world.of_axis]
        self.braked = [a for a in closing if actuation.friction[a] > 0.0]
        self.turns = [TurnProbe(assembly, a, world.step) for a in closing if a in acted or a in self.braked]
        self.lines = [LineProbe(assembly, line, world.step) for line in actuation.lines]
        ends = {b for probe in (*self.turns, *self.lines) for b in (probe.first, probe.second)}
        self.bodies = sorted(b for b in ends if b in world.of_body)
        self._links = [world.of_body[b] for b in self.bodies]
        self._axes = [_floats(inverse(world.inertials[i].axes)) for i in self._links]
        still = (0.0, 0.0, 0.0, 1.0)
        self.frames: dict[int, Any] = {b: (tuple(assembly.bodies[b].com.tolist()), still) for b in ends}
        self._measured: list[Any] = []
        self._directions: list[Any] = []

    def measure(self, where: list[float], rate: list[float]) -> None:
        """Read the bodies; put angles and rates of closing joints in their places."""
        world = self.world
        states = world.p.getLinkStates(
            world.prop, self._links, computeForwardKinematics=1, physicsClientId=world.client
        )
        for body, axes, state in zip(self.bodies, self._axes, states, strict=True):
            self.frames[body] = state[0], compose(state[1], axes)
        self._measured = [probe.measure(self.frames) for probe in self.lines]
        self._directions = []
        for probe in self.turns:
            where[probe.axis], rate[probe.axis], direction = probe.measure(self.frames)
            self._directions.append(direction)

    def apply(self, n: int, log: Log, actuator: Actuator, brake: dict[int, float]) -> None:
        """Put the forces on the bodies and record the lines."""
        for k, (one, two, (x, y, z), length, rate) in enumerate(self._measured):
            pull = tension(self.actuation.lines[k].law, length, rate)
            log.line_force[n, k], log.line_start[n, k], log.line_end[n, k] = pull, one, two
            if pull != 0.0:
                self._push(self.lines[k].first, (pull * x, pull * y, pull * z), one)
                self._push(self.lines[k].second, (-pull * x, -pull * y, -pull * z), two)
        for probe, (x, y, z) in zip(self.turns, self._directions, strict=True):
            a = probe.axis
            total = actuator.motor[a] + actuator.spring[a] + actuator.stop[a] + actuator.damping[a]
            total += brake.get(a, 0.0)
            self._twist(probe.second, (total * x, total * y, total * z))
            self._twist(probe.first, (-total * x, -total * y, -total * z))

    def _push(self, body: int, force: Any, point: Any) -> None:
        w = self.world
        if body in w.of_body:
            w.p.applyExternalForce(
                w.prop, w.of_body[body], force, point, w.p.WORLD_FRAME, physicsClientId=w.client
            )

    def _twist(self, body: int, torque: Any) -> None:
        w = self.world
        if body in w.of_body:
            w.p.applyExternalTorque(
                w.prop, w.of_body[body], torque, w.p.WORLD_FRAME, physicsClientId=w.client
            )


def _closable(assembly: Assembly) -> None:
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        if joint.kind in ("slider", "cylindrical"):
            raise EngineError(
                f"joint {joint.name!r} closes a loop by a slide, which PyBullet can't; use --engine mujoco"
            )


def _acted(actuation: Actuation) -> set[int]:
    """Axes whose coordinate or rate some law needs."""
    axes = {m.axis for m in actuation.motors} | {a for a, _ in actuation.torsion}
    axes |= {a for a, _ in actuation.stops}
    return axes | {a for a, c in enumerate(actuation.viscous) if c > 0.0}


def _rotors(assembly: Assembly, actuation: Actuation) -> list[Rotor]:
    """Rotors that need a link of their own: those that turn on a moving body, or drive a slide."""
    branch_of = {b.joint: b for b in assembly.tree}
    found = []
    for motor in actuation.motors:
        if motor.reflected_inertia == 0.0:
            continue
        axis = assembly.axes[motor.axis]
        if axis.joint not in branch_of:
            name = assembly.joints[axis.joint].name
            raise EngineError(
                f"joint {name!r} has a motor with inertia but closes a loop; use --engine mujoco"
            )
        if branch_of[axis.joint].parent >= 0 or axis.motion == "slide":
            ratio = motor.gear_ratio
            found.append(Rotor(motor.axis, motor.reflected_inertia / ratio**2, ratio))
    return found


def _on_fixed(assembly: Assembly, actuation: Actuation, body: int) -> Array:
    """Reflected inertia of motors that stand still, as inertia of the body they turn, (3, 3)."""
    total = np.zeros((3, 3))
    for branch in assembly.tree:
        if branch.body != body or branch.parent >= 0:
            continue
        for motor in actuation.motors:
            axis = assembly.axes[motor.axis]
            if axis.joint == branch.joint and axis.motion == "turn":
                unit = assembly.joints[axis.joint].axis
                total += motor.reflected_inertia * np.outer(unit, unit)
    return total


def _floats(values: Array) -> Any:
    return tuple(float(v) for v in values)
