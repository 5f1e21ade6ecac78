"""Rounded shapes as distance fields, and their surface as triangles.

The polygoniser is the 'naive surface nets' method (S. F. Frisken Gibson, 1998): one vertex in each cell the surface
crosses, at the mean of the crossings of the cell's edges, and one quadrangle for each crossed grid edge. Smooth union
is the polynomial blend in common use in computer graphics, no single source.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.surface import Faces

Field = Callable[[Array], Array]
"""Points (n, 3) to signed distance (n,), negative inside."""


def ball(p: Array, at: tuple[float, float, float], radius: float | tuple[float, float, float]) -> Array:
    """Distance (to first order) from an ellipsoid with half axes `radius`."""
    half = np.broadcast_to(np.asarray(radius, dtype=float), (3,))
    k = (p - np.array(at)) / half
    length = np.linalg.norm(k, axis=1)
    slope = np.linalg.norm(k / half, axis=1)
    return np.asarray(np.where(slope < 1e-9, -half.min(), length * (length - 1.0) / np.maximum(slope, 1e-9)))


def capsule(
    p: Array, a: tuple[float, float, float], b: tuple[float, float, float], ra: float, rb: float | None = None
) -> Array:
    """Distance from a rounded stick from `a` to `b` whose radius goes from `ra` to `rb`."""
    start, line = np.array(a), np.array(b) - np.array(a)
    t = np.clip((p - start) @ line / float(line @ line), 0.0, 1.0)
    radius = ra + ((ra if rb is None else rb) - ra) * t
    return np.asarray(np.linalg.norm(p - start - t[:, None] * line, axis=1) - radius)


def brick(p: Array, at: tuple[float, float, float], half: tuple[float, float, float], edge: float) -> Array:
    """Distance from a box with half sizes `half` and edges rounded to `edge`."""
    q = np.abs(p - np.array(at)) - (np.array(half) - edge)
    outside = np.linalg.norm(np.maximum(q, 0.0), axis=1)
    return np.asarray(outside + np.minimum(q.max(axis=1), 0.0) - edge)


def ring(p: Array, at: tuple[float, float, float], radius: float, thick: float, axis: int = 2) -> Array:
    """Distance from a torus about `axis`."""
    q = p - np.array(at)
    flat = np.delete(q, axis, axis=1)
    return np.asarray(np.hypot(np.linalg.norm(flat, axis=1) - radius, q[:, axis]) - thick)


def blend(a: Array, b: Array, width: float) -> Array:
    """Smooth union of two distances."""
    h = np.clip(0.5 + 0.5 * (b - a) / width, 0.0, 1.0)
    return np.asarray(b + (a - b) * h - width * h * (1.0 - h))


def carve(a: Array, b: Array, width: float) -> Array:
    """`a` with `b` smoothly taken away."""
    return -blend(-a, b, width)


def polygonise(field: Field, low: Array, high: Array, cells: int) -> tuple[Array, Array, Faces]:
    """The surface of a field as triangles.

    Args:
        field: distances at points.
        low, high: corners of the box to search, (3,); the surface must lie inside.
        cells: number of cells along the longest side.

    Returns:
        Vertices (v, 3), unit normals by the field's gradient (v, 3), faces (f, 3).

    Example:
        >>> v, n, f = polygonise(lambda p: ball(p, (0, 0, 0), 1.0), np.full(3, -1.2), np.full(3, 1.2), 24)
        >>> bool(np.abs(np.linalg.norm(v, axis=1) - 1).max() < 0.002)
        True
    """
    size = (high - low).max() / cells
    shape = np.ceil((high - low) / size).astype(int) + 1
    axes = [low[i] + size * np.arange(shape[i]) for i in range(3)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    value = field(grid.reshape(-1, 3)).reshape(tuple(shape))
    cell = shape - 1
    total = np.zeros((*cell, 3))
    count = np.zeros(cell)
    for axis in range(3):
        a = np.take(value, np.arange(shape[axis] - 1), axis=axis)
        b = np.take(value, np.arange(1, shape[axis]), axis=axis)
        crossed = (a < 0) != (b < 0)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.where(crossed, a / (a - b), 0.0)
        point = np.take(grid, np.arange(shape[axis] - 1), axis=axis).copy()
        point[..., axis] += t * size
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for du in (0, 1):
            for dv in (0, 1):
                pick: list[slice] = [slice(None)] * 3
                pick[u] = slice(du, du + cell[u])
                pick[v] = slice(dv, dv + cell[v])
                hit = crossed[tuple(pick)]
                total += np.where(hit[..., None], point[tuple(pick)], 0.0)
                count += hit
    used = count > 0
    index = np.full(tuple(cell), -1)
    index[used] = np.arange(int(used.sum()))
    vertices = total[used] / count[used][:, None]
    faces = []
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        a = np.take(value, np.arange(shape[axis] - 1), axis=axis)
        b = np.take(value, np.arange(1, shape[axis]), axis=axis)
        where = np.argwhere((a < 0) != (b < 0))
        where = where[
            (where[:, u] > 0) & (where[:, v] > 0) & (where[:, u] < cell[u]) & (where[:, v] < cell[v])
        ]
        corner = []
        for du, dv in ((0, 0), (1, 0), (1, 1), (0, 1)):
            at = where.copy()
            at[:, u] -= du
            at[:, v] -= dv
            corner.append(index[at[:, 0], at[:, 1], at[:, 2]])
        faces.append(np.stack([corner[0], corner[1], corner[2]], axis=1))
        faces.append(np.stack([corner[0], corner[2], corner[3]], axis=1))
    normals = _slope(field, vertices, 0.25 * size)
    # the mean of the crossings lies a little inside: one step along the normal puts it on the surface
    vertices = vertices - normals * np.clip(field(vertices), -0.4 * size, 0.4 * size)[:, None]
    return vertices, _slope(field, vertices, 0.25 * size), np.concatenate(faces)


def _slope(field: Field, points: Array, step: float) -> Array:
    shifts = step * np.eye(3)
    rise = np.stack([field(points + e) - field(points - e) for e in shifts], axis=1)
    return np.asarray(rise / np.maximum(np.linalg.norm(rise, axis=1, keepdims=True), 1e-12))
