"""How wheels, racks, chains and belts look, in the world's axes of the start pose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish, linear
from simprop.geometry.freedom import square
from simprop.geometry.prism import prism
from simprop.geometry.surface import Surface, triangles

BRASS = Finish(linear("#b08d3c"), 0.35, 1.0)
STEEL = Finish(linear("#8d9296"), 0.4, 1.0)
RUBBER = Finish(linear("#23242a"), 0.0, 1.0)
WIDTH = 0.008
"""Width of what is toothed where the rig states none, m; for the picture alone (assumed)."""
TIP, ROOT = 1.0, 1.25
"""Height of a tooth over and under the pitch line, in modules (ISO 53)."""


@dataclass(frozen=True)
class Drawn:
    """What is seen of a coupling: with the body of its first joint, of its second, and with what carries both."""

    first: list[Surface] = field(default_factory=list)
    second: list[Surface] = field(default_factory=list)
    carrier: list[Surface] = field(default_factory=list)


def _teeth(radius: float, count: int, inside: bool) -> Array:
    """Outline of a toothed wheel, counter-clockwise, with a tooth on the x axis; of a ring a gap, (4 count, 2) m."""
    module = 2 * radius / count
    high, low = (ROOT, TIP) if inside else (TIP, ROOT)
    step = 2 * np.pi / count
    shares = np.array([-0.36, -0.13, 0.13, 0.36])
    radii = radius + module * np.array([-low, high, high, -low])
    angles = (np.arange(count)[:, None] + shares) * step
    around = np.broadcast_to(radii, angles.shape)
    return np.stack([(around * np.cos(angles)).ravel(), (around * np.sin(angles)).ravel()], axis=1)


def _circle(radius: float, count: int = 48) -> Array:
    angle = np.arange(count) * 2 * np.pi / count
    return radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def wheel(
    centre: Array, axis: Array, toward: Array, radius: float, teeth: int, *, shift: float = 0.0
) -> Surface:
    """A toothed wheel about an axis.

    Args:
        centre: (3,) m.
        axis: unit direction, (3,).
        toward: unit direction square to it in which a tooth points, (3,).
        radius: of its pitch circle, m.
        teeth: how many.
        shift: by which it is turned, in teeth.

    Example:
        >>> made = wheel(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), 0.02, 20)
        >>> round(float(np.linalg.norm(made.vertices[:, :2], axis=1).max()), 4)  # 20 mm and a module of 2 mm
        0.022
    """
    outline = _turned(_teeth(radius, teeth, False), shift * 2 * np.pi / teeth)
    holes = []
    if radius > 0.018:
        spokes = _circle(0.16 * radius, 16)[::-1]
        holes = [
            spokes + 0.58 * radius * np.array([np.cos(a), np.sin(a)]) for a in np.arange(5) * 2 * np.pi / 5
        ]
    frame = np.array([toward, np.cross(axis, toward), axis])
    return prism([outline, *holes], centre - 0.5 * WIDTH * axis, frame, WIDTH, BRASS)


def roller(centre: Array, axis: Array, radius: float, finish: Finish) -> Surface:
    """A bare wheel about an axis, with a hole."""
    toward = square(axis)[0]
    frame = np.array([toward, np.cross(axis, toward), axis])
    rings = [_circle(radius, 64), _circle(min(0.003, 0.4 * radius), 16)[::-1]]
    return prism(rings, centre - 0.5 * WIDTH * axis, frame, WIDTH, finish)


def ring(centre: Array, axis: Array, toward: Array, radius: float, teeth: int) -> Surface:
    """A ring whose teeth point inwards; arguments as for `wheel`."""
    module = 2 * radius / teeth
    frame = np.array([toward, np.cross(axis, toward), axis])
    rings = [_circle(radius + 4 * module, 96), _teeth(radius, teeth, True)[::-1]]
    return prism(rings, centre - 0.5 * WIDTH * axis, frame, WIDTH, STEEL)


def rack(point: Array, along: Array, out: Array, module: float, teeth: int) -> Surface:
    """A straight row of teeth whose pitch line goes through a point, backed away from the pinion by `out`."""
    pitch, half = np.pi * module, teeth // 2
    row = []
    for k in range(-half, half):
        for share, high in ((-0.11, -TIP), (0.11, -TIP), (0.36, ROOT), (0.64, ROOT)):
            row.append([(k + 0.5 + share) * pitch, high * module])
    low = 3.5 * module
    outline = np.array([[row[-1][0], low], [row[0][0], low], *row])
    width = np.cross(along, out)
    frame = np.array([along, out, width])
    return prism([outline], point - 0.5 * WIDTH * width, frame, WIDTH, STEEL)


def spindle(
    point: Array, axis: Array, ends: Sequence[float], diameter: float, lead: float, starts: int
) -> Surface:
    """A threaded rod, its thread drawn as a helix of its lead.

    Args:
        point: on its axis, (3,) m.
        axis: unit direction, (3,).
        ends: of it from the point along the axis, m.
        diameter: outside, m.
        lead: m.
        starts: threads side by side.
    """
    pitch = lead / starts
    deep = min(0.5 * pitch, 0.35 * diameter / 2)
    around, low = 24, float(ends[0])
    rows = max(2, min(900, int(np.ceil(6 * (ends[1] - low) / pitch))))
    along = np.linspace(low, float(ends[1]), rows + 1)
    angle = np.arange(around) * 2 * np.pi / around
    phase = (along[:, None] / lead * starts - starts * angle / (2 * np.pi)) % 1.0
    radius = diameter / 2 - deep * np.clip(4 * np.abs(phase - 0.5) - 0.5, 0.0, 1.0)
    one, two = square(axis)
    out = np.cos(angle)[:, None] * one + np.sin(angle)[:, None] * two
    side = point + along[:, None, None] * axis + radius[..., None] * out
    vertices = np.concatenate([side.reshape(-1, 3), point + along[[0, -1], None] * axis])
    faces = []
    for row in range(rows):
        a, b = row * around, (row + 1) * around
        for k in range(around):
            m = (k + 1) % around
            faces += [[a + k, a + m, b + k], [a + m, b + m, b + k]]
    last = rows * around
    for k in range(around):
        m = (k + 1) % around
        faces += [[len(vertices) - 2, m, k], [len(vertices) - 1, last + k, last + m]]
    return triangles(vertices, np.array(faces), STEEL)


def nut(centre: Array, axis: Array, diameter: float) -> Surface:
    """A round nut with a hole, 1.6 diameters long."""
    toward = square(axis)[0]
    frame = np.array([toward, np.cross(axis, toward), axis])
    long = 1.6 * diameter
    return prism(
        [_circle(1.1 * diameter), _circle(0.52 * diameter)[::-1]],
        centre - 0.5 * long * axis,
        frame,
        long,
        BRASS,
    )


def band(
    centres: tuple[Array, Array], radii: tuple[float, float], axis: Array, thick: float, finish: Finish
) -> Surface:
    """What runs round two wheels, of some thickness about their pitch circles."""
    toward = centres[1] - centres[0]
    toward = toward - axis * float(toward @ axis)
    far = float(np.linalg.norm(toward))
    toward = toward / far

    def round_both(more: float) -> Array:
        one, two = radii[0] + more, radii[1] + more
        lean = np.arcsin((two - one) / far)
        back = np.linspace(np.pi / 2 + lean, 3 * np.pi / 2 - lean, 24)
        front = np.linspace(-np.pi / 2 - lean, np.pi / 2 + lean, 24)
        points = [one * np.stack([np.cos(back), np.sin(back)], axis=1)]
        points.append(np.array([far, 0.0]) + two * np.stack([np.cos(front), np.sin(front)], axis=1))
        return np.concatenate(points)

    frame = np.array([toward, np.cross(axis, toward), axis])
    rings = [round_both(0.5 * thick), round_both(-0.5 * thick)[::-1]]
    return prism(rings, centres[0] - 0.6 * WIDTH * axis, frame, 1.2 * WIDTH, finish)


def _turned(outline: Array, angle: float) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(outline @ np.array([[c, s], [-s, c]]))
