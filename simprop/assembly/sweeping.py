"""A mechanism taken through its way by one joint: where everything goes, without masses, loads or time."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from simprop.assembly.closing import newton
from simprop.assembly.graph import WORLD
from simprop.assembly.kinematics import Hinge, Pose, Tree, make_tree, poses, scales, typical_length
from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.geometry.turning import inverse, multiply, of_matrix, rotate, twist

PLACES = 36
"""Poses in a whole turn that are solved for; what lies between follows them by a cubic spline."""
BETWEEN = 15
"""Rows from one of them to the next."""
_GAP = 1e-9
_STEP = 0.2


@dataclass(frozen=True)
class Sweep:
    """Poses over the turn of one joint, from the start pose on.

    With n rows, B bodies, A axes.

    Attributes:
        angle: of the joint that leads, (n,) rad.
        position: centre of mass of each body, (n, B, 3) m.
        rotation: from the start pose, unit quaternion x y z w, (n, B, 4).
        coordinate: of each axis, unwrapped, (n, A) rad or m.
        whole: it goes all the way round; False: the mechanism locks after the last angle.
    """

    angle: Array
    position: Array
    rotation: Array
    coordinate: Array
    whole: bool


def sweep(assembly: Assembly, joint: str, low: float = 0.0, high: float = 2 * pi) -> Sweep | None:
    """A mechanism with one degree of freedom taken by one of its pins from one angle to another.

    Args:
        assembly: of rigid bodies, without couplings.
        joint: that leads.
        low: the one end, rad from the start pose, 0 or below.
        high: the other, 0 or above.

    Returns:
        None where that doesn't say how everything moves: other freedoms, couplings, joints that bend or turn twice, a
        joint that isn't a pin, play.

    Source: loop closure by Newton's method, each pose begun by the ones before it (any book on mechanisms).

    Example:
        >>> from simprop.assembly.assemble import assemble
        >>> from simprop.rig.load import parse_rig
        >>> prop = assemble(parse_rig('''
        ... rig: 1
        ... name: Arm
        ... bodies: {post: {fixed: true}, arm: {parts: [{lump: 1 kg, at: 100 0 0 mm}]}}
        ... joints: {hinge: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
        ... run: {for: 1 s}
        ... '''))
        >>> found = sweep(prop, "hinge")
        >>> found.whole, round(float(np.ptp(found.position[:, 1, 2])), 4)
        (True, 0.2)
    """
    leads = next((i for i, j in enumerate(assembly.joints) if j.name == joint), None)
    if leads is None or not _plain(assembly, leads):
        return None
    tree, closing = _tree(assembly)
    found = [(i, f) for i, f, step in tree.coordinates if step.branch.joint == leads]
    if not found:  # it closes a loop: its angle is no coordinate
        return None
    (index, freedom), axis = found[0], assembly.joints[leads].freedoms[0]
    turns = 1.0 if float(freedom.way @ axis.way) > 0 else -1.0
    size = typical_length(np.array([j.point for j in assembly.joints]))
    down, up = (_followed(tree, closing, index, turns * end, size) for end in (low, high))
    angles = np.concatenate([-down[0][:0:-1], up[0]])
    return _sweep(assembly, tree, angles, [*down[1][:0:-1], *up[1]], down[2] and up[2])


def _plain(assembly: Assembly, leads: int) -> bool:
    """Whether one joint's angle says all."""
    if assembly.mobility != 1 or assembly.couplings or assembly.slips or assembly.gives:
        return False
    own = [f.how for f in assembly.joints[leads].freedoms]
    simple = all(
        not f.play and (f.how != "turn" or [g.how for g in j.freedoms].count("turn") == 1)
        for j in assembly.joints
        for f in j.freedoms
    )
    return own == ["turn"] and simple


def _tree(assembly: Assembly) -> tuple[Tree, list[Hinge]]:
    """The tree and the joints that close its loops, as the prop stands in its start pose."""

    def node(body: int) -> int:
        return WORLD if assembly.bodies[body].fixed else body

    hinges = [
        Hinge(j.freedoms, node(j.first), node(j.second), j.point, j.point, j.axis) for j in assembly.joints
    ]
    tree = make_tree(hinges, assembly.tree, len(assembly.bodies))
    return tree, [hinges[c.joint] for c in assembly.closures]


def _followed(
    tree: Tree, closing: list[Hinge], index: int, end: float, size: float
) -> tuple[Array, list[Array], bool]:
    """Angles gone from 0 on, tree coordinates at each, and whether the loops close all the way."""
    weights = scales(tree, size)
    weights[index] = np.inf
    angles = np.linspace(0.0, end, max(4, round(PLACES * abs(end) / (2 * pi))) + 1) if end else np.zeros(1)
    rows = [np.zeros(tree.size)]
    for angle in angles[1:]:
        guess = _guess(rows)
        guess[index] = angle
        q, gap = newton(tree, closing, guess, size, weights, _STEP * size) if closing else (guess, 0.0)
        if gap > _GAP or _jumped(q, guess, size, weights):
            break
        rows.append(q)
    return np.abs(angles[: len(rows)]), rows, len(rows) == len(angles)


def _guess(rows: list[Array]) -> Array:
    """Where the next row lies by the last three."""
    if len(rows) > 2:
        return np.asarray(3 * rows[-1] - 3 * rows[-2] + rows[-3])
    return np.asarray(2 * rows[-1] - rows[-2] if len(rows) > 1 else rows[-1].copy())


def _jumped(q: Array, guess: Array, size: float, weights: Array) -> bool:
    """Whether what was found is so far from what was foreseen that it is another way to put the mechanism together."""
    free = np.isfinite(weights)
    return float(np.abs((q - guess)[free] * weights[free]).max(initial=0.0)) > size


def _sweep(assembly: Assembly, tree: Tree, angles: Array, rows: list[Array], whole: bool) -> Sweep:
    angle, position, rotation = _between(angles, [poses(tree, q) for q in rows], assembly)
    coordinate = [_coordinate(assembly, k, position, rotation) for k in range(len(assembly.axes))]
    return Sweep(angle, position, rotation, np.stack(coordinate, axis=1), whole)


def _between(knots: Array, solved: list[list[Pose]], assembly: Assembly) -> tuple[Array, Array, Array]:
    """Angle, places and turns, with rows between those that were solved for."""
    from scipy.interpolate import CubicSpline

    com = np.array([b.com for b in assembly.bodies])
    turned = np.array([[t for t, _ in row] for row in solved])
    moved = np.array([[m for _, m in row] for row in solved])
    place = np.einsum("nbij,bj->nbi", turned, com) + moved
    quaternion = of_matrix(turned)
    for k in range(1, len(solved)):  # the nearer of the two that mean the same turn
        other = np.sum(quaternion[k] * quaternion[k - 1], axis=-1) < 0
        quaternion[k][other] *= -1.0
    if len(solved) < 3:
        return knots, place, quaternion
    fine = np.linspace(knots[0], knots[-1], BETWEEN * (len(solved) - 1) + 1)
    position = CubicSpline(knots, place)(fine)
    rotation = CubicSpline(knots, quaternion)(fine)
    return fine, position, rotation / np.linalg.norm(rotation, axis=-1, keepdims=True)


def _coordinate(assembly: Assembly, index: int, position: Array, rotation: Array) -> Array:
    """A joint's coordinate at each row, (n,), rad or m."""
    axis = assembly.axes[index]
    joint = assembly.joints[axis.joint]
    one, two = joint.first, joint.second
    back = inverse(rotation[:, one])
    if axis.motion == "turn":
        return np.asarray(np.unwrap(twist(multiply(back, rotation[:, two]), axis.way)))
    bodies = assembly.bodies
    ends = [position[:, i] + rotate(rotation[:, i], joint.point - bodies[i].com) for i in (one, two)]
    return np.asarray(rotate(back, ends[1] - ends[0]) @ axis.way)
