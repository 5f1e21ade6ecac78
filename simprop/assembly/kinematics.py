"""Poses and motion of the spanning tree, and the constraints of the joints that close its loops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Branch, JointData
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrix_about, multiply, of_matrix, of_vector, to_vector


@dataclass(frozen=True)
class Hinge:
    """A joint for kinematics: where it sits on each body, in the coordinates that body was drawn in.

    Attributes:
        kind: pin, slider, cylindrical, ball, fixed; loose pin, loose slider for joints with play.
        first: index of the first body, -1 for the world.
        second: index of the second body, -1 for the world.
        on_first: point on the first body, (3,) m.
        on_second: point on the second body, (3,) m.
        axis: unit direction, (3,), the same on both bodies as drawn; zeros for ball and fixed.
    """

    kind: str
    first: int
    second: int
    on_first: Array
    on_second: Array
    axis: Array


Pose = tuple[Array, Array]
"""Rotation (3, 3) and translation (3,): world = rotation @ drawn + translation."""

STILL: Pose = (np.eye(3), np.zeros(3))


def freedom(kind: str | None) -> tuple[str, ...]:
    """The coordinates of a tree joint; None is a body that floats freely.

    Side ways and tilts are along and about the two directions of `square`.

    Example:
        >>> freedom("cylindrical")
        ('slide', 'turn')
    """
    table: dict[str | None, tuple[str, ...]] = {
        "pin": ("turn",),
        "slider": ("slide",),
        "cylindrical": ("slide", "turn"),
        "ball": ("rx", "ry", "rz"),
        "fixed": (),
        "loose pin": ("side1", "side2", "turn"),
        "loose slider": ("slide", "side1", "side2", "tilt1", "tilt2"),
        None: ("tx", "ty", "tz", "rx", "ry", "rz"),
    }
    return table[kind]


@dataclass(frozen=True)
class Tree:
    """The spanning tree with its joints.

    Attributes:
        hinges: every joint.
        branches: parents before children.
        first_coordinate: index of the first coordinate of each branch.
        size: number of coordinates.
        bodies: number of bodies.
    """

    hinges: tuple[Hinge, ...]
    branches: tuple[Branch, ...]
    first_coordinate: tuple[int, ...]
    size: int
    bodies: int


def make_tree(hinges: Sequence[Hinge], branches: Sequence[Branch], bodies: int) -> Tree:
    """A `Tree` with its coordinates numbered in the order of the branches."""
    starts: list[int] = []
    count = 0
    for branch in branches:
        starts.append(count)
        count += len(freedom(None if branch.joint is None else hinges[branch.joint].kind))
    return Tree(tuple(hinges), tuple(branches), tuple(starts), count, bodies)


def scales(tree: Tree, size: float) -> Array:
    """Metres for a unit of each coordinate: 1 for slides, `size` for turns, (n,)."""
    result = np.ones(tree.size)
    for branch, start in zip(tree.branches, tree.first_coordinate, strict=True):
        kind = None if branch.joint is None else tree.hinges[branch.joint].kind
        for k, name in enumerate(freedom(kind)):
            if name == "turn" or name.startswith(("r", "tilt")):
                result[start + k] = size
    return result


def poses(tree: Tree, q: Array) -> list[Pose]:
    """Pose of every body at tree coordinates `q` (turns as angles, balls and free bodies as rotation vectors)."""
    result: list[Pose] = [STILL] * tree.bodies
    for branch, start in zip(tree.branches, tree.first_coordinate, strict=True):
        parent = STILL if branch.parent < 0 else result[branch.parent]
        if branch.joint is None:
            turn = matrix_about(q[start + 3 : start + 6])
            result[branch.body] = (turn, q[start : start + 3].copy())
            continue
        hinge = tree.hinges[branch.joint]
        sign = 1.0 if branch.forward else -1.0
        near, far = (hinge.on_first, hinge.on_second) if branch.forward else (hinge.on_second, hinge.on_first)
        turn, shift = np.eye(3), np.zeros(3)
        for k, name in enumerate(freedom(hinge.kind)):
            if name == "turn" or name.startswith("tilt"):
                turn = turn @ matrix_about(sign * q[start + k] * _way(hinge, name))
            elif name == "slide" or name.startswith("side"):
                shift = shift + sign * q[start + k] * _way(hinge, name)
        if hinge.kind == "ball":
            turn = matrix_about(sign * q[start : start + 3])
        rotation = parent[0] @ turn
        result[branch.body] = (rotation, parent[0] @ (near + shift) + parent[1] - rotation @ far)
    return result


def _way(hinge: Hinge, name: str) -> Array:
    """Direction of a coordinate of a joint, as drawn."""
    return hinge.axis if name in ("turn", "slide") else np.asarray(square(hinge.axis)[int(name[-1]) - 1])


def twists(tree: Tree, q: Array, at: Sequence[Pose]) -> Array:
    """Twist of every body for unit rates of the coordinates.

    For balls and free bodies the rates are world angular (and linear) velocities relative to the parent, not rates of
    the rotation vector.

    Returns:
        (B, 6, n): angular velocity, then the velocity of the material point at the world's origin.
    """
    result = np.zeros((tree.bodies, 6, tree.size))
    for branch, start in zip(tree.branches, tree.first_coordinate, strict=True):
        parent = STILL if branch.parent < 0 else at[branch.parent]
        if branch.parent >= 0:
            result[branch.body] = result[branch.parent]
        hinge = None if branch.joint is None else tree.hinges[branch.joint]
        kind = None if hinge is None else hinge.kind
        sign = 1.0 if branch.forward else -1.0
        turned, shift = parent[0], np.zeros(3)
        for k, name in enumerate(freedom(kind)):
            column = result[branch.body, :, start + k]
            if hinge is not None and not name.startswith("r"):
                axis = sign * (turned @ _way(hinge, name))
                near = hinge.on_first if branch.forward else hinge.on_second
                if name == "slide" or name.startswith("side"):
                    column[3:] = axis
                    shift = shift + q[start + k] * axis
                    continue
                column[:3] = axis
                column[3:] = np.cross(parent[0] @ near + shift + parent[1], axis)
                turned = turned @ matrix_about(sign * q[start + k] * _way(hinge, name))
            elif name.startswith("r"):
                unit = np.eye(3)["xyz".index(name[1])]
                centre = at[branch.body][1]
                if hinge is not None:
                    near = hinge.on_first if branch.forward else hinge.on_second
                    centre = parent[0] @ near + parent[1]
                column[:3] = unit
                column[3:] = np.cross(centre, unit)
            else:
                column[3:] = np.eye(3)["xyz".index(name[1])]
    return result


def advance(tree: Tree, q: Array, rates: Array) -> Array:
    """Coordinates after moving by `rates` (a small step in the sense of `twists`)."""
    after = q + rates
    at = poses(tree, q)
    for branch, start in zip(tree.branches, tree.first_coordinate, strict=True):
        hinge = None if branch.joint is None else tree.hinges[branch.joint]
        if hinge is not None and hinge.kind != "ball":
            continue
        i = start if hinge is not None else start + 3
        sign = 1.0 if branch.forward or hinge is None else -1.0
        parent = STILL if branch.parent < 0 else at[branch.parent]
        inside = parent[0].T @ rates[i : i + 3]
        now = of_vector(sign * q[i : i + 3])
        after[i : i + 3] = sign * to_vector(multiply(of_vector(inside), now))
    return np.asarray(after)


def square(axis: Array) -> Array:
    """Two unit directions square to `axis` and to each other, (2, 3)."""
    other = np.eye(3)[int(np.argmin(np.abs(axis)))]
    one = np.cross(axis, other)
    one /= np.linalg.norm(one)
    return np.array([one, np.cross(axis, one)])


def barred(hinge: Hinge) -> tuple[Array, Array]:
    """Directions that a joint bars: translations (k, 3) and rotations (m, 3), as drawn (carried by the first body)."""
    return bars(hinge.kind, hinge.axis)


def bars(kind: str, axis: Array) -> tuple[Array, Array]:
    """Directions that a kind of joint (see `Hinge`) bars: translations (k, 3) and rotations (m, 3).

    Example:
        >>> [len(d) for d in bars("pin", np.array([0.0, 1.0, 0.0]))]
        [3, 2]
        >>> [len(d) for d in bars("loose slider", np.array([0.0, 1.0, 0.0]))]
        [0, 1]
    """
    whole, none = np.eye(3), np.zeros((0, 3))
    if kind == "ball":
        return whole, none
    if kind == "fixed":
        return whole, whole
    two, one = square(axis), np.asarray(axis, dtype=float)[None]
    if kind == "loose pin":
        return one, two
    if kind == "loose slider":
        return none, one
    along = np.vstack([two, one])
    if kind == "pin":
        return along, two
    if kind == "slider":
        return two, along
    return two, two


def kind_of(joint: JointData) -> str:
    """Kind of a joint as in `Hinge`."""
    return f"loose {joint.kind}" if joint.play > 0.0 else joint.kind


def gap(hinge: Hinge, at: Sequence[Pose]) -> tuple[Array, Array]:
    """How far a joint is from closing, in the first body's drawn axes: translation (3,) m, rotation (3,) rad."""
    first = STILL if hinge.first < 0 else at[hinge.first]
    second = STILL if hinge.second < 0 else at[hinge.second]
    apart = second[0] @ hinge.on_second + second[1] - first[0] @ hinge.on_first - first[1]
    relative = first[0].T @ second[0]
    if hinge.kind in ("pin", "cylindrical", "loose pin"):
        turned = np.cross(hinge.axis, relative @ hinge.axis)
    else:
        turned = to_vector(of_matrix(relative))
    return first[0].T @ apart, np.asarray(turned)


def residual(hinges: Sequence[Hinge], at: Sequence[Pose], size: float) -> Array:
    """Gaps of closing joints in their barred directions; rotations are counted as lengths at `size` m."""
    rows = []
    for hinge in hinges:
        shift, turn = gap(hinge, at)
        slides, turns = barred(hinge)
        rows.append(np.concatenate([slides @ shift, size * (turns @ turn)]))
    return np.concatenate(rows) if rows else np.zeros(0)


def constraint_rows(hinge: Hinge, at: Sequence[Pose], moves: Array, size: float) -> Array:
    """Jacobian of one joint's barred directions over the tree coordinates, (rows, n); rotations times `size`."""
    first = STILL if hinge.first < 0 else at[hinge.first]
    relative = np.zeros(moves.shape[1:])
    if hinge.second >= 0:
        relative = relative + moves[hinge.second]
    if hinge.first >= 0:
        relative = relative - moves[hinge.first]
    point = first[0] @ hinge.on_first + first[1]
    slides, turns = barred(hinge)
    speed = relative[3:] + np.cross(relative[:3].T, point).T
    return np.vstack([slides @ first[0].T @ speed, size * (turns @ first[0].T @ relative[:3])])
