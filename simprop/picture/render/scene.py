"""Everything that is drawn, as flat arrays the inner loops read; fixed bodies first so that they are drawn once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.geometry.finish import finish_row, linear
from simprop.geometry.surface import Surface
from simprop.picture.render.bent import Skin, finely, skin
from simprop.picture.render.motion import Poses
from simprop.picture.render.overlay import round_length
from simprop.picture.render.shade import (
    BOUNCE,
    FILL,
    FILL_COLOUR,
    FLOOR,
    GROUND,
    MIDDLE,
    SKY_LOW,
    SKY_TOP,
    SPREAD,
    SUN,
    SUN_COLOUR,
    TEXEL,
)
from simprop.picture.render.strips import Drape

Light = Literal["day", "night"]
SHADOW_TEXELS = 1024


@dataclass(frozen=True)
class Scene:
    """Triangles of all bodies in body frames.

    Attributes:
        vertices, normals, coords, colours: (v, 3) float32.
        owner: body of each vertex, (v,).
        other, share, offset: as in `simprop.picture.render.bent.Skin`: (v,), (v,), (v, 3).
        faces: (f, 3); groups: smooth patch, (f,); one_sided: (f,); finish: roughness, metal, pattern, glow,
            closed, (f, 5); bias: depth factor of the part, (f,).
        moving_vertex, moving_face: first of the moving bodies.
        hulls: for each body the vertices of its convex hull, (h, 3) m in the body frame.
    """

    vertices: Any
    normals: Any
    coords: Any
    colours: Any
    owner: Any
    other: Any
    share: Any
    offset: Any
    faces: Any
    groups: Any
    one_sided: Any
    finish: Any
    bias: Any
    moving_vertex: int
    moving_face: int
    hulls: tuple[Array, ...]


def hull(points: Array) -> Array:
    """The corners of the convex hull of points (n, 3); the points themselves where they lie in a plane."""
    from scipy.spatial import ConvexHull, QhullError

    if len(points) < 5:
        return points
    try:
        return np.asarray(points[ConvexHull(points).vertices])
    except QhullError:
        return points


def build_scene(
    assembly: Assembly,
    extra: Mapping[int, Sequence[Surface]] | None = None,
    lines: Sequence[Sequence[Surface]] = (),
    cloth: Sequence[Drape] = (),
) -> Scene:
    """All parts of an assembly as one scene.

    Args:
        extra: further surfaces for a body by index (bolts, fittings), in its body frame.
        lines: surfaces of each frame of the lines between points (see `simprop.picture.render.lines`).
        cloth: what is drawn of strips, whose frames come after those of the lines.
    """
    count = len(assembly.bodies)
    fixed = [b.fixed for b in assembly.bodies] + [False] * (len(lines) + 1)
    order = sorted(range(len(assembly.bodies)), key=lambda i: (not assembly.bodies[i].fixed, i))
    pieces: list[tuple[int, Surface]] = []
    bending: set[int] = set()
    for index in order:
        for shape, bends in finely(assembly, index):
            surfaces = shape.surfaces()
            if bends:
                bending |= set(range(len(pieces), len(pieces) + len(surfaces)))
            pieces += [(index, s) for s in surfaces]
        pieces += [(index, s) for s in (extra or {}).get(index, [])]
    pieces += [(count + k, s) for k, own in enumerate(lines) for s in own]
    first = count + len(lines)
    pieces += [(first, d.surface) for d in cloth]
    draped = dict(enumerate(cloth, len(pieces) - len(cloth)))
    offset, group = 0, 0
    columns: dict[str, list[Any]] = {k: [] for k in "vncaofgsmbtwd"}
    moving_vertex, moving_face, face_count = -1, -1, 0
    for rank, (index, s) in enumerate(pieces):
        if moving_vertex < 0 and not fixed[index]:
            moving_vertex, moving_face = offset, face_count
        columns["n"].append(s.normals)
        columns["c"].append(s.coords)
        tint = np.array(s.finish.colour) * (1.0 if s.shades is None else s.shades)
        columns["a"].append(np.clip(np.broadcast_to(tint, s.vertices.shape), 0.0, 1.0))
        held = np.zeros(len(s.vertices))
        between = Skin(held + index, held, s.vertices, s.vertices * 0.0)
        owner: Array = held + index
        if rank in bending:
            between = skin(assembly, index, s.vertices)
        elif rank in draped:
            owner = first + draped[rank].owner
            between = replace(draped[rank].skin, other=first + draped[rank].skin.other)
        columns["o"].append(owner)
        columns["v"].append(between.place)
        columns["t"].append(between.other)
        columns["w"].append(between.share)
        columns["d"].append(between.offset)
        columns["f"].append(s.faces + offset)
        columns["g"].append(s.groups + group)
        columns["s"].append(np.full(len(s.faces), s.closed))
        columns["m"].append(np.tile(np.append(finish_row(s.finish), float(s.closed)), (len(s.faces), 1)))
        columns["b"].append(np.full(len(s.faces), 1.0 + 4e-6 * (rank % 97)))
        offset += len(s.vertices)
        face_count += len(s.faces)
        group += int(s.groups.max(initial=-1)) + 1
    if moving_vertex < 0:
        moving_vertex, moving_face = offset, face_count

    def stack(key: str, width: int, kind: Any) -> Any:
        shape = (0, width) if width > 1 else (0,)
        rows = columns[key]
        return np.ascontiguousarray(np.concatenate(rows) if rows else np.zeros(shape), dtype=kind)

    return Scene(
        stack("v", 3, np.float32),
        stack("n", 3, np.float32),
        stack("c", 3, np.float32),
        stack("a", 3, np.float32),
        stack("o", 1, np.int32),
        stack("t", 1, np.int32),
        stack("w", 1, np.float32),
        stack("d", 3, np.float32),
        stack("f", 3, np.int32),
        stack("g", 1, np.int32),
        stack("s", 1, np.bool_),
        stack("m", 5, np.float32),
        stack("b", 1, np.float32),
        moving_vertex,
        moving_face,
        (*_hulls(pieces, first), *_corners(cloth)),
    )


def _hulls(pieces: Sequence[tuple[int, Surface]], count: int) -> Iterator[Array]:
    """For each frame the vertices of the convex hull of what it carries, (h, 3) m."""
    for index in range(count):
        own = [s.vertices for i, s in pieces if i == index]
        yield hull(np.concatenate(own)) if own else np.zeros((0, 3))


def _corners(cloth: Sequence[Drape]) -> list[Array]:
    """For each frame of strips the corners of the box about what it carries, (8, 3) m."""
    if not cloth:
        return []
    owner = np.concatenate([d.owner for d in cloth])
    place = np.concatenate([d.skin.place for d in cloth])
    found = []
    for k in range(int(owner.max()) + 1):
        own = place[owner == k]
        ends = np.array([own.min(axis=0), own.max(axis=0)]) if len(own) else np.zeros((2, 3))
        found.append(np.array(np.meshgrid(*ends.T)).reshape(3, -1).T)
    return found


def reach(scene: Scene, poses: Poses, which: Sequence[int] | None = None) -> Array:
    """Outermost points of bodies over all instants, (k, 3) m.

    Long runs are taken in stretches of which only the hull is kept, which frames alike.

    Args:
        which: bodies by index; None: all.
    """
    points = [np.zeros((0, 3))]
    for b, corners in enumerate(scene.hulls):
        if not len(corners) or (which is not None and b not in which):
            continue
        turn, shift = poses.turn[:, b], poses.shift[:, b]
        if (turn == turn[0]).all() and (shift == shift[0]).all():
            turn, shift = turn[:1], shift[:1]
        stretch = max(1, 60_000 // len(corners))
        for first in range(0, len(turn), stretch):
            rows = slice(first, first + stretch)
            moved = np.einsum("nij,hj->nhi", turn[rows], corners) + shift[rows, None]
            outer = moved.reshape(-1, 3)
            points.append(outer if len(turn) <= stretch else hull(outer))
    return np.concatenate(points)


@dataclass(frozen=True)
class Lighting:
    """Light and ground for a whole run.

    Attributes:
        table: rows as `simprop.picture.render.shade` names them, (13, 3) float32; the row of the eye is set per frame.
        sun_axes: across, along, towards the light, (3, 3) float32.
        sun_low: least across and along, (2,) float32, m.
    """

    table: Any
    sun_axes: Any
    sun_low: Any


# name -> (sun colour, sky top, sky at the horizon, bounce, ground, fill colour, line strength, glow)
_MOODS: dict[str, tuple[Any, ...]] = {
    "day": (
        np.array([1.0, 0.93, 0.80]) * 0.98,
        np.array(linear("#5a90bd")),
        np.array(linear("#e3dcc8")),
        np.array([0.155, 0.15, 0.135]),
        np.array(linear("#a9a88f")),
        np.array([0.13, 0.16, 0.21]),
        0.55,
        0.35,
    ),
    "night": (
        np.array([0.42, 0.52, 0.74]) * 0.85,
        np.array(linear("#0e1826")),
        np.array(linear("#2f3d55")),
        np.array([0.05, 0.054, 0.072]),
        np.array(linear("#5d6660")),
        np.array([0.42, 0.24, 0.10]) * 0.75,
        0.5,
        2.2,
    ),
}


def lighting(points: Array, axes: Array, light: Light = "day") -> Lighting:
    """Sun, sky and ground for what `points` (k, 3) m reach, the sun over the left shoulder of a viewer with `axes`."""
    sun_colour, top, low_sky, bounce, ground, fill, lines, glow = _MOODS[light]
    right = axes[0]
    level = np.cross([0.0, 0.0, 1.0], right)  # away from the viewer, level
    sun = -0.55 * right - 0.62 * level + np.array([0.0, 0.0, 1.05])
    sun /= np.linalg.norm(sun)
    across = np.cross([0.0, 0.0, 1.0], sun)
    across /= np.linalg.norm(across)
    sun_axes = np.array([across, np.cross(sun, across), sun])
    low, high = points.min(axis=0), points.max(axis=0)
    floor = min(0.0, float(low[2]) - 1e-4)
    local = points @ sun_axes.T
    near, far = local[:, :2].min(axis=0) - 0.03, local[:, :2].max(axis=0) + 0.03
    texels = (SHADOW_TEXELS - 4) / float((far - near).max())
    size = float(np.linalg.norm(high - low))
    middle = (low + high) / 2
    side = 0.8 * right - 0.35 * level + np.array([0.0, 0.0, 0.25])
    table = np.zeros((13, 3), dtype=np.float32)
    table[SUN] = (0.0, 0.0, sun[2])
    table[SUN_COLOUR], table[SKY_TOP], table[SKY_LOW] = sun_colour, top, low_sky
    table[BOUNCE], table[GROUND] = bounce, ground
    table[FILL], table[FILL_COLOUR] = side / np.linalg.norm(side), fill
    table[MIDDLE] = middle
    table[SPREAD] = (0.75 * size, 3.2 * size, lines)
    table[FLOOR] = (floor, round_length(0.12 * size), glow)
    table[TEXEL] = (texels, min(max(0.028 * texels, 4.0), 30.0), 1.5)
    return Lighting(table, sun_axes.astype(np.float32), near.astype(np.float32))
