"""From the parts of a body to triangle surfaces in the frame of the body."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Shape
from simprop.geometry.arrays import Array
from simprop.geometry.finish import finish_of
from simprop.geometry.solids import box, cylinder, sphere
from simprop.geometry.surface import Surface, frame_along, triangles
from simprop.geometry.sweep import rounded, swept
from simprop.picture.render.looks import LOOKS, USUAL, dressed

ROUND = ("pipe", "tube", "rod")


def _across(shape: Shape, along: Array) -> Array:
    thin = shape.direction
    if np.linalg.norm(thin) < 1e-9:
        thin = (
            np.array([0.0, 1.0, 0.0])
            if abs(along[1]) < 0.9 * np.linalg.norm(along)
            else np.array([1.0, 0.0, 0.0])
        )
    return thin


def extent(shape: Shape, placed: Array | None = None) -> tuple[Array, Array, Array]:
    """Middle (3,), axes as columns (3, 3) and half sizes (3,) m of the box a part fills, in the body frame.

    `placed` is the rotation of the body from where it was drawn to the start pose, (3, 3) or None.
    The axes of a straight long part are: up along it, right across, away through its thickness (of a bar).

    Example:
        >>> ball = Shape("ball", np.zeros((1, 3)), (0.2,), np.zeros(3), "", "head", "", 1.0)
        >>> extent(ball)[2].tolist()
        [0.1, 0.1, 0.1]
    """
    upright = np.eye(3) if placed is None else placed
    path = np.asarray(shape.path, dtype=float)
    if shape.kind == "mesh" and shape.vertices is not None:
        low, high = shape.vertices.min(axis=0), shape.vertices.max(axis=0)
        return (low + high) / 2, np.eye(3), (high - low) / 2
    if shape.kind == "block":
        return path[0], upright, np.array(shape.size) / 2
    if shape.kind == "disc":
        first = frame_along(shape.direction)
        turn = np.array([first[1], first[2], first[0]]).T
        return path[0], turn, np.array([shape.size[0], shape.size[0], shape.size[1]]) / 2
    if len(path) < 2:
        return path[0], upright, np.full(3, shape.size[0] / 2)
    line = path[-1] - path[0]
    length = float(np.linalg.norm(line))
    rows = frame_along(line, _across(shape, line))  # along, away (thin), third
    away = rows[1] if rows[1] @ np.array([0.3, 1.0, 0.0]) >= 0 else -rows[1]
    turn = np.array([np.cross(away, rows[0]), away, rows[0]]).T
    width = shape.size[0] / 2
    thick = shape.size[1] / 2 if shape.kind == "bar" else width
    return (path[0] + path[-1]) / 2, turn, np.array([width, thick, length / 2])


def shape_surfaces(shape: Shape, placed: Array | None = None) -> list[Surface]:
    """A part as triangle surfaces, in the body frame, m.

    Args:
        shape: the part.
        placed: rotation of its body from where it was drawn (edges of blocks along x, y, z) to the start pose.

    Returns:
        One surface or more, each of one finish; none for a part without size.

    Example:
        >>> path = np.array([[0.0, 0, 0], [0, 0, 1]])
        >>> pipe = Shape("pipe", path, (0.021, 0.016), np.zeros(3), "PVC", "plain", "", 0.2)
        >>> len(shape_surfaces(pipe))
        1
    """
    finish = finish_of(shape.material)
    path = np.asarray(shape.path, dtype=float)
    if shape.looks in LOOKS:
        middle, turn, half = extent(shape, placed)
        if shape.kind == "lump":
            half = np.array(USUAL[shape.looks]) / 2
        if shape.looks == "hat":  # however thin the part, a hat has a crown that stands on it
            tall = max(half[2], 0.42 * max(half[0], half[1]))
            middle = middle + turn[:, 2] * (tall - half[2])
            half = np.array([half[0], half[1], tall])
        return dressed(shape.looks, middle, turn, half, finish if shape.material else None)
    if shape.kind == "mesh":
        if shape.vertices is None or shape.faces is None or not len(shape.faces):
            return []
        return [triangles(shape.vertices, shape.faces, finish)]
    if shape.kind == "block":
        return [box(np.array(shape.size), finish).moved(np.eye(3) if placed is None else placed, path[0])]
    if shape.kind == "disc":
        half = shape.direction / np.linalg.norm(shape.direction) * shape.size[1] / 2
        return [cylinder(path[0] - half, path[0] + half, shape.size[0], finish, sides=40)]
    if shape.kind in ("ball", "lump") or len(path) < 2 or float(np.linalg.norm(np.ptp(path, axis=0))) < 1e-9:
        return [sphere(shape.size[0], finish).moved(np.eye(3), path[0])] if shape.size else []
    if shape.kind == "bar":
        line = path[-1] - path[0]
        rows = frame_along(line, _across(shape, line))
        size = np.array([np.linalg.norm(line), shape.size[1], shape.size[0]])
        return [box(size, finish).moved(rows.T, (path[0] + path[-1]) / 2)]
    inside = shape.size[1] if len(shape.size) > 1 and shape.kind in ROUND else 0.0
    sides = 16 if shape.size[0] < 0.008 else 24
    return [swept(rounded(path, 1.5 * shape.size[0]), shape.size[0], inside, finish, sides)]
