"""Parts to mass, centre of mass and inertia, each with the shape that is drawn of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from simprop.assembly.types import Lumped, Shape
from simprop.catalog.load import material, pipe
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.geometry.placement import Placement
from simprop.parts import kinds as rig_parts
from simprop.reading.fields import Point

SLENDER_DRAWN = 0.008
"""Diameter at which slender bars and lumps are drawn, m."""


def straight(mass: float, start: Array, end: Array, axial: float, across: float) -> Array:
    """Inertia of something round about its centre, (3, 3): `axial` about its line, `across` about any normal to it."""
    along = end - start
    unit = along / np.linalg.norm(along)
    return np.asarray(across * np.eye(3) + (axial - across) * np.outer(unit, unit))


def hollow_cylinder(mass: float, outer: float, inner: float, length: float) -> tuple[float, float]:
    """Axial and transverse moment of inertia of a hollow cylinder about its centre, kg*m^2.

    Args:
        mass: kg.
        outer: outside radius, m.
        inner: inside radius, m (0: solid).
        length: m.

    Source: elementary mechanics: m (R^2 + r^2) / 2 and m (3 (R^2 + r^2) + L^2) / 12.

    Example:
        >>> [round(v, 6) for v in hollow_cylinder(1.0, 0.1, 0.0, 0.3)]
        [0.005, 0.01]
    """
    square = outer**2 + inner**2
    return mass * square / 2, mass * (3 * square + length**2) / 12


def combine(lumps: Sequence[tuple[float, Array, Array]]) -> tuple[float, Array, Array]:
    """Total mass, centre of mass and inertia about it, from parts that are each (mass, centre, inertia about centre).

    Source: parallel-axis theorem.

    Example:
        >>> point = np.zeros((3, 3))
        >>> m, c, i = combine([(1.0, np.array([1.0, 0, 0]), point), (1.0, np.array([-1.0, 0, 0]), point)])
        >>> m, float(i[2, 2])
        (2.0, 2.0)
    """
    mass = sum(m for m, _, _ in lumps)
    if mass <= 0:
        return 0.0, np.zeros(3), np.zeros((3, 3))
    centre = np.asarray(sum(m * c for m, c, _ in lumps) / mass)
    inertia = np.zeros((3, 3))
    for m, c, i in lumps:
        arm = c - centre
        inertia += i + m * (float(arm @ arm) * np.eye(3) - np.outer(arm, arm))
    return mass, centre, inertia


def thin_direction(along: Array, thin: Sequence[float] | None) -> Array:
    """Unit direction of a bar's thickness: as given, else y (towards the viewer), else z; square to the bar."""
    wanted = np.asarray(thin if thin is not None else (0.0, 1.0, 0.0), dtype=float)
    if abs(float(wanted @ along)) > 0.99:
        wanted = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    wanted = wanted - float(wanted @ along) * along
    return np.asarray(wanted / np.linalg.norm(wanted))


def lump(part: rig_parts.Part, placement: Placement, folder: Path, name: str) -> Lumped:
    """One part as mass and shape, in drawn coordinates after the held length of its body.

    Args:
        part: as in the rig.
        placement: of its body (only the held length is used).
        folder: where mesh files are looked for.
        name: label, for the shape and for messages.

    Raises:
        AssemblyError: for a part of length zero or a mesh that isn't a closed surface.
    """
    if isinstance(part, rig_parts.Pipe | rig_parts.Tube):
        return _swept(part, placement, name)
    if isinstance(part, rig_parts.Rod):
        density = material(part.of).density
        path = _path(placement, [part.start, part.end], name)
        return _segments(part, path, part.diameter / 2, 0.0, 0.0, density, part.of, name)
    if isinstance(part, rig_parts.Bar):
        return _bar(part, placement, name)
    if isinstance(part, rig_parts.Block):
        x, y, z = part.size
        mass = part.mass or material(part.of).density * x * y * z
        inertia = mass / 12 * np.diag([y * y + z * z, x * x + z * z, x * x + y * y])
        return _at(part, mass, placement.stretched(part.at), inertia, (x, y, z), part.of, name)
    if isinstance(part, rig_parts.Disc):
        radius = part.diameter / 2
        mass = part.mass or material(part.of).density * np.pi * radius**2 * part.thick
        axial, across = hollow_cylinder(mass, radius, 0.0, part.thick)
        axis = np.asarray(part.axis)
        inertia = straight(mass, np.zeros(3), axis, axial, across)
        size = (part.diameter, part.thick)
        return _at(part, mass, placement.stretched(part.at), inertia, size, part.of, name, axis)
    if isinstance(part, rig_parts.Ball):
        return _ball(part, placement, name)
    if isinstance(part, rig_parts.Slender):
        path = _path(placement, [part.start, part.end], name)
        across = part.weight * float(np.sum((path[1] - path[0]) ** 2)) / 12
        inertia = straight(part.weight, path[0], path[1], 0.0, across)
        shape = Shape(
            "slender", path, (SLENDER_DRAWN,), np.zeros(3), "", part.looks or "plain", name, part.weight
        )
        return Lumped(part.weight, path.mean(axis=0), inertia, shape)
    if isinstance(part, rig_parts.Lump):
        inertia = np.diag(part.inertia) if part.inertia is not None else np.zeros((3, 3))
        return _at(part, part.weight, placement.stretched(part.at), inertia, (SLENDER_DRAWN * 2,), "", name)
    from simprop.assembly.mesh import lump_mesh

    return lump_mesh(part, placement.stretched(part.at), folder, name)


def _at(
    part: rig_parts.PartBase,
    mass: float,
    centre: Array,
    inertia: Array,
    size: tuple[float, ...],
    of: str,
    name: str,
    direction: Array | None = None,
) -> Lumped:
    kind = str(getattr(part, "kind", ""))
    way = np.zeros(3) if direction is None else direction
    shape = Shape(kind, centre[None, :], size, way, of, part.looks or "plain", name, mass)
    return Lumped(mass, centre, inertia, shape)


def _path(placement: Placement, points: Sequence[Point], name: str) -> Array:
    path = np.array([placement.stretched(p) for p in points])
    if float(np.linalg.norm(np.diff(path, axis=0), axis=1).min()) < 1e-6:
        raise AssemblyError(f"{name}: two of its points are the same, it has no length")
    return path


def _swept(part: rig_parts.Pipe | rig_parts.Tube, placement: Placement, name: str) -> Lumped:
    if isinstance(part.spec, str):
        data = pipe(part.spec)
        outer, inner, of = data.outside / 2, data.outside / 2 - data.wall, data.material
        weighed_inner = data.outside / 2 - data.average_wall
    else:
        outer, inner, of = part.spec.outside / 2, part.spec.outside / 2 - part.spec.wall, part.spec.of
        weighed_inner = inner
    if inner <= 0:
        raise AssemblyError(f"{name}: the wall is thicker than the pipe's radius")
    points = [part.start, part.end] if isinstance(part, rig_parts.Pipe) else list(part.through)
    path = _path(placement, points, name)
    return _segments(part, path, outer, inner, weighed_inner, material(of).density, of, name)


def _segments(
    part: rig_parts.PartBase,
    path: Array,
    outer: float,
    inner: float,
    weighed: float,
    density: float,
    of: str,
    name: str,
) -> Lumped:
    lengths = np.linalg.norm(np.diff(path, axis=0), axis=1)
    total = part.mass or density * np.pi * (outer**2 - weighed**2) * float(lengths.sum())
    lumps = []
    for start, end, length in zip(path[:-1], path[1:], lengths, strict=True):
        mass = total * float(length / lengths.sum())
        axial, across = hollow_cylinder(mass, outer, weighed, float(length))
        lumps.append((mass, (start + end) / 2, straight(mass, start, end, axial, across)))
    mass, centre, inertia = combine(lumps)
    shape = Shape("pipe", path, (2 * outer, 2 * inner), np.zeros(3), of, part.looks or "plain", name, mass)
    return Lumped(mass, centre, inertia, shape)


def _bar(part: rig_parts.Bar, placement: Placement, name: str) -> Lumped:
    path = _path(placement, [part.start, part.end], name)
    length = float(np.linalg.norm(path[1] - path[0]))
    along = (path[1] - path[0]) / length
    width, thick = part.section
    mass = part.mass or material(part.of).density * width * thick * length
    thin = thin_direction(along, part.thin)
    wide = np.cross(thin, along)
    inertia = np.zeros((3, 3))
    for unit, one, two in ((along, width, thick), (wide, length, thick), (thin, length, width)):
        inertia += mass / 12 * (one**2 + two**2) * np.outer(unit, unit)
    shape = Shape("bar", path, (width, thick), thin, part.of, part.looks or "plain", name, mass)
    return Lumped(mass, path.mean(axis=0), inertia, shape)


def _ball(part: rig_parts.Ball, placement: Placement, name: str) -> Lumped:
    outer = part.diameter / 2
    inner = outer - part.wall if part.wall is not None else 0.0
    if inner < 0:
        raise AssemblyError(f"{name}: the wall is thicker than the ball's radius")
    volume = 4 / 3 * np.pi * (outer**3 - inner**3)
    mass = part.mass or material(part.of or "").density * volume
    if part.of is None:
        moment = 2 / 3 * mass * outer**2
    else:
        moment = 2 / 5 * mass * (outer**5 - inner**5) / (outer**3 - inner**3)
    centre = placement.stretched(part.at)
    return _at(part, mass, centre, moment * np.eye(3), (part.diameter,), part.of or "", name)
