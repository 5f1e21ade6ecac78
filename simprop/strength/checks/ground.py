"""What a prop stands on, and what the ground gives during a run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly, BodyData
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rig.site import Stand
from simprop.rules import stability
from simprop.strength.members.outer import outer_loads
from simprop.strength.members.pieces import pieces


@dataclass(frozen=True)
class Ground:
    """The ground's part of a run, for plots and the report.

    Attributes:
        force: that the ground gives without wind, (n, 3) N.
        moment: about `origin`, (n, 3) N*m.
        origin: a point of the ground under the world's origin, (3,) m.
        feet: corners of the footprint, (k, 2) m.
        weight: of the whole prop with its ballast, N.
        weights: the weight of each body and of the ballast with its moment about `origin`, ((n, 3) N, (n, 3) N*m).
        others: what pulls or touches the prop from outside, and what its motion asks; but wind and ground.
    """

    force: Array
    moment: Array
    origin: Array
    feet: Array
    weight: float
    weights: tuple[tuple[Array, Array], ...]
    others: tuple[tuple[Array, Array], ...]


def footprint(assembly: Assembly, stand: Stand) -> tuple[Array | None, float]:
    """Corners of the footprint, (k, 2) m, None where nothing is known of it; and the height of the ground, m."""
    if stand.feet:
        points = np.array([p[:3] for p in stand.feet])
        return _hull(points[:, :2]), float(points[:, 2].min())
    own = [b for b in assembly.bodies if b.fixed and not b.scenery and b.shapes]
    lows = np.vstack([_low_points(b) for b in own] or [np.zeros((0, 3))])
    level = float(lows[:, 2].min()) if len(lows) else 0.0
    if stand.base is not None:
        at = np.zeros(3) if stand.at is None else np.array(stand.at[:3])
        half = np.asarray(stand.base) / 2
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
        return at[:2] + corners, float(at[2]) if stand.at is not None else level
    return _hull(lows[lows[:, 2] < level + 0.010, :2]), level


def _hull(points: Array) -> Array | None:
    from scipy.spatial import ConvexHull, QhullError

    if len(points) < 3:
        return None
    try:
        return np.asarray(points[ConvexHull(points).vertices])
    except QhullError:
        return None


def _low_points(body: BodyData) -> Array:
    """Points of a body that may touch the ground, world frame at the start, (k, 3) m."""
    found = []
    for piece in pieces(body):
        if piece.boxed:
            found.append(piece.spots())
        else:
            ring = np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0]]) * piece.radius
            ends = np.vstack([piece.start + ring, piece.end + ring])
            way = piece.end - piece.start
            lying = way.any() and abs(float(way[2])) < 0.5 * float(np.linalg.norm(way))
            ball = not way.any()
            found.append(ends - [0, 0, piece.radius] if lying or ball else ends)
    return np.vstack(found) + body.com


def reaction(loads: JointLoads, stand: Stand, feet: Array, level: float, gravity: float) -> Ground:
    """What the ground gives at every step, without wind: momentum of the whole prop.

    Args:
        stand: with its ballast.
        feet: corners of the footprint, (k, 2) m.
        level: of the ground, m.
        gravity: m/s2, downwards.
    """
    assembly, track = loads.recording.assembly, loads.recording.track
    n = len(track.time)
    origin = np.array([0.0, 0.0, level])
    rate, turning = np.zeros((n, 3)), np.zeros((n, 3))
    down = np.asarray(assembly.rig.run.gravity)
    weights: list[tuple[Array, Array]] = []
    others: list[tuple[Array, Array]] = []
    weight = (stand.ballast or 0.0) * gravity
    for i, body in enumerate(assembly.bodies):
        if body.scenery:
            continue
        arm = track.position[:, i] - origin
        pull = np.tile(body.mass * down, (n, 1))
        weights.append((pull, np.cross(arm, pull)))
        weight += body.mass * gravity
        others += [
            (load.force, np.cross(load.place - origin, load.force) + load.moment)
            for load in outer_loads(loads, i)
            if load.other < 0 or assembly.bodies[load.other].scenery
        ]
        if body.fixed:
            continue
        turn = matrices(track.rotation[:, i])
        inertia = turn @ body.inertia @ turn.transpose(0, 2, 1)
        spin, alpha = track.spin[:, i], track.spin_acceleration[:, i]
        moved = body.mass * track.acceleration[:, i]
        rate += moved
        turning += np.cross(arm, moved) + np.einsum("nij,nj->ni", inertia, alpha)
        turning += np.cross(spin, np.einsum("nij,nj->ni", inertia, spin))
    if stand.ballast:
        at = feet.mean(axis=0) if stand.ballast_at is None else np.array(stand.ballast_at[:2])
        pull = np.tile([0.0, 0.0, -stand.ballast * gravity], (n, 1))
        weights.append((pull, np.cross([at[0], at[1], 0.0], pull)))
    applied, applied_moment = (np.sum([a[k] for a in (*weights, *others)], axis=0) for k in (0, 1))
    force, moment = stability.ground_reaction(rate, turning, applied, applied_moment)
    return Ground(force, moment, origin, feet, weight, tuple(weights), (*others, (-rate, -turning)))
