"""A triangle surface with smooth normals, how surfaces are joined, and how a given mesh becomes one."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish

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
        normals = unit(self.normals @ np.linalg.inv(turn))
        return oriented(replace(self, vertices=vertices, normals=normals))


def unit(rows: Array) -> Array:
    """Rows of any length as unit rows (zero rows stay zero)."""
    length = np.linalg.norm(rows, axis=-1, keepdims=True)
    return np.asarray(rows / np.where(length < 1e-12, 1.0, length))


def oriented(surface: Surface) -> Surface:
    """The same triangles, each turned so that its corners run counter-clockwise seen against its normals."""
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
    facing = unit(flat)
    _, same = np.unique(np.round(vertices, 7), axis=0, return_inverse=True)
    same = same.reshape(-1)
    limit = np.cos(np.radians(crease))
    place = same[faces].ravel()
    order = np.argsort(place, kind="stable")
    start = np.searchsorted(place[order], np.arange(same.max() + 2))
    many = np.diff(start)[place]  # faces round the vertex of each corner
    mine = np.repeat(np.arange(len(place)), many)
    step = np.arange(len(mine)) - np.repeat(np.cumsum(many) - many, many)
    other = order[np.repeat(start[place], many) + step] // 3
    near = np.einsum("ij,ij->i", facing[other], facing[mine // 3]) >= limit
    normals = np.zeros((len(place), 3))
    np.add.at(normals, mine[near], flat[other[near]])
    bare = np.linalg.norm(normals, axis=1) < 1e-15
    normals[bare] = facing[np.flatnonzero(bare) // 3]
    points = corner.reshape(-1, 3)
    return Surface(
        points,
        unit(normals),
        points,
        np.arange(3 * len(faces)).reshape(-1, 3),
        _patches(facing, same[faces], limit),
        finish,
        closed=False,
    )


def _patches(facing: Array, faces: Faces, limit: float) -> Faces:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    _, key = np.unique(edges, axis=0, return_inverse=True)
    order = np.argsort(key.reshape(-1), kind="stable")
    key = key.reshape(-1)[order]
    meet = np.flatnonzero(key[1:] == key[:-1])
    a, b = order[meet] // 3, order[meet + 1] // 3
    smooth = np.einsum("ij,ij->i", facing[a], facing[b]) >= limit
    graph = coo_matrix((np.ones(int(smooth.sum())), (a[smooth], b[smooth])), shape=(len(faces), len(faces)))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)
