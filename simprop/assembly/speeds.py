"""Speeds of all bodies at the start, from those of a few joints."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.assembly.closing import jacobian
from simprop.assembly.kinematics import STILL, Hinge, Pose, Tree, poses, twists
from simprop.assembly.types import BodyData, CouplingData
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import Freedom
from simprop.rig.model import Rig


def start_speeds(
    rig: Rig,
    tree: Tree,
    loops: Sequence[Hinge],
    q: Array,
    *,
    size: float,
    bodies: Sequence[BodyData],
    couplings: Sequence[CouplingData] = (),
) -> tuple[Array, Array]:
    """Least speeds with which the joints move as the rig says.

    Args:
        rig: with `run.start_speeds`; of a joint that moves in several such ways the first is meant.
        q: tree coordinates of the start pose.
        size: length that turns radians into metres.
        couplings: that tie joints together.

    Returns:
        Velocity of each centre of mass (B, 3) m/s, and angular velocity (B, 3) rad/s.

    Raises:
        AssemblyError: for a joint that doesn't move that way, or speeds that contradict each other.
    """
    velocity, spin = np.zeros((len(bodies), 3)), np.zeros((len(bodies), 3))
    if not rig.run.start_speeds:
        return velocity, spin
    at = poses(tree, q)
    moves = twists(tree, q, at)
    wanted_rows, wanted = [], []
    for name, (rate, motion) in rig.run.start_speeds.items():
        hinge = tree.hinges[list(rig.joints).index(name)]
        freedom = next((f for f in hinge.freedoms if f.how == motion), None)
        if freedom is None:
            raise AssemblyError(f"run.start_speeds.{name}: a {rig.joints[name].kind} doesn't {motion}")
        wanted_rows.append(_row(hinge, freedom, at, moves))
        wanted.append(rate)
    ties = [_tied(coupling, moves) for coupling in couplings]
    rows = np.vstack([jacobian(tree, loops, q, size), *ties, np.array(wanted_rows)])
    right = np.concatenate([np.zeros(rows.shape[0] - len(wanted)), wanted])
    rates = np.linalg.lstsq(rows, right, rcond=1e-9)[0]
    if float(np.abs(rows @ rates - right).max()) > 1e-6 * max(1.0, float(np.abs(right).max())):
        raise AssemblyError("run.start_speeds: the joints can't move at these speeds together")
    for i, body in enumerate(bodies):
        twist = moves[i] @ rates
        spin[i] = twist[:3]
        velocity[i] = twist[3:] + np.cross(twist[:3], body.com)
    return velocity, spin


def _tied(coupling: CouplingData, moves: Array) -> Array:
    """Speed of one side of a coupling against the other where they meet, over the tree's rates, (n,)."""
    one, two = coupling.bodies
    tie, apart = coupling.tie, moves[one] - moves[two]
    there = apart[3:] + np.cross(apart[:3].T, tie.point).T
    return np.asarray(tie.force @ there + tie.moment @ apart[:3])


def _row(hinge: Hinge, freedom: Freedom, at: Sequence[Pose], moves: Array) -> Array:
    """Rate of a joint's coordinate over the tree's rates, (n,)."""
    turn, shift = STILL if hinge.first < 0 else at[hinge.first]
    way, point = turn @ freedom.way, turn @ hinge.on_first + shift
    relative = np.zeros(moves.shape[1:])
    if hinge.second >= 0:
        relative = relative + moves[hinge.second]
    if hinge.first >= 0:
        relative = relative - moves[hinge.first]
    if freedom.how == "turn":
        return np.asarray(way @ relative[:3])
    return np.asarray(way @ (relative[3:] + np.cross(relative[:3].T, point).T))
