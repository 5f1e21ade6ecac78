"""What holds a motor to the body that carries it: its weight, its motion, the torque it gives, what its shaft bears."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simprop.drives.mounts import Mount
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.newton_euler import Wrenches
from simprop.parts.part import Mounting, Shape
from simprop.recording import Recording


@dataclass(frozen=True)
class Held:
    """What a mount puts on its motor, at each step.

    Attributes:
        motor: its name.
        mount: as in the rig.
        body: index of the body that carries it.
        on: where it sits, in the body's frame.
        force: (n, 3) N, world.
        moment: about its place there, (n, 3) N*m, world.
    """

    motor: str
    mount: Mount
    body: int
    on: Mounting
    force: Array
    moment: Array


def held_motors(recording: Recording, found: Wrenches) -> Iterator[Held]:
    """The load in the mount of each motor that has one.

    Source: Newton-Euler equations of the motor's case; its shaft hands on the motor's torque about the joint's axis
    and, where it bears the joint, all else that the joint bears.

    Args:
        recording: a run.
        found: its joint wrenches.
    """
    assembly, track = recording.assembly, recording.track
    for k, law in enumerate(recording.laws.motors):
        mount = assembly.rig.motors[law.name].mount
        if mount is None:
            continue
        body, case, on = next(
            (i, shape, shape.mounting)
            for i, b in enumerate(assembly.bodies)
            for shape in b.shapes
            if shape.mounting is not None and shape.mounting.motor == law.name
        )
        axis = assembly.axes[law.axis]
        joint = assembly.joints[axis.joint]
        turn = matrices(track.rotation[:, body])
        force, moment = _own(recording, body, case, turn @ on.place)
        way = matrices(track.rotation[:, joint.first]) @ axis.way
        torque = found.applied[:, k, None] * way
        onto = 1.0 if joint.kind.between[1] == mount.on else -1.0  # what the joint puts on the carrier
        push, twist = np.zeros_like(force), onto * torque
        if mount.bears:
            push = onto * found.force[:, axis.joint]
            whole = found.moment[:, axis.joint]
            across = whole - np.einsum("ni,ni->n", whole, way)[:, None] * way
            at = track.position[:, body] + turn @ on.place
            twist = twist + onto * across + np.cross(found.point[:, axis.joint] - at, push)
        yield Held(law.name, mount, body, on, force - push, moment - twist)


def _own(recording: Recording, body: int, case: Shape, arm: Array) -> tuple[Array, Array]:
    """Force and moment about a place that a case's weight and motion take, (n, 3) N and N*m.

    Args:
        body: that carries it.
        case: in the body's frame.
        arm: of the place from the body's centre of mass, (n, 3) m, world.
    """
    track, weight = recording.track, case.weight
    turn, spin = matrices(track.rotation[:, body]), track.spin[:, body]
    gain = track.spin_acceleration[:, body]
    out = turn @ weight.centre
    motion = track.acceleration[:, body] + np.cross(gain, out) + np.cross(spin, np.cross(spin, out))
    force = weight.mass * (motion - np.asarray(recording.assembly.rig.run.gravity))
    inertia = turn @ weight.inertia @ np.swapaxes(turn, 1, 2)
    rate = np.einsum("nij,nj->ni", inertia, gain)
    rate = rate + np.cross(spin, np.einsum("nij,nj->ni", inertia, spin))
    return force, rate + np.cross(out - arm, force)
