"""Strips as they are drawn: smooth ribbons with folds and ragged edges, or strands, over the points of their chains.

Each strip has a frame at its root, at each of its points and at its tip (along the strip, across, square to both); what
is drawn lies between two of them, as the skin of a member that bends does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.outside import Outside, OutsideData, StripData, along, outside
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.finish import PLAIN, WEAVE, Finish, linear
from simprop.geometry.surface import Faces, Surface, join, unit
from simprop.picture.render.bent import Skin

EVERY = 0.004
"""Time between the rows that are kept to draw strips from, s."""
ACROSS, FINE = 8, 3
"""Lengths into which the width of a ribbon and each link are cut."""
FOLD = 0.09
"""Depth of folds at the lower edge, as a share of the width (by eye)."""
HALM = 0.0022
"""Largest half thickness of a strand, m."""


@dataclass(frozen=True)
class Draped(Trajectory):
    """A track to be drawn, with the frames of its strips.

    Attributes:
        frame_time: instants of their rows, (m,) s.
        frames: places, and matrices whose columns are the axes, (m, F, 3, 4).
    """

    frame_time: Any = None
    frames: Any = None


@dataclass(frozen=True)
class Drape:
    """What is drawn of a row of strips.

    Attributes:
        name: of the row.
        surface: vertices are those of `skin`.
        owner: frame of each vertex, counted from the first strip's, (v,).
        skin: how it follows another frame too.
    """

    name: str
    surface: Surface
    owner: Array
    skin: Skin


def _silent(_: str) -> None:
    """What was assumed is told where the laws are made."""


def with_strips(assembly: Assembly, track: Trajectory) -> Trajectory:
    """A track to be drawn: with the frames of its strips, where it has some."""
    if not assembly.rig.strips or isinstance(track, Draped):
        return track
    data = outside(assembly, _silent)
    every = max(1, round(EVERY / track.step)) if track.step > 0 else 1
    times, rows = [], []
    for n, laid in enumerate(along(assembly, data, track)):
        if n % every == 0 or n == len(track.time) - 1:
            times.append(float(track.time[n]))
            rows.append(frames_of(data, laid))
    return Draped(**vars(track), frame_time=np.array(times), frames=np.array(rows))


def frames_now(assembly: Assembly) -> Array:
    """The same in the start pose, (F, 3, 4)."""
    data = outside(assembly, _silent)
    return frames_of(data, Outside(assembly, data))


def frames_of(data: OutsideData, laid: Outside) -> Array:
    """Frames of all strips where they are, (F, 3, 4)."""
    found, begin = [np.zeros((0, 3, 4))], 0
    for s, strip in enumerate(data.strips):
        n = strip.points
        found.append(_frames(strip, s, laid, laid.places[begin : begin + n]))
        begin += n
    return np.concatenate(found)


def _frames(strip: StripData, s: int, laid: Outside, points: Array) -> Array:
    place, _, way, width = laid.ends
    last = place[s, 1] if len(strip.holds) == 2 else points[-1] + 0.5 * (points[-1] - points[-2])
    nodes = np.concatenate([place[s, :1], points, last[None]])
    line = np.empty_like(nodes)
    line[0], line[-1] = nodes[1] - nodes[0], nodes[-1] - nodes[-2]
    line[1:-1] = unit(nodes[1:-1] - nodes[:-2]) + unit(nodes[2:] - nodes[1:-1])
    if strip.numbers[4] > 0.0 and strip.kind.toward is not None and len(strip.holds) == 1:
        line[0] = way[s]
    line = unit(line)
    across, before = np.empty_like(nodes), width[s]
    for i, t in enumerate(line):  # its own width, or where it runs along that, that of the point before
        flat = width[s] - t * float(width[s] @ t)
        near = before - t * float(before @ t)
        share = min(1.0, float(np.linalg.norm(flat)) / 0.3)
        before = unit(share * flat + (1.0 - share) * near)
        across[i] = before
    return np.stack([line, across, np.cross(line, across), nodes], axis=-1)


def drapes(assembly: Assembly) -> list[Drape]:
    """What is drawn of each row of strips."""
    found: dict[str, list[Drape]] = {}
    begin = 0
    for k, strip in enumerate(outside(assembly, _silent).strips):
        found.setdefault(strip.name, []).extend(_drawn(strip, k, begin))
        begin += strip.points + 2
    return [_joined(own) for own in found.values()]


def _joined(parts: list[Drape]) -> Drape:
    skins = [p.skin for p in parts]
    skin = Skin(
        *(np.concatenate([getattr(s, f) for s in skins]) for f in ("other", "share", "place", "offset"))
    )
    return Drape(
        parts[0].name, join([p.surface for p in parts]), np.concatenate([p.owner for p in parts]), skin
    )


def _drawn(strip: StripData, number: int, begin: int) -> Iterator[Drape]:
    chance = np.random.default_rng([number, strip.points])
    strands, ragged = strip.kind.drawn
    free = 1.0 if len(strip.holds) == 1 else 0.0
    tint = 1.0 + 0.07 * chance.uniform(-1.0, 1.0)
    if strands:
        for _ in range(strands):
            yield _strand(strip, chance, begin, ragged * free, tint)
    else:
        yield _ribbon(strip, chance, begin, ragged * free, tint)


def _finish(strip: StripData, pattern: int) -> Finish:
    return Finish(linear(strip.kind.stuff.colour), 0.95, 0.0, pattern)


def _ribbon(strip: StripData, chance: np.random.Generator, begin: int, ragged: float, tint: float) -> Drape:
    """A ribbon with soft folds that open towards its lower end, and an uneven lower edge."""
    wide, rows = 1.12 * strip.kind.wide, FINE * (strip.points + 1) + 1
    u = np.linspace(-0.5, 0.5, ACROSS + 1)
    less = ragged * wide * np.abs(chance.uniform(0.0, 1.0, len(u)))
    phase, waves = chance.uniform(0.0, 2 * np.pi), chance.uniform(1.1, 1.7)
    down = np.linspace(0.0, 1.0, rows)[:, None]
    s = down * (strip.kind.length - less)
    wave = 2 * np.pi * waves * u + phase
    deep = FOLD * wide * (0.25 + 0.75 * down)
    local = np.stack([0.0 * s, wide * u * np.ones_like(s), deep * np.sin(wave)], axis=-1)
    slope = deep * np.cos(wave) * 2 * np.pi * waves / wide
    normal = unit(np.stack([0.0 * s, -slope, np.ones_like(slope)], axis=-1))
    shade = tint * (1.0 + 0.10 * np.sin(wave) * np.ones_like(s)) * (1.0 - 0.12 * down)
    i, j = np.meshgrid(np.arange(rows - 1), np.arange(ACROSS), indexing="ij")
    a = (i * (ACROSS + 1) + j).ravel()
    b, c, d = a + 1, a + ACROSS + 1, a + ACROSS + 2
    faces = np.concatenate([np.stack([a, c, b], axis=1), np.stack([b, c, d], axis=1)])
    parts = (s.ravel(), local.reshape(-1, 3), normal.reshape(-1, 3), shade.ravel())
    return _drape(strip, begin, parts, faces, _finish(strip, WEAVE), closed=False)


def _strand(strip: StripData, chance: np.random.Generator, begin: int, ragged: float, tint: float) -> Drape:
    """A round strand, thinner towards its end."""
    wide, rows, corners = strip.kind.wide, FINE * (strip.points + 1) + 1, 4
    thick = min(HALM, 0.6 * wide / max(strip.kind.drawn[0], 1))
    length = strip.kind.length * (1.0 - 0.35 * ragged * chance.uniform(0.0, 1.0))
    spread = chance.uniform(-0.55, 0.55), chance.uniform(-0.16, 0.16)
    bow, sway = chance.uniform(-0.12, 0.12, 2), chance.uniform(0.6, 1.4)
    down = np.linspace(0.0, 1.0, rows)[:, None]
    angle = 2 * np.pi * np.arange(corners)[None] / corners
    size = thick * (1.0 - 0.55 * down)
    side = wide * (spread[0] * (1.0 + 0.25 * down) + bow[0] * np.sin(np.pi * sway * down))
    away = wide * (spread[1] * (1.0 + 0.6 * down) + bow[1] * np.sin(np.pi * sway * down))
    local = np.stack([0.0 * angle * size, side + size * np.cos(angle), away + size * np.sin(angle)], axis=-1)
    normal = np.stack(
        [0.0 * angle * size, np.cos(angle) * np.ones_like(size), np.sin(angle) * np.ones_like(size)], -1
    )
    shade = tint * (1.0 + 0.25 * chance.uniform(-1.0, 1.0)) * (1.0 - 0.1 * down) * np.ones_like(angle)
    i, j = np.meshgrid(np.arange(rows - 1), np.arange(corners), indexing="ij")
    a, b = (i * corners + j).ravel(), (i * corners + (j + 1) % corners).ravel()
    faces = np.concatenate(
        [np.stack([a, b, a + corners], axis=1), np.stack([b, b + corners, a + corners], axis=1)]
    )
    s = (down * length * np.ones_like(angle)).ravel()
    parts = (s, local.reshape(-1, 3), normal.reshape(-1, 3), shade.ravel())
    return _drape(strip, begin, parts, faces, _finish(strip, PLAIN), closed=False)


def _drape(
    strip: StripData, begin: int, parts: tuple[Array, ...], faces: Faces, finish: Finish, *, closed: bool
) -> Drape:
    """What lies at some lengths along a strip, as the skin of its frames: Hermite's cubic between each two of them."""
    s, local, normals, shade = parts
    link = strip.numbers[1]
    nodes = np.concatenate([[0.0], link * (np.arange(strip.points) + 0.5), [link * strip.points]])
    k = np.clip(np.searchsorted(nodes, s, side="right") - 1, 0, len(nodes) - 2)
    size = nodes[k + 1] - nodes[k]
    t = (s - nodes[k]) / size
    near = t <= 0.5
    u = np.where(near, t, 1.0 - t)
    share = u**2 * (3.0 - 2.0 * u)
    way = np.where(near, 1.0, -1.0) * size
    own, other = local.copy(), local.copy()
    own[:, 0] += way * (u - 2.0 * u**2 + u**3) / (1.0 - share)
    with np.errstate(invalid="ignore", divide="ignore"):
        other[:, 0] += way * np.where(share > 0.0, (u**3 - u**2) / share, 0.0)
    owner = np.where(near, k, k + 1)
    skin = Skin(begin + np.where(near, k + 1, k), share, own, other - own)
    coords = np.stack([s, local[:, 1], local[:, 2]], axis=1)
    shades = np.repeat(shade[:, None], 3, axis=1)
    groups = np.zeros(len(faces), dtype=np.int64)
    surface = Surface(own, normals, coords, faces.astype(np.int64), groups, finish, closed, shades)
    return Drape(strip.name, surface, begin + owner, skin)


def placed(drape: Drape, frames: Array) -> Surface:
    """A drape in the world.

    Args:
        frames: of all strips, (F, 3, 4).
    """
    own, other = frames[drape.owner], frames[drape.skin.other.astype(int)]
    first = np.einsum("vij,vj->vi", own[:, :, :3], drape.skin.place) + own[:, :, 3]
    second = np.einsum("vij,vj->vi", other[:, :, :3], drape.skin.place + drape.skin.offset) + other[:, :, 3]
    share = drape.skin.share[:, None]
    normals = unit(np.einsum("vij,vj->vi", own[:, :, :3], drape.surface.normals))
    s = drape.surface
    return Surface(
        first * (1 - share) + second * share,
        normals,
        s.coords,
        s.faces,
        s.groups,
        s.finish,
        s.closed,
        s.shades,
    )
