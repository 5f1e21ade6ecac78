"""How joints that give and members that bend are strained over a run, and what they store and lose."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Assembly, JointData
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.turning import inverse, matrices, multiply, to_vector


def deflection(assembly: Assembly, track: Trajectory, joint: JointData) -> tuple[Array, Array]:
    """How far a joint has given and how fast, in its first body's axes: shift m and turn rad, (n, 6) each, and rates.

    Args:
        assembly: what was run.
        track: its motion.
        joint: of the assembly.
    """
    one, two = joint.first, joint.second
    turns = [matrices(track.rotation[:, i]) for i in (one, two)]
    arms = [turn @ (joint.point - assembly.bodies[i].com) for turn, i in zip(turns, (one, two), strict=True)]
    back = turns[0].transpose(0, 2, 1)
    apart = track.position[:, two] + arms[1] - track.position[:, one] - arms[0]
    against = to_vector(multiply(inverse(track.rotation[:, one]), track.rotation[:, two]))
    speeds = [
        track.velocity[:, i] + np.cross(track.spin[:, i], arm)
        for i, arm in zip((one, two), arms, strict=True)
    ]
    carried = speeds[0] + np.cross(track.spin[:, one], apart)
    moved = (back @ (speeds[1] - carried)[:, :, None])[..., 0]
    turning = (back @ (track.spin[:, two] - track.spin[:, one])[:, :, None])[..., 0]
    shift = (back @ apart[:, :, None])[..., 0]
    return np.concatenate([shift, against], axis=1), np.concatenate([moved, turning], axis=1)


def stored(assembly: Assembly, track: Trajectory) -> tuple[Array, Array]:
    """Elastic energy in all that gives, J, and the power that its dampers lose, W; (n,) each."""
    energy, lost = np.zeros(len(track.time)), np.zeros(len(track.time))
    for joint in assembly.joints:
        if joint.give is not None:
            far, rate = deflection(assembly, track, joint)
            energy += 0.5 * np.einsum("ni,ij,nj->n", far, joint.give.stiffness, far)
            lost += np.einsum("ni,ij,nj->n", rate, joint.give.damping, rate)
    return energy, lost
