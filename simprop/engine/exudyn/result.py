"""What the exudyn engine recorded, as a `Trajectory`; pure array work."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.cords import followed
from simprop.engine.acting.lines import line_ends
from simprop.engine.exudyn.log import Log
from simprop.engine.exudyn.rows import Barred, reaction
from simprop.engine.exudyn.touch import EULER, euler_rows
from simprop.engine.track import axis_coordinate
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices, rotate


def trajectory(
    assembly: Assembly,
    actuation: Actuation,
    moving: tuple[int, ...],
    step: float,
    log: Log,
    own: Mapping[int, Array],
    bars: Mapping[int, Barred],
) -> Trajectory:
    """The recorded rows as motion and loads; row i at the instant i * step.

    Args:
        moving: bodies in the order of their coordinates.
        step: s.
        log: what was recorded.
        own: joint -> force and moment as the engine tells them, in the axes of its rows, (n, 6).
        bars: joint -> what it bars.
    """
    n, count = len(log.state), len(assembly.bodies)
    position = np.broadcast_to(np.array([b.com for b in assembly.bodies]), (n, count, 3)).copy()
    rotation = np.zeros((n, count, 4))
    rotation[..., 3] = 1.0
    velocity, spin, acceleration, turning = (np.zeros((n, count, 3)) for _ in range(4))
    for k, body in enumerate(moving):
        place, speed, change = np.moveaxis(log.state[:, :, EULER * k : EULER * (k + 1)], 1, 0)
        position[:, body] += place[:, :3]
        velocity[:, body], acceleration[:, body] = speed[:, :3], change[:, :3]
        euler = place[:, 3:7] + [1.0, 0.0, 0.0, 0.0]
        rotation[:, body] = euler[:, [1, 2, 3, 0]] / np.linalg.norm(euler, axis=1, keepdims=True)
        # w = 2 G p', and as G' p' = 0 also a = 2 G p''
        rows = euler_rows(euler)
        spin[:, body] = 2.0 * np.einsum("ijn,nj->ni", rows, speed[:, 3:7])
        turning[:, body] = 2.0 * np.einsum("ijn,nj->ni", rows, change[:, 3:7])
    axes = range(len(assembly.axes))
    coordinate, rate = np.zeros((n, len(axes))), np.zeros((n, len(axes)))
    for axis in axes:
        coordinate[:, axis] = axis_coordinate(assembly, axis, position, rotation)
        rate[:, axis] = _rate(assembly, axis, position, rotation, velocity, spin)
    start, end = line_ends(actuation.lines, position, rotation)
    track = Trajectory(
        step=step,
        time=np.arange(n, dtype=np.float64) * step,
        position=position,
        rotation=rotation,
        velocity=velocity,
        spin=spin,
        acceleration=acceleration,
        spin_acceleration=turning,
        coordinate=coordinate,
        rate=rate,
        applied=log.applied,
        line_force=log.line_force,
        line_start=start,
        line_end=end,
        voltage=log.voltage,
        current=log.current,
        touch_force=log.touch_force,
        touch_point=log.touch_point,
        slip_force=log.slip_force,
        own=_own(assembly, position, rotation, own, bars),
    )
    return followed(assembly, actuation.cords, track)


def _own(
    assembly: Assembly,
    position: Array,
    rotation: Array,
    own: Mapping[int, Array],
    bars: Mapping[int, Barred],
) -> Array:
    """Wrench of each joint of the rig on its second body at the point that the first carries, (n, J, 6)."""
    found = np.full((len(position), len(assembly.rig.joints), 6), np.nan)
    for j, told in own.items():
        joint = assembly.joints[j]
        points = [
            position[:, i] + rotate(rotation[:, i], joint.point - assembly.bodies[i].com)
            for i in (joint.first, joint.second)
        ]
        axes = [matrices(rotation[:, i]) @ bars[j].frame for i in (joint.first, joint.second)]
        force, moment = reaction(told, bars[j].rows, axes[0], axes[1])
        moment = moment + np.cross(points[1] - points[0], force)
        found[:, j] = np.hstack([force, moment])
    return found


def _rate(
    assembly: Assembly, axis: int, position: Array, rotation: Array, velocity: Array, spin: Array
) -> Array:
    """Rate of an axis from the motion of its two bodies, (n,)."""
    data = assembly.axes[axis]
    joint = assembly.joints[data.joint]
    one, two = joint.first, joint.second
    way = rotate(rotation[:, one], data.way)
    if data.motion == "turn":
        return np.asarray(np.einsum("ni,ni->n", way, spin[:, two] - spin[:, one]))
    place, speed = [], []
    for body in (one, two):
        arm = rotate(rotation[:, body], joint.point - assembly.bodies[body].com)
        place.append(position[:, body] + arm)
        speed.append(velocity[:, body] + np.cross(spin[:, body], arm))
    apart = place[1] - place[0]
    return np.asarray(np.einsum("ni,ni->n", way, speed[1] - speed[0] - np.cross(spin[:, one], apart)))
