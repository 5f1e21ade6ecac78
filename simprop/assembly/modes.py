"""How a prop rings about its start pose: what gives as springs, the rest rigid, motors and pushers locked."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array

STILL = 1e-3
"""Frequency under which a motion counts as one of the mechanism and not of what rings, Hz."""
_RANK = 1e-9


def frequencies(assembly: Assembly, count: int = 2) -> Array:
    """The lowest frequencies at which a prop rings in its start pose, Hz; fewer than asked where it has no more.

    Bodies move as their joints let them; a joint that gives is a spring, an axis with a motor and the length of a
    pusher are locked, springs and stops are left out.

    Args:
        assembly: with joints that give.
        count: how many, rising.

    Source: linear vibrations, K x = w^2 M x on the motions that the joints leave free.

    Example:
        >>> from simprop.assembly.assemble import assemble
        >>> from simprop.rig.load import parse_rig
        >>> prop = assemble(parse_rig('''
        ... rig: 1
        ... name: Mast
        ... bodies:
        ...   ground: {fixed: true}
        ...   mast:
        ...     bends: true
        ...     parts:
        ...       - {pipe: {outside: 21.3 mm, wall: 2.75 mm, of: PVC}, from: 0 0 0 mm, to: 0 0 600 mm}
        ...       - {lump: 0.5 kg, at: 0 0 600 mm}
        ... joints: {foot: {fixed: [ground, mast], at: 0 0 0 mm}}
        ... run: {for: 1 s}
        ... '''))
        >>> round(float(frequencies(prop)[0]), 1)
        3.6
    """
    moving = {i: 6 * k for k, i in enumerate(i for i, b in enumerate(assembly.bodies) if not b.fixed)}
    size = 6 * len(moving)
    mass, stiffness = np.zeros((size, size)), np.zeros((size, size))
    for i, at in moving.items():
        body = assembly.bodies[i]
        mass[at : at + 3, at : at + 3] = body.mass * np.eye(3)
        mass[at + 3 : at + 6, at + 3 : at + 6] = body.inertia

    def motion(body: int, point: Array) -> Array:
        """Shift and turn of a body at a point for its six numbers, (6, size)."""
        rows = np.zeros((6, size))
        if body in moving:
            at, (x, y, z) = moving[body], point - assembly.bodies[body].com
            rows[:, at : at + 6] = np.eye(6)
            rows[:3, at + 3 : at + 6] = [[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]]
        return rows

    barred = [np.zeros((0, size))]
    driven = {m.joint for m in assembly.rig.motors.values()}
    for joint in assembly.joints:
        apart = motion(joint.second, joint.point) - motion(joint.first, joint.point)
        if joint.give is not None:
            stiffness += apart.T @ joint.give.stiffness @ apart
            continue
        forces, moments = joint.bars
        barred += [forces @ apart[:3], moments @ apart[3:]]
        if joint.name in driven:
            ways = [(f.how, f.way) for f in joint.freedoms if f.how != "ball" and not f.play]
            barred += [way[None] @ (apart[:3] if how == "slide" else apart[3:]) for how, way in ways[:1]]
    for pusher in assembly.rig.pushers.values():
        one, two = (
            assembly.carrier(b, p) for b, p in zip(pusher.between, (pusher.start, pusher.end), strict=True)
        )
        ends = [assembly.bodies[i].placement.world(p) for i, p in ((one, pusher.start), (two, pusher.end))]
        line = (ends[1] - ends[0]) / max(1e-9, float(np.linalg.norm(ends[1] - ends[0])))
        barred.append(line[None] @ (motion(two, ends[1]) - motion(one, ends[0]))[:3])
    free = _free(np.vstack(barred))
    if not free.shape[1]:
        return np.zeros(0)
    root = np.linalg.inv(np.linalg.cholesky(free.T @ mass @ free))
    values = np.linalg.eigvalsh(root @ (free.T @ stiffness @ free) @ root.T)
    found = np.sqrt(np.maximum(values, 0.0)) / (2 * np.pi)
    return np.asarray(found[found > STILL][:count])


def _free(barred: Array) -> Array:
    """Motions that leave all rows at zero, as columns."""
    if not len(barred):
        return np.eye(barred.shape[1])
    _, sigma, v = np.linalg.svd(barred, full_matrices=True)
    rank = int(np.sum(sigma > _RANK * max(1.0, float(sigma.max(initial=0.0)))))
    return np.asarray(v[rank:].T)
