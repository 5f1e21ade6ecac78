"""Outlines of parts as seen from one side, as closed lines."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface

CELL = 0.06
"""Size of the cells in which an outline that isn't convex is found, mm on paper."""
CONVEX = 0.004
"""A part is taken for convex where its area lacks less than this share of its hull's."""


def outline(surfaces: Sequence[Surface], flat: Sequence[Array]) -> list[Array]:
    """Closed outlines of what some surfaces cover in a plane.

    A convex part shows each place of its outline by two triangles, one in front and one behind: half of the area of
    all its triangles is that of its hull. The outline of any other part is found in cells of `CELL`.

    Args:
        surfaces: of one part.
        flat: where their vertices are in the plane, (v, 2) mm each.

    Returns:
        One or more closed lines, (k, 2) mm each, without the first point again.

    Example:
        >>> from simprop.geometry.finish import Finish
        >>> from simprop.geometry.solids import box
        >>> block = box(np.array([20.0, 5.0, 10.0]), Finish((1, 1, 1)), 0.0)
        >>> (line,) = outline([block], [block.vertices[:, [0, 2]]])
        >>> sorted(map(tuple, line.round(6).tolist()))
        [(-10.0, -5.0), (-10.0, 5.0), (10.0, -5.0), (10.0, 5.0)]
    """
    from scipy.spatial import ConvexHull, QhullError

    corners = [f[s.faces] for s, f in zip(surfaces, flat, strict=True)]
    triangles = np.concatenate(corners)
    u, v = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    covered = 0.25 * float(np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum())
    points = np.concatenate(list(flat))
    try:
        whole = ConvexHull(points)
    except QhullError:  # seen edge on
        spread = np.ptp(points, axis=0)
        order = points[np.argsort(points @ spread)]
        return [order[[0, -1]]]
    hull = np.asarray(points[whole.vertices])
    if all(s.closed for s in surfaces) and abs(covered - whole.volume) < CONVEX * whole.volume:
        return [hull]
    return _in_cells(triangles) or [hull]


def _in_cells(triangles: Array) -> list[Array]:
    """Outlines of triangles (n, 3, 2) mm."""
    from contourpy import contour_generator
    from PIL import Image, ImageDraw

    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    cell = max(CELL, float((high - low).max()) / 3000)
    wide, tall = (np.ceil((high - low) / cell).astype(int) + 9).tolist()
    page = Image.new("L", (wide, tall), 0)
    pen = ImageDraw.Draw(page)
    for corner in ((triangles - low) / cell + 4).tolist():
        pen.polygon([tuple(p) for p in corner], fill=255)
    mask = np.asarray(page, dtype=float) / 255
    smooth = sum(np.roll(mask, (i, j), (0, 1)) for i in (-1, 0, 1) for j in (-1, 0, 1)) / 9
    lines = contour_generator(z=smooth).lines(0.5)
    found = [low + (np.asarray(line)[:-1] - 4) * cell for line in lines]
    return [thinned_line(line, 0.6 * cell) for line in found if len(line) > 8]


def thinned_line(line: Array, off: float) -> Array:
    """A closed line without the points that lie less than `off` from the straight between those kept.

    Example:
        >>> thinned_line(np.array([[0, 0], [1, 0.01], [2, 0], [2, 2], [0, 2.0]]), 0.1).tolist()
        [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]
    """
    ring = np.concatenate([line, line[:1]])
    keep = np.zeros(len(ring), bool)
    far = int(np.argmax(np.linalg.norm(ring - ring[0], axis=1)))
    keep[[0, far, len(ring) - 1]] = True
    stack = [(0, far), (far, len(ring) - 1)]
    while stack:
        a, b = stack.pop()
        if b - a < 2:
            continue
        way = ring[b] - ring[a]
        length = max(float(np.hypot(*way)), 1e-12)
        gone = ring[a + 1 : b] - ring[a]
        gaps = np.abs(gone[:, 0] * way[1] - gone[:, 1] * way[0]) / length
        worst = int(np.argmax(gaps))
        if gaps[worst] > off:
            keep[a + 1 + worst] = True
            stack += [(a, a + 1 + worst), (a + 1 + worst, b)]
    return np.asarray(ring[:-1][keep[:-1]], dtype=float)
