"""A triangle surface with smooth normals, and the few ways to make one."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Array
from simprop.picture.finish import Finish

Faces = NDArray[np.int64]


@dataclass(frozen=True)
class Surface:
    """Triangles of one finish, in any frame.

    Attributes:
        vertices: (v, 3) m.
        normals: unit, outwards, (v, 3).
        coords: place of each vertex in the grain of its part, first along the part, (v, 3) m.
        faces: counter-clockwise seen from outside, (f, 3).
        groups: smooth patch each face belongs to, (f,); edges between patches are drawn sharp.
        finish: how it looks.
        closed: bounds a solid, so that inner sides are never seen.
        shades: factor on the finish's colour at each vertex, (v, 3), or None for 1.
    """

    vertices: Array
    normals: Array
    coords: Array
    faces: Faces
    groups: Faces
    finish: Finish
    closed: bool = True
    shades: Array | None = None

    def moved(self, turn: Array, shift: Array) -> Surface:
        """Turned by a (3, 3) matrix (also a stretch), then shifted by (3,) m."""
        vertices = self.vertices @ turn.T + shift
        normals = _unit(self.normals @ np.linalg.inv(turn))
        return _oriented(replace(self, vertices=vertices, normals=normals))


def _unit(rows: Array) -> Array:
    length = np.linalg.norm(rows, axis=-1, keepdims=True)
    return np.asarray(rows / np.where(length < 1e-12, 1.0, length))


def _oriented(surface: Surface) -> Surface:
    corner = surface.vertices[surface.faces]
    flat = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    mean = surface.normals[surface.faces].sum(axis=1)
    flip = np.einsum("ij,ij->i", flat, mean) < 0
    faces = surface.faces.copy()
    faces[flip] = faces[flip][:, [0, 2, 1]]
    return replace(surface, faces=faces)


def frame_along(direction: Array, hint: Array | None = None) -> Array:
    """A right-handed frame whose first axis is `direction`: rows are unit axes, (3, 3).

    Args:
        direction: (3,), any length above zero.
        hint: wanted second axis, (3,), or None.

    Example:
        >>> frame_along(np.array([0.0, 0.0, 2.0]), np.array([1.0, 0.0, 0.0])).tolist()
        [[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]
    """
    first = direction / np.linalg.norm(direction)
    guess = np.zeros(3) if hint is None else hint - first * float(first @ hint)
    if np.linalg.norm(guess) < 1e-9:
        guess = np.eye(3)[int(np.argmin(np.abs(first)))]
        guess = guess - first * float(first @ guess)
    second = guess / np.linalg.norm(guess)
    return np.array([first, second, np.cross(first, second)])


def join(parts: list[Surface]) -> Surface:
    """Surfaces of one finish as one; patches stay apart."""
    offset = np.cumsum([0] + [len(p.vertices) for p in parts])
    shift = np.cumsum([0] + [int(p.groups.max(initial=-1)) + 1 for p in parts])
    shades = None
    if any(p.shades is not None for p in parts):
        shades = np.concatenate([np.ones_like(p.vertices) if p.shades is None else p.shades for p in parts])
    return Surface(
        np.concatenate([p.vertices for p in parts]),
        np.concatenate([p.normals for p in parts]),
        np.concatenate([p.coords for p in parts]),
        np.concatenate([p.faces + o for p, o in zip(parts, offset[:-1], strict=True)]),
        np.concatenate([p.groups + g for p, g in zip(parts, shift[:-1], strict=True)]),
        parts[0].finish,
        all(p.closed for p in parts),
        shades,
    )


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
    return _oriented(
        Surface(vertices, normals, vertices[:, order], np.array(faces), np.array(groups), finish)
    )


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
    slope = _unit(np.stack([-along[:, 1], along[:, 0]], axis=1))  # (axial, radial) outward for x rising
    if smooth:
        padded = np.concatenate([slope[:1], slope, slope[-1:]])
        at = _unit(padded[:-1] + padded[1:])
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
    return _oriented(
        Surface(points, _unit(np.concatenate(normals)), points, np.array(faces), np.array(groups), finish)
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
        middle = _unit(u + v)
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
    legs = _unit(np.diff(path, axis=0))
    tangent = _unit(np.concatenate([legs[:1], legs[:-1] + legs[1:], legs[-1:]]))
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
            _unit(np.array([ring + 0 * ring, ring + sign * tangent[end]])),
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
    return _oriented(replace(surface, faces=surface.faces[solid], groups=surface.groups[solid]))


def triangles(vertices: Array, faces: Faces, finish: Finish, crease: float = 40.0) -> Surface:
    """A given triangle mesh with normals smoothed over edges that bend by less than `crease` degrees.

    Corner normals are the area-weighted mean of the faces round the vertex within that angle of the face.

    Example:
        >>> v = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
        >>> triangles(v, np.array([[0, 1, 2]]), Finish((1, 1, 1))).normals[0].tolist()
        [0.0, 0.0, 1.0]
    """
    corner = vertices[faces]
    flat = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    unit = _unit(flat)
    _, same = np.unique(np.round(vertices, 7), axis=0, return_inverse=True)
    same = same.reshape(-1)
    order = np.argsort(same[faces].ravel(), kind="stable")
    owner = same[faces].ravel()[order]
    start = np.searchsorted(owner, np.arange(same.max() + 2))
    limit = np.cos(np.radians(crease))
    normals = np.empty((len(faces), 3, 3))
    around = [order[start[i] : start[i + 1]] // 3 for i in range(len(start) - 1)]
    for f in range(len(faces)):
        for k in range(3):
            near = around[same[faces[f, k]]]
            near = near[unit[near] @ unit[f] >= limit]
            normals[f, k] = flat[near].sum(axis=0) if len(near) else unit[f]
    points = corner.reshape(-1, 3)
    return Surface(
        points,
        _unit(normals.reshape(-1, 3)),
        points,
        np.arange(3 * len(faces)).reshape(-1, 3),
        _patches(unit, same[faces], limit),
        finish,
        closed=False,
    )


def _patches(unit: Array, faces: Faces, limit: float) -> Faces:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    _, key = np.unique(edges, axis=0, return_inverse=True)
    order = np.argsort(key.reshape(-1), kind="stable")
    key = key.reshape(-1)[order]
    meet = np.flatnonzero(key[1:] == key[:-1])
    a, b = order[meet] // 3, order[meet + 1] // 3
    smooth = np.einsum("ij,ij->i", unit[a], unit[b]) >= limit
    graph = coo_matrix((np.ones(int(smooth.sum())), (a[smooth], b[smooth])), shape=(len(faces), len(faces)))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)
