"""A closed surface from a file. The only file that imports trimesh."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import AfterValidator, Field, model_validator

from simprop.catalog.load import material
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.surface import Faces, Surface, triangles
from simprop.parts.part import PartKind, Read, Shape
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import AboveZero, Number, Place, fault
from simprop.rules.mass import MassProperties

LARGEST, SMALLEST = 1e3, 1e-4
"""Longest side of the box round a mesh: at most and at least, m."""


def _stl_or_obj(name: str) -> str:
    if PurePath(name).suffix.lower() not in (".stl", ".obj"):
        raise fault("a mesh is an STL or OBJ file", "head.stl")
    return name


class Mesh(PartKind):
    """A closed surface from an STL or OBJ file beside the rig, in millimetres unless `scale` says otherwise."""

    unchecked: ClassVar[str] = "meshes"
    kind: Literal["mesh"] = "mesh"
    file: Annotated[str, AfterValidator(_stl_or_obj)] = Field(alias="mesh")
    of: MaterialName | None = None
    at: Place
    turn: tuple[Number, Number, Number] = (0.0, 0.0, 0.0)
    scale: Annotated[Number, AboveZero] = 0.001

    @model_validator(mode="after")
    def _weight(self) -> Mesh:
        if self.of is None and self.mass is None:
            raise fault("a mesh says what it is of, or its mass", "of: foam, or mass: 0.25 kg")
        return self

    def place(self, at: Placement, read: Read, name: str) -> Surfaced:
        """Read, scaled, turned about its own origin (x, then y, then z, degrees), set down at its point.

        Raises:
            AssemblyError: when the file can't be read or isn't a closed surface.
        """
        import trimesh

        mesh: Any
        path = self.file
        try:
            content = io.BytesIO(read(path))
            mesh = trimesh.load(
                content, file_type=PurePath(path).suffix[1:].lower(), force="mesh", process=True
            )
        except Exception as error:
            raise AssemblyError(f"{name}: {path} can't be read as a mesh: {error}") from None
        if not len(mesh.faces):
            raise AssemblyError(f"{name}: {path} holds no triangles")
        if not mesh.is_watertight:
            raise AssemblyError(
                f"{name}: {path} isn't a closed surface, so it has no volume; close its holes and try again"
            )
        size = float(np.ptp(mesh.vertices, axis=0).max()) * self.scale
        if not SMALLEST <= size <= LARGEST:
            allowed = f"{SMALLEST * 1000:g} mm to {LARGEST:g} m; see `scale`"
            raise AssemblyError(f"{name}: {path} is {size:.3g} m large (allowed: {allowed})")
        origin = at.stretched(self.at)
        vertices = np.asarray(mesh.vertices, dtype=np.float64) * self.scale @ _turned(self.turn).T + origin
        placed = trimesh.Trimesh(vertices, mesh.faces, process=False)
        if placed.volume < 0:
            placed.invert()
        mass = self.mass or material(self.of or "").density * float(placed.volume)
        inertia = np.asarray(placed.moment_inertia, dtype=float) * (mass / float(placed.mass))
        return Surfaced(
            name=name,
            material=self.of or "",
            looks=self.looks or "plain",
            weight=MassProperties(mass, np.asarray(placed.center_mass, dtype=float), inertia),
            path=origin[None, :],
            vertices=vertices,
            faces=np.asarray(placed.faces, dtype=np.int64),
        )


def _turned(turn: tuple[float, float, float]) -> Array:
    a, b, c = np.radians(turn)
    x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return np.asarray(z @ y @ x)


@dataclass(frozen=True, kw_only=True)
class Surfaced(Shape):
    """A closed triangle surface: vertices, (v, 3) m, and faces, (f, 3)."""

    word: str = "mesh"
    vertices: Array
    faces: Faces

    def moved(self, turn: Array, shift: Array) -> Surfaced:
        return replace(super().moved(turn, shift), vertices=self.vertices @ turn.T + shift)

    def box(self) -> tuple[Array, Array, Array]:
        """Along the axes of the body."""
        low, high = self.vertices.min(axis=0), self.vertices.max(axis=0)
        return (low + high) / 2, np.eye(3), (high - low) / 2

    def drawn(self, finish: Finish) -> list[Surface]:
        return [triangles(self.vertices, self.faces, finish)]
