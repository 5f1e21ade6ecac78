"""Poses and motion of the spanning tree, and the constraints of the joints that close its loops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from simprop.assembly.types import Branch
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import FLOATING, Freedom, barred, hung, pivot
from simprop.geometry.turning import across, matrix_about, multiply, of_matrix, of_vector, to_vector


@dataclass(frozen=True)
class Hinge:
    """A joint for kinematics: where it sits on each body, in the coordinates that body was drawn in.

    Attributes:
        freedoms: its free motions.
        first: index of the first body, -1 for the world.
        second: index of the second body, -1 for the world.
        on_first: point on the first body, (3,) m.
        on_second: point on the second body, (3,) m.
        axis: unit direction, (3,), the same on both bodies as drawn; zeros for a joint without one.
    """

    freedoms: tuple[Freedom, ...]
    first: int
    second: int
    on_first: Array
    on_second: Array
    axis: Array

    @cached_property
    def bars(self) -> tuple[Array, Array]:
        """Directions that it bars: translations (k, 3) and rotations (m, 3), as drawn (carried by the first body)."""
        return barred(self.freedoms, self.axis)


Pose = tuple[Array, Array]
"""Rotation (3, 3) and translation (3,): world = rotation @ drawn + translation."""

STILL: Pose = (np.eye(3), np.zeros(3))
_ORIGIN = np.zeros(3)


@dataclass(frozen=True)
class Step:
    """One branch of a tree as motions one after the other.

    Attributes:
        branch: of the tree.
        freedoms: motions from the parent body to the one that hangs on it.
        coordinates: index of the (first) coordinate of each.
        near: point on the parent, (3,) m as drawn.
        far: point on the body, (3,) m as drawn.
    """

    branch: Branch
    freedoms: tuple[Freedom, ...]
    coordinates: tuple[int, ...]
    near: Array
    far: Array


@dataclass(frozen=True)
class Tree:
    """The spanning tree with its joints.

    Attributes:
        hinges: every joint.
        steps: parents before children.
        size: number of coordinates.
        bodies: number of bodies.
    """

    hinges: tuple[Hinge, ...]
    steps: tuple[Step, ...]
    size: int
    bodies: int

    @property
    def coordinates(self) -> list[tuple[int, Freedom, Step]]:
        """Every motion with the index of its (first) coordinate and its branch."""
        return [(i, f, s) for s in self.steps for i, f in zip(s.coordinates, s.freedoms, strict=True)]


def make_tree(hinges: Sequence[Hinge], branches: Sequence[Branch], bodies: int) -> Tree:
    """A `Tree` with its coordinates numbered in the order of the branches."""
    steps: list[Step] = []
    count = 0
    for branch in branches:
        freedoms, near, far = FLOATING, _ORIGIN, _ORIGIN
        if branch.joint is not None:
            hinge = hinges[branch.joint]
            freedoms, near, far = hung(hinge.freedoms, branch.forward), hinge.on_first, hinge.on_second
            if not branch.forward:
                near, far = far, near
        starts = []
        for freedom in freedoms:
            starts.append(count)
            count += freedom.rates
        steps.append(Step(branch, freedoms, tuple(starts), near, far))
    return Tree(tuple(hinges), tuple(steps), count, bodies)


def typical_length(places: Array) -> float:
    """A length typical of a prop, to weigh turns against slides, m.

    Args:
        places: of its joints, (n, 3) m.

    Example:
        >>> typical_length(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.9]]))
        0.3
    """
    return max(0.01, float(np.linalg.norm(np.ptp(places, axis=0))) / 3)


def scales(tree: Tree, size: float) -> Array:
    """Metres for a unit of each coordinate: 1 for slides, `size` for turns, (n,)."""
    result = np.ones(tree.size)
    for i, freedom, _ in tree.coordinates:
        if freedom.how != "slide":
            result[i : i + freedom.rates] = size
    return result


def _turned(freedom: Freedom, q: Array, i: int) -> Array:
    """Rotation matrix of a turn or ball."""
    return matrix_about(q[i : i + 3] if freedom.how == "ball" else q[i] * freedom.way)


def poses(tree: Tree, q: Array) -> list[Pose]:
    """Pose of every body at tree coordinates `q` (turns as angles, balls as rotation vectors against the parent)."""
    result: list[Pose] = [STILL] * tree.bodies
    for step in tree.steps:
        turned, moved = STILL if step.branch.parent < 0 else result[step.branch.parent]
        place = turned @ step.near + moved
        for i, freedom in zip(step.coordinates, step.freedoms, strict=True):
            if freedom.how == "slide":
                place = place + turned @ (q[i] * freedom.way)
            else:
                turned = turned @ _turned(freedom, q, i)
        result[step.branch.body] = (turned, place - turned @ step.far)
    return result


def twists(tree: Tree, q: Array, at: Sequence[Pose]) -> Array:
    """Twist of every body for unit rates of the coordinates.

    For balls the rates are world angular velocities relative to the parent, not rates of the rotation vector.

    Returns:
        (B, 6, n): angular velocity, then the velocity of the material point at the world's origin.
    """
    result = np.zeros((tree.bodies, 6, tree.size))
    for step in tree.steps:
        body, parent = step.branch.body, step.branch.parent
        turned, moved = STILL if parent < 0 else at[parent]
        if parent >= 0:
            result[body] = result[parent]
        place = turned @ step.near + moved
        for i, freedom in zip(step.coordinates, step.freedoms, strict=True):
            if freedom.how == "slide":
                result[body, 3:, i] = turned @ freedom.way
                place = place + q[i] * result[body, 3:, i]
                continue
            axes = np.eye(3) if freedom.how == "ball" else (turned @ freedom.way)[None]
            result[body, :3, i : i + freedom.rates] = axes.T
            result[body, 3:, i : i + freedom.rates] = across(place, axes).T
            turned = turned @ _turned(freedom, q, i)
    return result


def advance(tree: Tree, q: Array, rates: Array) -> Array:
    """Coordinates after moving by `rates` (a small step in the sense of `twists`)."""
    after = q + rates
    at = poses(tree, q)
    for i, freedom, step in tree.coordinates:
        if freedom.how == "ball":
            parent = STILL if step.branch.parent < 0 else at[step.branch.parent]
            inside = of_vector(parent[0].T @ rates[i : i + 3])
            after[i : i + 3] = to_vector(multiply(inside, of_vector(q[i : i + 3])))
    return np.asarray(after)


def gap(hinge: Hinge, at: Sequence[Pose]) -> tuple[Array, Array]:
    """How far a joint is from closing, in the first body's drawn axes: translation (3,) m, rotation (3,) rad."""
    first = STILL if hinge.first < 0 else at[hinge.first]
    second = STILL if hinge.second < 0 else at[hinge.second]
    apart = second[0] @ hinge.on_second + second[1] - first[0] @ hinge.on_first - first[1]
    relative = first[0].T @ second[0]
    axis = pivot(hinge.freedoms)
    turned = across(axis, relative @ axis) if axis.any() else to_vector(of_matrix(relative))
    return first[0].T @ apart, np.asarray(turned)


def residual(hinges: Sequence[Hinge], at: Sequence[Pose], size: float) -> Array:
    """Gaps of closing joints in their barred directions; rotations are counted as lengths at `size` m."""
    rows = []
    for hinge in hinges:
        shift, turn = gap(hinge, at)
        slides, turns = hinge.bars
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
    slides, turns = hinge.bars
    speed = relative[3:] + across(relative[:3].T, point).T
    return np.vstack([slides @ first[0].T @ speed, size * (turns @ first[0].T @ relative[:3])])
