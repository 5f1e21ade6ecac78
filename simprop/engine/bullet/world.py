"""A prop as links of PyBullet's world: built from the chain, put at its start, read after each step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly, CouplingData
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.rotors import Rotor, Rotors, rotors
from simprop.engine.bullet.links import Link, chain, ties
from simprop.engine.bullet.starting import Start, start_state
from simprop.errors import EngineError
from simprop.geometry.arrays import Array
from simprop.geometry.turning import inverse, multiply, of_matrix, rotate

_CORRECTION = 0.8
"""Share of a loop's gap that is closed at each step; the default of 0.2 leaves four times the gap (measured)."""
_LEAST_INERTIA = 1e-12
_ROTOR_MASS = 1e-6


@dataclass(frozen=True)
class _Inertial:
    """Mass properties of a link: mass, principal moments (3,), centre from its point (3,), principal axes (4,)."""

    mass: float
    moments: Array
    centre: Array
    axes: Array

    def tensor(self) -> Array:
        """Inertia in the axes of the start, (3, 3)."""
        columns = np.array([rotate(self.axes, unit) for unit in np.eye(3)]).T
        return np.asarray(columns @ np.diag(self.moments) @ columns.T)


class World:
    """One simulation in a client of its own."""

    correction = _CORRECTION

    def __init__(self, bullet: Any, assembly: Assembly, actuation: Actuation, step: float):
        self.p, self.assembly, self.actuation, self.step = bullet, assembly, actuation, step
        self.rotors = rotors(assembly, actuation.motors)
        self.links = chain(assembly, _linked(assembly, self.rotors))
        self.tied = ties(assembly, self.links)
        self.of_axis = {k.axis_index: i for i, k in enumerate(self.links) if k.axis_index >= 0}
        self.of_body = {k.body: i for i, k in enumerate(self.links) if k.body >= 0}
        self.inertials = [self._inertial(link) for link in self.links]
        self.gears = self._gears()
        self.start = start_state(assembly, self.links, self.tied, step, _CORRECTION)
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
            physicsClientId=c,
        )
        self.prop = self._make_links()
        self._check_order()
        for i, (link, inertial) in enumerate(zip(self.links, self.inertials, strict=True)):
            self._set_dynamics(i, link, inertial)
        self._set_start(self.start)

    def _gears(self) -> list[tuple[int, int, float]]:
        """Links of rotors and of what couplings drive, the links that drive them, and turns for one turn of those."""
        return [
            (i, self.of_axis[k.rotor.axis], k.rotor.ratio)
            for i, k in enumerate(self.links)
            if k.rotor is not None
        ] + [self._tied(coupling) for coupling in self.assembly.couplings]

    def _tied(self, coupling: CouplingData) -> tuple[int, int, float]:
        first, second = coupling.axes
        missing = [a for a in coupling.axes if a not in self.of_axis]
        if missing:
            joint = self.assembly.joints[self.assembly.axes[missing[0]].joint].name
            raise EngineError(
                f"coupling {coupling.name!r} ties joint {joint!r}, which closes a loop: bullet can't carry that; use "
                "--engine mujoco"
            )
        return self.of_axis[second], self.of_axis[first], coupling.ratio

    def _inertial(self, link: Link) -> _Inertial:
        if link.rotor is not None:
            mass, centre = _ROTOR_MASS, np.zeros(3)
            inertia = link.rotor.tensor
        elif link.body < 0:
            return _Inertial(0.0, np.zeros(3), np.zeros(3), np.array([0.0, 0.0, 0.0, 1.0]))
        else:
            body = self.assembly.bodies[link.body]
            mass, centre = body.mass, body.com - link.point
            inertia = self.rotors.bare[link.body] + _on_fixed(self.assembly, self.rotors, link.body)
        moments, axes = np.linalg.eigh(0.5 * (inertia + inertia.T))
        if np.linalg.det(axes) < 0.0:
            axes[:, 0] *= -1.0
        return _Inertial(mass, np.maximum(moments, _LEAST_INERTIA), centre, of_matrix(axes))

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
                turn = self.ball_inside(i, start.balls[i])
                rate = rotate(inverse(self.inertials[i].axes), start.ball_rates[i])
                p.resetJointStateMultiDof(self.prop, i, turn.tolist(), rate.tolist(), physicsClientId=c)

    def ball_inside(self, link: int, turn: Array) -> Array:
        """A ball's rotation in the principal axes in which PyBullet counts it."""
        inner = self.inertials[link].axes
        return multiply(multiply(inverse(inner), turn), inner)


def _linked(assembly: Assembly, found: Rotors) -> tuple[Rotor, ...]:
    """Rotors that need a link of their own: those that turn in a moving body, or drive a slide from one that stands
    still; the others count as inertia of the body that they turn."""
    closing = {c.joint for c in assembly.closures}
    geared = [r.axis for r in found.riding] + np.flatnonzero(found.armature).tolist()
    for axis in geared:
        if assembly.axes[axis].joint in closing:
            name = assembly.joints[assembly.axes[axis].joint].name
            raise EngineError(
                f"joint {name!r} has a motor with inertia but closes a loop; use --engine mujoco"
            )
    slides = [
        Rotor(k, -1, float(found.armature[k]), 1.0, axis.way)
        for k, axis in enumerate(assembly.axes)
        if axis.motion == "slide" and found.armature[k] > 0.0
    ]
    return (*found.riding, *slides)


def _on_fixed(assembly: Assembly, found: Rotors, body: int) -> Array:
    """Reflected inertia of motors that stand still, as inertia of the body they turn, (3, 3)."""
    total = np.zeros((3, 3))
    joints = {b.joint for b in assembly.tree if b.body == body}
    for k, axis in enumerate(assembly.axes):
        if axis.motion == "turn" and axis.joint in joints:
            total += found.armature[k] * np.outer(axis.way, axis.way)
    return total
