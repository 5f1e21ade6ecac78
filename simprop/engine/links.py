"""The spanning tree as a chain of one-freedom links in depth-first order, and its poses at many instants at
once.

Where a loop has directions that the rest of the mechanism already holds (the side way of a planar loop), a
massless slide beside the closing joint leaves them open, so that a constraint solver doesn't fight over them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from simprop.assembly.kinematics import square
from simprop.assembly.types import Array, Assembly, Branch, Closure, Motion
from simprop.engine.turning import multiply, of_axis, rotate

LinkKind = Literal["turn", "slide", "ball", "fixed"]


@dataclass(frozen=True)
class Link:
    """One step of the chain; link frames have the axes of the world at the start.

    Attributes:
        parent: index of the link it hangs on, -1 for the world.
        kind: how it moves against that.
        point: where, at the start, (3,) m.
        axis: unit direction at the start, (3,); zeros for ball and fixed.
        body: index of the body it carries, -1 for a massless link.
        axis_index: the axis of the assembly whose coordinate this is, -1 for none.
        inertia: of a motor's rotor on it, about its axis, kg*m^2.
    """

    parent: int
    kind: LinkKind
    point: Array
    axis: Array
    body: int = -1
    axis_index: int = -1
    inertia: float = 0.0


@dataclass(frozen=True)
class Rotor:
    """A motor's rotor that turns on the parent of an axis, as a link of its own.

    Attributes:
        axis_index: the axis that it drives.
        inertia: of the rotor itself, kg*m^2.
        ratio: turns of the rotor for one of the axis (rad/m for a slide).
    """

    axis_index: int
    inertia: float
    ratio: float


@dataclass(frozen=True)
class _Relief:
    """A massless slide: `inside` lies between a body and its own joint, else between that joint and its parent."""

    body: int
    inside: bool
    direction: Array
    point: Array


def chain(assembly: Assembly, rotors: Sequence[Rotor] = ()) -> tuple[Link, ...]:
    """Links of an assembly, parents before children, each followed by all that hangs on it.

    Args:
        assembly: its tree and closures.
        rotors: rotors that get a link of their own.
    """
    reliefs = _reliefs(assembly)
    links: list[Link] = []
    of_body = {-1: -1}
    axes = {(a.joint, a.motion): i for i, a in enumerate(assembly.axes)}
    for branch in assembly.tree:
        parent = of_body[branch.parent]
        here = [r for r in reliefs if r.body == branch.body]
        steps = [Link(-1, "slide", r.point, r.direction) for r in here if not r.inside]
        steps += _joint_links(assembly, branch, axes)
        steps += [Link(-1, "slide", r.point, r.direction) for r in here if r.inside]
        for k, step in enumerate(steps):
            for rotor in (r for r in rotors if r.axis_index == step.axis_index >= 0):
                links.append(Link(parent, "turn", step.point, step.axis, inertia=rotor.inertia))
            body = branch.body if k == len(steps) - 1 else -1
            links.append(Link(parent, step.kind, step.point, step.axis, body, step.axis_index))
            parent = len(links) - 1
        of_body[branch.body] = parent
    return _depth_first(links)


def _joint_links(assembly: Assembly, branch: Branch, axes: dict[tuple[int, Motion], int]) -> list[Link]:
    com = assembly.bodies[branch.body].com
    if branch.joint is None:
        return [*(Link(-1, "slide", com, unit) for unit in np.eye(3)), Link(-1, "ball", com, np.zeros(3))]
    joint = assembly.joints[branch.joint]
    axis = joint.axis if branch.forward else -joint.axis
    slide = Link(-1, "slide", joint.point, axis, axis_index=axes.get((branch.joint, "slide"), -1))
    turn = Link(-1, "turn", joint.point, axis, axis_index=axes.get((branch.joint, "turn"), -1))
    still = np.zeros(3)
    return {
        "pin": [turn],
        "slider": [slide],
        "cylindrical": [slide, turn],
        "ball": [Link(-1, "ball", joint.point, still)],
        "fixed": [Link(-1, "fixed", joint.point, still)],
    }[joint.kind]


def _depth_first(links: Sequence[Link]) -> tuple[Link, ...]:
    children: dict[int, list[int]] = {}
    for i, link in enumerate(links):
        children.setdefault(link.parent, []).append(i)
    order: list[int] = []
    stack = list(reversed(children.get(-1, [])))
    while stack:
        i = stack.pop()
        order.append(i)
        stack += reversed(children.get(i, []))
    place = {-1: -1, **{old: new for new, old in enumerate(order)}}
    return tuple(
        Link(place[k.parent], k.kind, k.point, k.axis, k.body, k.axis_index, k.inertia)
        for k in (links[i] for i in order)
    )


def _reliefs(assembly: Assembly) -> list[_Relief]:
    branch_of = {b.body: b for b in assembly.tree}
    found: list[_Relief] = []
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        spots = [
            _beside(branch_of, joint.first, joint.second),
            _beside(branch_of, joint.second, joint.first),
        ]
        for direction in pure(closure.redundant)[0]:
            for body, inside in (s for s in spots if s is not None):
                taken = [r.direction for r in found if (r.body, r.inside) == (body, inside)]
                if _adds(taken, direction):
                    found.append(_Relief(body, inside, direction, joint.point))
                    break
    return found


def _beside(branch_of: dict[int, Branch], body: int, other: int) -> tuple[int, bool] | None:
    """Where the loop's path leaves `body` for `other`: (body of that branch, on the inner side of its joint)."""
    upwards, here = [], other
    while here in branch_of:
        upwards.append(here)
        here = branch_of[here].parent
    if body not in branch_of:
        return (upwards[-1], False) if upwards else None
    if body in upwards:
        child = upwards.index(body) - 1
        return (upwards[child], False) if child >= 0 else None
    return body, True


def _adds(directions: Sequence[Array], new: Array) -> bool:
    rows = np.array([*directions, new])
    return int(np.linalg.matrix_rank(rows, tol=1e-3)) == len(rows)


def pure(rows: Array) -> tuple[Array, Array]:
    """The pure forces and pure moments among constraint rows: unit directions, (k, 3) and (m, 3).

    Args:
        rows: (force; moment), (n, 6).

    Example:
        >>> forces, moments = pure(np.array([[0.0, 1.0, 0.0, 0.0, 0.0, 0.0]]))
        >>> forces.shape, moments.shape
        ((1, 3), (0, 3))
    """
    rows = np.asarray(rows, dtype=float).reshape(-1, 6)
    forces = [r[:3] / np.linalg.norm(r[:3]) for r in rows if np.linalg.norm(r[3:]) < 1e-9]
    moments = [r[3:] / np.linalg.norm(r[3:]) for r in rows if np.linalg.norm(r[:3]) < 1e-9]
    return np.array(forces).reshape(-1, 3), np.array(moments).reshape(-1, 3)


@dataclass(frozen=True)
class Anchor:
    """A point where a loop is closed: carried by two links that should keep it together.

    Attributes:
        joint: index of the closing joint.
        first: link of the joint's first body, -1 for the world.
        second: link of its second body.
        point: (3,) m at the start.
        rows: directions in which it must be kept together, at the start, carried by the first body, (k, 3).
    """

    joint: int
    first: int
    second: int
    point: Array
    rows: Array


def anchors(assembly: Assembly, links: Sequence[Link]) -> tuple[Anchor, ...]:
    """Points that close every loop: one for the forces, further ones for moments that must be held.

    Two points along a pin's axis hold its moments, three points off a line those of a fixed joint.
    """
    of_body = {link.body: i for i, link in enumerate(links) if link.body >= 0}
    found = []
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        ends = of_body.get(joint.first, -1), of_body.get(joint.second, -1)
        for offset, rows in _offsets(assembly, closure):
            found.append(Anchor(closure.joint, *ends, joint.point + offset, rows))
    return tuple(found)


def _offsets(assembly: Assembly, closure: Closure) -> list[tuple[Array, Array]]:
    """Places of a closing joint's anchors from its point, with the directions in which each is kept together."""
    joint = assembly.joints[closure.joint]
    moments = pure(closure.rows)[1]
    whole = np.eye(3)
    if not len(moments):
        return [(np.zeros(3), whole)]
    bodies = [assembly.bodies[i] for i in (joint.first, joint.second) if not assembly.bodies[i].fixed]
    arm = max(0.02, *(float(np.sqrt(np.trace(b.inertia) / b.mass)) for b in bodies))
    if joint.kind == "pin":
        return [(np.zeros(3), whole), (arm * joint.axis, square(joint.axis))]
    return [(np.zeros(3), whole), (arm * whole[0], whole[1:]), (arm * whole[1], whole[2:])]


def poses(links: Sequence[Link], coordinates: Array, balls: dict[int, Array]) -> tuple[Array, Array]:
    """Frames of all links at many instants.

    Args:
        links: the chain.
        coordinates: of each link that turns or slides (others ignored), (n, L) rad or m.
        balls: link -> rotation of a ball from the start, (n, 4) x y z w.

    Returns:
        Origins (n, L, 3) m and rotations from the start (n, L, 4).
    """
    n = len(coordinates)
    origin = np.zeros((n, len(links), 3))
    turn = np.zeros((n, len(links), 4))
    turn[..., 3] = 1.0
    for i, link in enumerate(links):
        arm = link.point
        held = np.array([0.0, 0.0, 0.0, 1.0])
        base: Array = np.zeros(3)
        if link.parent >= 0:
            arm = link.point - links[link.parent].point
            held, base = turn[:, link.parent], origin[:, link.parent]
        q = coordinates[:, i, None]
        if link.kind == "slide":
            arm = arm + q * link.axis
        origin[:, i] = base + rotate(held, arm)
        if link.kind == "turn":
            turn[:, i] = multiply(held, of_axis(link.axis, q[:, 0]))
        elif link.kind == "ball":
            turn[:, i] = multiply(held, balls[i])
        else:
            turn[:, i] = held
    return origin, turn


def carried(links: Sequence[Link], link: int, point: Array, origin: Array, turn: Array) -> Array:
    """A point that a link carries (-1: the world), given where it was at the start: (n, 3) m."""
    if link < 0:
        return np.broadcast_to(point, (len(origin), 3))
    return np.asarray(origin[:, link] + rotate(turn[:, link], point - links[link].point))


def gaps(
    links: Sequence[Link], points: Sequence[Anchor], coordinates: Array, balls: dict[int, Array]
) -> Array:
    """How far each anchor has come apart, (n, anchors, 3) m."""
    origin, turn = poses(links, coordinates, balls)
    rows = [
        carried(links, a.second, a.point, origin, turn) - carried(links, a.first, a.point, origin, turn)
        for a in points
    ]
    return np.stack(rows, axis=1) if rows else np.zeros((len(coordinates), 0, 3))
