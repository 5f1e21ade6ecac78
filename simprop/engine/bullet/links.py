"""The spanning tree as a chain of one-freedom links in depth-first order, its poses at many instants at once, and
the ties that close its loops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from simprop.assembly.types import Assembly, Branch
from simprop.engine.acting.rotors import Rotor
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import FLOATING, How, hung, pivot
from simprop.geometry.turning import inverse, multiply, of_axis, rotate, to_vector

LinkKind = How | Literal["fixed"]


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
        rotor: the motor's rotor that it is, or None.
    """

    parent: int
    kind: LinkKind
    point: Array
    axis: Array
    body: int = -1
    axis_index: int = -1
    rotor: Rotor | None = None


def chain(assembly: Assembly, rotors: Sequence[Rotor] = ()) -> tuple[Link, ...]:
    """Links of an assembly, parents before children, each followed by all that hangs on it.

    Args:
        assembly: its tree and closures.
        rotors: those that get a link of their own, each on that of its carrier (-1: the world).
    """
    links: list[Link] = []
    of_body = {-1: -1}
    for branch in assembly.tree:
        parent = of_body[branch.parent]
        steps = _joint_links(assembly, branch)
        for k, step in enumerate(steps):
            body = branch.body if k == len(steps) - 1 else -1
            links.append(Link(parent, step.kind, step.point, step.axis, body, step.axis_index))
            parent = len(links) - 1
        of_body[branch.body] = parent
    for rotor in rotors:
        point = assembly.joints[assembly.axes[rotor.axis].joint].point
        links.append(Link(of_body[rotor.carrier], "turn", point, rotor.way, rotor=rotor))
    return _depth_first(links)


def _joint_links(assembly: Assembly, branch: Branch) -> list[Link]:
    """One link for each motion of a joint, or of a body that floats freely."""
    point, freedoms = assembly.bodies[branch.body].com, FLOATING
    if branch.joint is not None:
        joint = assembly.joints[branch.joint]
        point, freedoms = joint.point, hung(joint.freedoms, branch.forward)
    links = [Link(-1, f.how, point, f.way, axis_index=f.axis) for f in freedoms]
    return links or [Link(-1, "fixed", point, np.zeros(3))]


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
        Link(place[k.parent], k.kind, k.point, k.axis, k.body, k.axis_index, k.rotor)
        for k in (links[i] for i in order)
    )


@dataclass(frozen=True)
class Tie:
    """A joint that closes a loop, as the directions it must hold.

    Attributes:
        joint: index of the closing joint.
        first: link of the joint's first body, -1 for the world.
        second: link of its second body.
        point: of the joint, (3,) m at the start.
        rows: (force; moment) directions that it holds, carried by the first body, (k, 6).
        axis: the one about which it turns, (3,) at the start; zeros where there is none.
    """

    joint: int
    first: int
    second: int
    point: Array
    rows: Array
    axis: Array


def ties(assembly: Assembly, links: Sequence[Link]) -> tuple[Tie, ...]:
    """The closures of an assembly as ties between links; directions that the rest holds already are left open."""
    of_body = {link.body: i for i, link in enumerate(links) if link.body >= 0}
    found = []
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        ends = of_body.get(joint.first, -1), of_body.get(joint.second, -1)
        rows = closure.rows.reshape(-1, 6)
        found.append(Tie(closure.joint, *ends, joint.point, rows, pivot(joint.freedoms)))
    return tuple(found)


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


def gaps(links: Sequence[Link], tied: Sequence[Tie], coordinates: Array, balls: dict[int, Array]) -> Array:
    """How far each row of each tie has come apart, (n, rows) m, or rad for moments."""
    origin, turn = poses(links, coordinates, balls)
    still = np.broadcast_to(np.array([0.0, 0.0, 0.0, 1.0]), (len(coordinates), 4))
    rows = [np.zeros((len(coordinates), 0))]
    for tie in tied:
        one, two = (turn[:, k] if k >= 0 else still for k in (tie.first, tie.second))
        shift = carried(links, tie.second, tie.point, origin, turn) - carried(
            links, tie.first, tie.point, origin, turn
        )
        relative = multiply(inverse(one), two)
        tilt = np.cross(tie.axis, rotate(relative, tie.axis)) if tie.axis.any() else to_vector(relative)
        rows.append(rotate(inverse(one), shift) @ tie.rows[:, :3].T + tilt @ tie.rows[:, 3:].T)
    return np.concatenate(rows, axis=1)
