"""Pipes and rods along a line, with rounded corners and visible cut ends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.surface import Faces, Surface, frame_along, oriented, unit


def rounded(path: Array, radius: float) -> Array:
    """A polyline with its inner corners replaced by arcs.

    Args:
        path: (k, 3) m.
        radius: wanted bend radius, m; made smaller where a leg is too short.

    Returns:
        (m, 3) m, the ends unchanged.

    Example:
        >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0]])
        >>> len(rounded(corner, 0.1)) > 5
        True
    """
    keep = [0] + [i for i in range(1, len(path)) if np.linalg.norm(path[i] - path[i - 1]) > 1e-9]
    path = path[keep]
    out = [path[0]]
    for i in range(1, len(path) - 1):
        before, after = path[i - 1] - path[i], path[i + 1] - path[i]
        a, b = float(np.linalg.norm(before)), float(np.linalg.norm(after))
        u, v = before / a, after / b
        bend = np.pi - np.arccos(np.clip(float(u @ v), -1.0, 1.0))
        if bend < 1e-3 or bend > np.pi - 1e-3:
            out.append(path[i])
            continue
        setback = min(radius * np.tan(bend / 2), 0.45 * a, 0.45 * b)
        arc = setback / np.tan(bend / 2)
        middle = unit(u + v)
        centre = path[i] + middle * (arc / np.cos(bend / 2))
        first, last = path[i] + u * setback - centre, path[i] + v * setback - centre
        for t in np.linspace(0.0, 1.0, max(3, int(np.ceil(bend / 0.2)) + 1)):
            out.append(centre + (np.sin((1 - t) * bend) * first + np.sin(t * bend) * last) / np.sin(bend))
    out.append(path[-1])
    return np.array(out)


def swept(path: Array, outside: float, inside: float, finish: Finish, sides: int = 22) -> Surface:
    """A round pipe (or rod, with `inside` 0) along a polyline, its cut ends visible.

    Args:
        path: (k, 3) m, two points or more, corners already rounded.
        outside, inside: diameters, m.

    Example:
        >>> pipe = swept(np.array([[0.0, 0, 0], [0, 0, 1]]), 0.02, 0.016, Finish((1, 1, 1)))
        >>> bool(pipe.closed)
        True
    """
    legs = unit(np.diff(path, axis=0))
    tangent = unit(np.concatenate([legs[:1], legs[:-1] + legs[1:], legs[-1:]]))
    across = frame_along(tangent[0])[1]
    angle = np.linspace(0.0, 2 * np.pi, sides + 1)
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    rings = []
    for t in tangent:
        across = across - t * float(t @ across)
        across = across / np.linalg.norm(across)
        third = np.cross(t, across)
        rings.append(np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * third)
    radial = np.array(rings)  # (k, n, 3)
    count, n = radial.shape[:2]
    vertices: list[Array] = []
    normals: list[Array] = []
    coords: list[Array] = []
    faces: list[Faces] = []
    groups: list[Faces] = []

    def grid(points: Array, normal: Array, place: Array, group: int) -> None:
        base = sum(len(v) for v in vertices)
        rows = points.shape[0]
        vertices.append(points.reshape(-1, 3))
        normals.append(normal.reshape(-1, 3))
        coords.append(place.reshape(-1, 3))
        i, j = np.meshgrid(np.arange(rows - 1), np.arange(n - 1), indexing="ij")
        a = (base + i * n + j).ravel()
        faces.append(np.stack([a, a + 1, a + n + 1], axis=1))
        faces.append(np.stack([a, a + n + 1, a + n], axis=1))
        groups.append(np.full(2 * len(a), group))

    def place(radius: float, along: Array) -> Array:
        return np.stack(
            np.broadcast_arrays(along[:, None], radius * np.cos(angle), radius * np.sin(angle)), axis=2
        )

    outer, inner = outside / 2, inside / 2
    edge = min(0.12 * outer, 0.001)
    grid(path[:, None] + radial * outer, radial, place(outer, run), 0)
    if inner > 0:
        grid(path[:, None] + radial * inner, -radial, place(inner, run), 1)
    for end, sign, group in ((0, -1.0, 2), (count - 1, 1.0, 4)):
        facing = np.broadcast_to(sign * tangent[end], (2, n, 3))
        ring = radial[end]
        mouth = path[end] + sign * tangent[end] * edge
        rim = np.array([path[end] + ring * outer, mouth + ring * (outer - edge)])
        grid(
            rim,
            unit(np.array([ring + 0 * ring, ring + sign * tangent[end]])),
            place(outer, run[[end, end]]),
            group,
        )
        flat = np.array([mouth + ring * (outer - edge), mouth + ring * inner])
        grid(flat, facing, place(outer, run[[end, end]]), group + 1)
        if inner > 0:
            lip = np.array([mouth + ring * inner, path[end] + ring * inner])
            grid(lip, np.array([-ring, -ring]), place(inner, run[[end, end]]), 1)
    surface = Surface(
        np.concatenate(vertices),
        np.concatenate(normals),
        np.concatenate(coords),
        np.concatenate(faces),
        np.concatenate(groups),
        finish,
    )
    corner = surface.vertices[surface.faces]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1)
    solid = area > 1e-16
    return oriented(replace(surface, faces=surface.faces[solid], groups=surface.groups[solid]))
