"""Does the stand tip, slide or walk: ground reaction from the momentum of the whole prop, wind, ballast, stakes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.geometry.arrays import Array

AIR = 1.225
"""Density of air at 15 degC, kg/m^3 (standard atmosphere)."""


def wind_force(speed: float, drag_area: float, density: float = AIR) -> float:
    """Force of the wind, N.

    Args:
        speed: m/s.
        drag_area: drag coefficient x area, m^2.
        density: kg/m^3.

    Source: drag equation, rho Cd A v^2 / 2.

    Example:
        >>> round(wind_force(8.0, 0.2), 2)
        7.84
    """
    return 0.5 * density * drag_area * speed**2


def ground_reaction(
    momentum_rate: Array, moment_rate: Array, applied: Array, applied_moment: Array
) -> tuple[Array, Array]:
    """What the ground gives the prop: force and moment about the origin.

    Args:
        momentum_rate: rate of the whole linear momentum, (n, 3) N.
        moment_rate: rate of the whole angular momentum about the origin, (n, 3) N*m.
        applied: weight, wind and all else that acts from outside but the ground, (n, 3) N.
        applied_moment: its moment about the origin, (n, 3) N*m.

    Source: Newton and Euler for a system of bodies.

    Example:
        >>> zero = np.zeros((1, 3))
        >>> force, _ = ground_reaction(zero, zero, np.array([[0.0, 0.0, -98.0]]), zero)
        >>> force.tolist()
        [[0.0, 0.0, 98.0]]
    """
    return momentum_rate - applied, moment_rate - applied_moment


def edges(footprint: Array) -> tuple[Array, Array]:
    """Edges of the convex hull of a footprint: a point of each and its outward normal.

    Args:
        footprint: corners in any order, (k, 2) m; at least 3, not in a line.

    Returns:
        points (e, 2) m, normals (e, 2).

    Example:
        >>> points, normals = edges(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]))
        >>> sorted(map(tuple, normals.tolist()))
        [(-1.0, 0.0), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0)]
    """
    from scipy.spatial import ConvexHull

    hull = ConvexHull(footprint)
    normals, offsets = hull.equations[:, :2], hull.equations[:, 2]
    rounded = np.round(np.column_stack([normals, offsets]), 9)
    _, first = np.unique(rounded, axis=0, return_index=True)
    normals, offsets = normals[np.sort(first)] + 0.0, offsets[np.sort(first)]
    return -offsets[:, None] * normals, normals


def held(force: Array, moment: Array, outline: tuple[Array, Array]) -> Array:
    """Moment by which a load holds a prop down about each edge of its footprint, N*m; below zero where it tips it.

    Args:
        force: on the prop, (n, 3) N.
        moment: of it about the origin of the ground plane, (n, 3) N*m.
        outline: what `edges` gives: a point and the outward normal of each edge, (e, 2) each.

    Returns:
        (n, e) N*m.

    Source: statics; the moments of all loads together are R_z x distance of the centre of pressure inside the edge.

    Example:
        >>> corners = np.array([[-0.3, -0.3], [0.3, -0.3], [0.3, 0.3], [-0.3, 0.3]])
        >>> weight = np.array([[0.0, 0.0, -100.0]])
        >>> held(weight, np.cross([[0.1, 0.0, 0.0]], weight), edges(corners)).round(9).max().item()
        40.0
    """
    points, normals = outline
    reach = np.einsum("ei,ei->e", normals, points)
    return np.asarray(-force[:, 2:3] * reach - np.stack([moment[:, 1], -moment[:, 0]], axis=1) @ normals.T)


def tipping(loads: Sequence[tuple[Array, Array]], outline: tuple[Array, Array]) -> tuple[Array, Array]:
    """Moments about each edge of the footprint at every instant.

    Args:
        loads: force and moment about the origin of the ground plane of each load on the prop but the ground's,
            ((n, 3) N, (n, 3) N*m): the weight of each body, what its motion asks, the wind.
        outline: what `edges` gives.

    Returns:
        righting and overturning, (n, e) N*m: the sums of what holds down and of what tips, each load as a whole on the
        one side or the other. The prop lifts off where overturning > righting.

    Source: statics; favourable and unfavourable actions apart as in EN 1990, limit state EQU.

    Example:
        >>> corners = np.array([[-0.3, -0.3], [0.3, -0.3], [0.3, 0.3], [-0.3, 0.3]])
        >>> weight, push = np.array([[0.0, 0.0, -12 * 9.80665]]), np.array([[23.53596, 0.0, 0.0]])
        >>> loads = [(weight, np.zeros((1, 3))), (push, np.cross([[0.0, 0.0, 1.5]], push))]
        >>> righting, overturning = tipping(loads, edges(corners))
        >>> round(float((overturning / righting).max()), 6)
        1.0
    """
    found = [held(force, moment, outline) for force, moment in loads]
    righting = np.asarray(sum(np.maximum(m, 0.0) for m in found))
    return righting, np.asarray(sum(np.maximum(-m, 0.0) for m in found))


def slide_use(force: Array, friction: float) -> Array:
    """Horizontal over what friction can hold; 1 is the limit; infinite where nothing presses on the ground.

    Args:
        force: of the ground on the prop, (n, 3) N.
        friction: coefficient of the ground.

    Source: Coulomb.

    Example:
        >>> slide_use(np.array([[30.0, 40.0, 200.0]]), 0.5).tolist()
        [0.5]
    """
    flat = np.hypot(force[:, 0], force[:, 1])
    press = friction * force[:, 2]
    return np.where(press > 0, flat / np.where(press > 0, press, 1.0), np.where(flat > 0, np.inf, 0.0))


def walk(force: Array, friction: float, mass: float, step: float) -> float:
    """How far the stand creeps over the ground during a recording, m.

    Args:
        force: that the ground would have to give to hold the prop still, (n, 3) N.
        friction: coefficient of the ground.
        mass: of the whole prop, kg.
        step: s.

    Returns:
        Length of the path.

    Source: sliding block (Newmark, Effects of earthquakes on dams and embankments, 1965), in the plane: it starts
    where friction is exceeded, is braked by friction, and stops.

    Example:
        >>> round(walk(np.tile([[-60.0, 0.0, 100.0]], (1000, 1)), 0.5, 10.0, 1e-3), 3)
        0.5
    """
    speed, path, k = np.zeros(2), 0.0, 0
    pushes, grips = -force[:, :2], friction * np.maximum(force[:, 2], 0.0)
    sizes = np.hypot(pushes[:, 0], pushes[:, 1])
    slips = np.flatnonzero(~(sizes <= grips))
    while k < len(force):
        moving = float(np.hypot(*speed))
        if moving < 1e-12:  # it stands until the next instant at which friction doesn't hold it
            later = np.searchsorted(slips, k)
            if later == len(slips):
                break
            k = int(slips[later])
            rate = pushes[k] * (1 - grips[k] / sizes[k]) / mass
        else:
            rate = (pushes[k] - grips[k] * speed / moving) / mass
        new = speed + rate * step
        if moving >= 1e-12 and float(new @ speed) <= 0 and sizes[k] <= grips[k]:
            new = np.zeros(2)
        path += float(np.hypot(*(speed + new))) / 2 * step
        speed, k = new, k + 1
    return path


def ballast(lack: float, lever: float, gravity: float) -> float:
    """Ballast that makes up for a lacking moment, kg.

    Args:
        lack: moment that is missing about an edge, N*m.
        lever: from the ballast to that edge, m.
        gravity: m/s^2.

    Source: statics.

    Example:
        >>> round(ballast(98.0665, 0.5, 9.80665), 3)
        20.0
    """
    return max(lack, 0.0) / (lever * gravity)


def stake_pull(lack: float, lever: float, stakes: int) -> float:
    """Upward pull on each stake that makes up for a lacking moment, N.

    Args:
        lack: N*m.
        lever: from the stakes to the edge the prop would tip about, m.
        stakes: how many share.

    Example:
        >>> stake_pull(100.0, 0.5, 2)
        100.0
    """
    return max(lack, 0.0) / (lever * stakes)
