"""Limits of load-dependent friction for all joints at once, compiled; the laws are those of `simprop.laws.friction`."""

from __future__ import annotations

from typing import Any

from simprop.compiled import compiled
from simprop.laws import friction as law

_coefficient = compiled(law.coefficient)
_pin_torque = compiled(law.pin_torque)
_end_reactions = compiled(law.end_reactions)
_slide_force = compiled(law.slide_force)


@compiled
def _inside(turn: Any, world: Any) -> Any:
    """A vector turned back into the axes of a body."""
    x, y, z = world
    return (
        turn[0, 0] * x + turn[1, 0] * y + turn[2, 0] * z,
        turn[0, 1] * x + turn[1, 1] * y + turn[2, 1] * z,
        turn[0, 2] * x + turn[1, 2] * y + turn[2, 2] * z,
    )


@compiled
def _kept(part: Any, v: Any) -> Any:
    return (
        part[0, 0] * v[0] + part[0, 1] * v[1] + part[0, 2] * v[2],
        part[1, 0] * v[0] + part[1, 1] * v[1] + part[1, 2] * v[2],
        part[2, 0] * v[0] + part[2, 1] * v[1] + part[2, 2] * v[2],
    )


@compiled
def limits(scalars: Any, vectors: Any, wrench: Any, turn: Any, rate: Any, fresh: Any, limit: Any) -> None:
    """Set `limit` from the wrenches of the step just done, as the mean with the limits before it.

    Args:
        scalars: static and kinetic coefficient, arm m, guided length m (0: the force across the axis); (G, 4).
        vectors: projectors on the determined moment (G, 3, 3), and axes (G, 3), first body's start axes.
        wrench: force and moment about the joint's point, world, (G, 6).
        turn: rotations of the first bodies, (G, 3, 3).
        rate: of each axis, (G,).
        fresh: limits of the last wrench alone, negative where there was none, (G,); overwritten.
        limit: (G,); overwritten.
    """
    moments, axes = vectors
    for k in range(len(scalars)):
        f = _inside(turn[k], (wrench[k, 0], wrench[k, 1], wrench[k, 2]))
        axis = (axes[k, 0], axes[k, 1], axes[k, 2])
        static, kinetic, arm, length = scalars[k]
        mu = _coefficient(static, kinetic, rate[k] * arm)
        if length == 0.0:
            along = f[0] * axis[0] + f[1] * axis[1] + f[2] * axis[2]
            across = max(0.0, f[0] * f[0] + f[1] * f[1] + f[2] * f[2] - along * along) ** 0.5
            new = _pin_torque(mu, across, arm)
        else:
            m = _kept(moments[k], _inside(turn[k], (wrench[k, 3], wrench[k, 4], wrench[k, 5])))
            new = arm * _slide_force(mu, _end_reactions(f, m, axis, length))
        limit[k] = new if fresh[k] < 0.0 else 0.5 * (fresh[k] + new)
        fresh[k] = new


@compiled
def split(rows: Any, blocks: Any, wrench: Any, turn: Any, found: Any) -> None:
    """Hand the wrenches of joints between the same two bodies over to each as they give.

    Args:
        rows: of what takes, and of what it takes of, (P, 2).
        blocks: what it takes, first body's axes, (P, 6, 6).
        wrench: force and moment about the joint's point, world, (G, 6); changed.
        turn: rotations of the first bodies, (G, 3, 3).
        found: (G, 6), overwritten.
    """
    for p in range(len(rows)):
        found[rows[p, 0]] = 0.0
    for p in range(len(rows)):
        to, of = rows[p]
        f = _inside(turn[of], (wrench[of, 0], wrench[of, 1], wrench[of, 2]))
        m = _inside(turn[of], (wrench[of, 3], wrench[of, 4], wrench[of, 5]))
        own = (f[0], f[1], f[2], m[0], m[1], m[2])
        for i in range(6):
            for j in range(6):
                found[to, i] += blocks[p, i, j] * own[j]
    for p in range(len(rows)):
        k = rows[p, 0]
        for half in (0, 3):
            v = _kept(turn[k], (found[k, half], found[k, half + 1], found[k, half + 2]))
            for i in range(3):
                wrench[k, half + i] = v[i]


@compiled
def _about(force: Any, moment: Any, away: Any, out: Any) -> None:
    """out = force, and the moment about a point from which the given one's point lies `away`."""
    out[0], out[1], out[2] = force[0], force[1], force[2]
    out[3] = moment[0] + away[1] * force[2] - away[2] * force[1]
    out[4] = moment[1] + away[2] * force[0] - away[0] * force[2]
    out[5] = moment[2] + away[0] * force[1] - away[1] * force[0]


@compiled
def of_links(rows: Any, arms: Any, state: Any, wrench: Any, turn: Any) -> None:
    """Wrenches about the joints' points from those about the world's origin.

    Args:
        rows: link, tie (where there is no link) and link of the first body (-1: the world), (G, 3).
        arms: of the joint's point on the first link, (G, 3).
        state: wrench of links and ties (moment, force), origins and rotations of the links.
        wrench: (G, 6), to be filled.
        turn: (G, 3, 3), to be filled; stays where the first body stands still.
    """
    load, carried, origin, turned = state
    for k in range(len(rows)):
        link, tie, first = rows[k]
        w = load[link] if link >= 0 else carried[tie]
        x, y, z = arms[k]
        if first >= 0:
            turn[k] = turned[first]
            x, y, z = _kept(turn[k], (x, y, z))
            x, y, z = x + origin[first, 0], y + origin[first, 1], z + origin[first, 2]
        _about((w[3], w[4], w[5]), (w[0], w[1], w[2]), (-x, -y, -z), wrench[k])


@compiled
def of_bodies(rows: Any, arms: Any, state: Any, wrench: Any, turn: Any) -> None:
    """The same from wrenches about the centre of mass of a whole tree.

    Args:
        rows: body that the joint hangs on to, first body, root of the tree; (G, 3).
        arms: of the joint's point on the first body's frame, (G, 3).
        state: wrench of bodies (moment, force), places and rotations (N, 9) of frames, centres of trees.
        wrench: (G, 6), to be filled.
        turn: (G, 3, 3), to be filled.
    """
    load, place, turned, middle = state
    for k in range(len(rows)):
        body, first, root = rows[k]
        for i in range(3):
            for j in range(3):
                turn[k, i, j] = turned[first, 3 * i + j]
        x, y, z = _kept(turn[k], (arms[k, 0], arms[k, 1], arms[k, 2]))
        away = (
            middle[root, 0] - place[first, 0] - x,
            middle[root, 1] - place[first, 1] - y,
            middle[root, 2] - place[first, 2] - z,
        )
        w = load[body]
        _about((w[3], w[4], w[5]), (w[0], w[1], w[2]), away, wrench[k])
