"""The rotors of the motors as bodies, made once for every engine, the loads and the energy.

A motor's rotor turns N times for one turn of its axis, about the axis, within the first body of the joint. With
the rotor's inertia J, that body's spin a about the axis and the axis' rate q, its energy about the axis is
J (a + N q)^2 / 2 = J a^2 / 2 + N J a q + N^2 J q^2 / 2. The first term is that of a rotor that stands still in the
body. It belongs to the body's own inertia where the rig counts the motor as part of the body; an engine that makes
the rotor a body of its own has to leave it out of the other. A body whose own inertia is smaller than that of its
rotors in any direction can't contain them (a thin rod has none about its own line): the rig has left the motor out,
and the rotors come on top. A rotor counts as a thin disc: J about its axis, J / 2 across.

Source: Lagrange's equations of a geared rotor, as in any text on robot dynamics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import MotorData
from simprop.geometry.arrays import Array

_ROUND = 1e-9
"""Share of a body's inertia by which rounding may leave it short."""


@dataclass(frozen=True)
class Rotor:
    """A rotor that turns in a moving body.

    Attributes:
        axis: index of the axis that it drives, into `Assembly.axes`.
        carrier: index of the body in which it turns, the first of the joint.
        inertia: of the rotor itself about its axis, kg*m^2.
        ratio: its turns against the carrier for one of the axis (rad/m for a slide).
        way: unit direction of its axis in the start pose, (3,).
    """

    axis: int
    carrier: int
    inertia: float
    ratio: float
    way: Array

    @property
    def tensor(self) -> Array:
        """Inertia about its centre in the axes of the start pose, (3, 3) kg*m^2."""
        return self.inertia / 2 * (np.eye(3) + np.outer(self.way, self.way))


@dataclass(frozen=True)
class Rotors:
    """All rotors of a prop.

    Attributes:
        riding: those that turn in a moving body.
        armature: reflected inertia of those that turn in a body that stands still, of each axis, (A,) kg*m^2 (kg for
            a slide).
        bare: inertia of each body about its centre of mass without the rotors that turn in it, (B, 3, 3) kg*m^2, in
            the axes of the start pose.
        whole: the same with those rotors at rest in it.
    """

    riding: tuple[Rotor, ...]
    armature: Array
    bare: Array
    whole: Array


def rotors(assembly: Assembly, motors: Sequence[MotorData]) -> Rotors:
    """Rotors of motors as bodies and inertias.

    Args:
        motors: of its `Actuation`.

    Example:
        >>> from simprop.assembly.assemble import assemble
        >>> from simprop.engine.acting.actuation import actuate
        >>> from simprop.rig.load import parse_rig
        >>> arm = assemble(parse_rig('''
        ... rig: 1
        ... name: Arm
        ... bodies: {post: {fixed: true}, arm: {parts: [{lump: 1 kg, at: 100 0 0 mm}]}}
        ... joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
        ... motors:
        ...   m:
        ...     joint: hook
        ...     motor:
        ...       dc: {rated_voltage: 12 V, no_load_speed: 5 rad/s, stall_torque: 3 N*m, no_load_current: 0 A,
        ...         stall_current: 3 A, rotor_inertia: 1e-5 kg*m^2, gear_ratio: 50}
        ... run: {for: 1 s}
        ... '''))
        >>> found = rotors(arm, actuate(arm).motors)
        >>> found.riding, round(float(found.armature[0]), 6)  # 50^2 * 1e-5, on a post that stands still
        ((), 0.025)
    """
    armature = np.zeros(len(assembly.axes))
    riding = []
    for motor in motors:
        axis = assembly.axes[motor.axis]
        joint = assembly.joints[axis.joint]
        if motor.reflected_inertia == 0.0:
            continue
        if assembly.bodies[joint.first].fixed:
            armature[motor.axis] += motor.reflected_inertia
            continue
        own = motor.reflected_inertia / motor.gear_ratio**2
        riding.append(Rotor(motor.axis, joint.first, own, motor.gear_ratio, axis.way))
    bare = np.array([body.inertia for body in assembly.bodies]).reshape(-1, 3, 3)
    whole = bare.copy()
    for body in {r.carrier for r in riding}:
        within: Array = sum((r.tensor for r in riding if r.carrier == body), np.zeros((3, 3)))
        rest = whole[body] - within
        if float(np.linalg.eigvalsh(rest)[0]) >= -_ROUND * float(np.trace(whole[body])):
            bare[body] = rest
        else:
            whole[body] = whole[body] + within
    return Rotors(tuple(riding), armature, bare, whole)
