"""Stock of any cross-section, and plates of any outline, as surfaces. The only file that imports mapbox_earcut."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.surface import Faces, Surface, oriented, unit

SMOOTH = np.cos(np.radians(32.0))
"""Sides of a ring that turn by less than this are one round patch."""


def flat_triangles(rings: Sequence[Array]) -> Faces:
    """Triangles of a flat figure: indices into its rings put one after the other, (n, 3).

    Args:
        rings: (k, 2) each: one outline, then its holes.

    Example:
        >>> len(flat_triangles([np.array([[0.0, 0], [2, 0], [2, 2], [0, 2]])]))
        2
    """
    import mapbox_earcut

    ends = np.cumsum([len(r) for r in rings]).astype(np.uint32)
    found = mapbox_earcut.triangulate_float64(np.concatenate(rings), ends)
    return np.asarray(found, dtype=np.int64).reshape(-1, 3)


def prism(
    rings: Sequence[Array], start: Array, frame: Array, length: float, finish: Finish, grain: int = 2
) -> Surface:
    """A solid between two equal flat ends.

    Args:
        rings: (k, 2) m each: one outline counter-clockwise, then its holes clockwise.
        start: origin of the rings at one end, (3,) m.
        frame: unit directions of the rings' x and y, and of the length, as rows (3, 3), right-handed.
        length: m.
        grain: which direction of the frame its grain follows.

    Example:
        >>> square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
        >>> len(prism([square], np.zeros(3), np.eye(3), 2.0, Finish((1, 1, 1))).faces)
        12
    """
    vertices, normals, faces, groups = _walls(rings, length)
    flat, caps = np.concatenate(rings), flat_triangles(rings)
    for place, sign in ((0.0, -1.0), (length, 1.0)):
        base = sum(len(v) for v in vertices)
        vertices.append(np.column_stack([flat, np.full(len(flat), place)]))
        normals.append(np.tile([0.0, 0.0, sign], (len(flat), 1)))
        faces.append(caps + base)
        groups.append(np.full(len(caps), groups[-1].max() + 1))
    local = np.concatenate(vertices)
    surface = Surface(
        start + local @ frame,
        np.concatenate(normals) @ frame,
        np.roll(local, -grain, axis=1),
        np.concatenate(faces),
        np.concatenate(groups),
        finish,
    )
    return oriented(surface)


def _walls(
    rings: Sequence[Array], length: float
) -> tuple[list[Array], list[Array], list[Faces], list[Faces]]:
    """Sides along the rings: vertices, normals, faces and patches."""
    vertices: list[Array] = []
    normals: list[Array] = []
    faces: list[Faces] = []
    groups: list[Faces] = []
    patch = 0
    for ring in rings:
        count = len(ring)
        side = np.roll(ring, -1, axis=0) - ring
        out = unit(np.column_stack([side[:, 1], -side[:, 0]]))
        before, after = np.roll(out, 1, axis=0), np.roll(out, -1, axis=0)
        round_before = np.einsum("ij,ij->i", out, before) > SMOOTH
        round_after = np.einsum("ij,ij->i", out, after) > SMOOTH
        first = np.where(round_before[:, None], unit(out + before), out)
        last = np.where(round_after[:, None], unit(out + after), out)
        base = sum(len(v) for v in vertices)
        quad = np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)
        for place in (0.0, length):
            ends = np.full((count, 2, 1), place)
            vertices.append(np.concatenate([quad, ends], axis=2).reshape(-1, 3))
            both = np.stack([first, last], axis=1)
            normals.append(np.concatenate([both, np.zeros((count, 2, 1))], axis=2).reshape(-1, 3))
        a = base + 2 * np.arange(count)
        c = a + 2 * count
        faces.append(np.concatenate([np.stack([a, a + 1, c + 1], 1), np.stack([a, c + 1, c], 1)]))
        own = patch + np.cumsum(~round_before)
        if round_before[0]:
            own = np.where(own == patch, own[-1], own)
        groups.append(np.concatenate([own, own]))
        patch = int(own.max()) + 1
    return vertices, normals, faces, groups
