"""Boxes, turned solids, balls and round bars as surfaces."""

from __future__ import annotations

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.surface import Surface, frame_along, oriented, unit


def box(size: Array, finish: Finish, bevel: float = 0.002) -> Surface:
    """A box about the origin with narrow rounded edges.

    Args:
        size: (3,) m along x, y, z.
        bevel: width of the edge, m; at most a fifth of the shortest side.

    Example:
        >>> len(box(np.array([0.1, 0.1, 0.1]), Finish((1, 1, 1))).faces)
        44
    """
    half = np.asarray(size, dtype=float) / 2
    edge = min(bevel, 0.4 * float(half.min()))
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
    vertices = np.repeat(signs * (half - edge), 3, axis=0)
    normals = np.zeros((24, 3))
    for corner in range(8):
        for axis in range(3):
            normals[3 * corner + axis, axis] = signs[corner, axis]
    vertices += normals * edge
    index = {tuple(int(v) for v in s): 3 * i for i, s in enumerate(signs)}
    faces: list[tuple[int, int, int]] = []
    groups: list[int] = []

    def quad(a: int, b: int, c: int, d: int) -> None:
        group = groups[-1] + 1 if groups else 0
        faces.extend([(a, b, c), (a, c, d)])
        groups.extend([group, group])

    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for sign in (-1, 1):
            ring = []
            for su, sv in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
                key = [0, 0, 0]
                key[axis], key[u], key[v] = sign, su, sv
                ring.append(index[tuple(key)] + axis)
            quad(*ring)
        for su in (-1, 1):
            for sv in (-1, 1):
                ends = []
                for along in (-1, 1):
                    key = [0, 0, 0]
                    key[axis], key[u], key[v] = along, su, sv
                    ends.append(index[tuple(key)])
                quad(ends[0] + u, ends[1] + u, ends[1] + v, ends[0] + v)
    for start in index.values():
        groups.append(groups[-1] + 1)
        faces.append((start, start + 1, start + 2))
    order = np.argsort(-half, kind="stable")
    return oriented(Surface(vertices, normals, vertices[:, order], np.array(faces), np.array(groups), finish))


def lathe(profile: Array, finish: Finish, sides: int, smooth: bool = False) -> Surface:
    """A solid turned about the x axis.

    Args:
        profile: (k, 2) m: place along x and radius, from one end to the other; radius 0 closes an end.
        sides: facets round.
        smooth: one round patch; else each stretch of the profile is its own.

    Example:
        >>> cone = lathe(np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 0.0]]), Finish((1, 1, 1)), 12)
        >>> int(cone.groups.max()) + 1
        2
    """
    angle = np.linspace(0.0, 2 * np.pi, sides + 1)
    around = np.stack([np.zeros_like(angle), np.cos(angle), np.sin(angle)], axis=1)
    keep = np.append(True, np.linalg.norm(np.diff(profile, axis=0), axis=1) > 1e-12)
    profile = np.asarray(profile, dtype=float)[keep]
    along = np.diff(profile, axis=0)
    slope = unit(np.stack([-along[:, 1], along[:, 0]], axis=1))  # (axial, radial) outward for x rising
    if smooth:
        padded = np.concatenate([slope[:1], slope, slope[-1:]])
        at = unit(padded[:-1] + padded[1:])
        if profile[0, 1] == 0:
            at[0] = (-1.0, 0.0)
        if profile[-1, 1] == 0:
            at[-1] = (1.0, 0.0)
    vertices: list[Array] = []
    normals: list[Array] = []
    faces: list[tuple[int, int, int]] = []
    groups: list[int] = []
    for i in range(len(along)):
        base = sum(len(v) for v in vertices)
        for k in (i, i + 1):
            axial, radial = at[k] if smooth else slope[i]
            ring = around * profile[k, 1]
            ring[:, 0] = profile[k, 0]
            normal = around * radial
            normal[:, 0] = axial
            vertices.append(ring)
            normals.append(normal)
        n = sides + 1
        for j in range(sides):
            a, b, c, d = base + j, base + j + 1, base + n + j + 1, base + n + j
            if profile[i, 1] > 0:
                faces.append((a, b, c))
                groups.append(0 if smooth else i)
            if profile[i + 1, 1] > 0:
                faces.append((a, c, d))
                groups.append(0 if smooth else i)
    points = np.concatenate(vertices)
    return oriented(
        Surface(points, unit(np.concatenate(normals)), points, np.array(faces), np.array(groups), finish)
    )


def sphere(diameter: float, finish: Finish, sides: int = 28) -> Surface:
    """A ball about the origin, its poles on z.

    Example:
        >>> round(float(np.linalg.norm(sphere(0.2, Finish((1, 1, 1))).vertices, axis=1).max()), 9)
        0.1
    """
    angle = np.linspace(0.0, np.pi, sides // 2 + 1)
    profile = np.stack([-np.cos(angle), np.sin(angle)], axis=1) * diameter / 2
    profile[[0, -1], 1] = 0.0
    turned = lathe(profile, finish, sides, smooth=True)
    return turned.moved(np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]), np.zeros(3))


def cylinder(start: Array, end: Array, diameter: float, finish: Finish, sides: int = 20) -> Surface:
    """A solid round bar with slightly broken edges, from `start` to `end`, (3,) m each."""
    length = float(np.linalg.norm(end - start))
    radius = diameter / 2
    edge = min(0.15 * radius, 0.2 * length, 0.0015)
    profile = np.array(
        [
            [0, 0],
            [0, radius - edge],
            [edge, radius],
            [length - edge, radius],
            [length, radius - edge],
            [length, 0],
        ]
    )
    return lathe(profile, finish, sides).moved(frame_along(end - start).T, start)
