"""A closed surface from a file, as mass and shape. The only file that imports trimesh."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from simprop.assembly.types import Lumped, Shape
from simprop.catalog.load import material
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.parts import kinds as rig_parts


def lump_mesh(part: rig_parts.Mesh, at: Array, folder: Path, name: str) -> Lumped:
    """A mesh part: read, scaled, turned about its own origin (x, then y, then z, degrees), set down at a point.

    Args:
        part: as in the rig.
        at: where the file's origin goes, (3,) m.
        folder: where the file is looked for.
        name: for messages.

    Raises:
        AssemblyError: when the file can't be read or isn't a closed surface.
    """
    import trimesh

    mesh: Any

    path = folder / part.file
    try:
        mesh = trimesh.load(path, force="mesh", process=True)
    except Exception as error:
        raise AssemblyError(f"{name}: {path} can't be read as a mesh: {error}") from None
    if not len(mesh.faces):
        raise AssemblyError(f"{name}: {path} holds no triangles")
    if not mesh.is_watertight:
        raise AssemblyError(
            f"{name}: {path} isn't a closed surface, so it has no volume; close its holes and try again"
        )
    vertices = np.asarray(mesh.vertices, dtype=np.float64) * part.scale @ _turned(part.turn).T + at
    placed = trimesh.Trimesh(vertices, mesh.faces, process=False)
    if placed.volume < 0:
        placed.invert()
    density = material(part.of).density if part.of is not None else 1.0
    mass = part.mass or density * float(placed.volume)
    centre = np.asarray(placed.center_mass, dtype=float)
    inertia = np.asarray(placed.moment_inertia, dtype=float) * (mass / float(placed.mass))
    faces = np.asarray(placed.faces, dtype=np.int64)
    looks = part.looks or "plain"
    shape = Shape("mesh", at[None, :], (), np.zeros(3), part.of or "", looks, name, mass, vertices, faces)
    return Lumped(mass, centre, inertia, shape)


def _turned(turn: tuple[float, float, float]) -> Array:
    a, b, c = np.radians(turn)
    x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return np.asarray(z @ y @ x)
