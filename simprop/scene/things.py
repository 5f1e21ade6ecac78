"""What is drawn of a prop: bodies, springs and the like, what bends, strips and cords, and how each moves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface, join, unit
from simprop.geometry.turning import rotate
from simprop.picture.export.gltf import quaternions
from simprop.picture.render.bent import Skin, finely, skin
from simprop.picture.render.lines import FRAMES
from simprop.picture.render.motion import Poses, between
from simprop.picture.render.strips import Drape, drapes, frames_now, placed
from simprop.scene.types import Colour, Line, Motion, Skinned, Solid

Indices = NDArray[np.signedinteger[Any]]
MOST_SHARE = 0.125
"""Largest share of a frame that stands off its piece: that half-way to the next one."""
CORD = (86, 66, 46)
"""Colour of cords (by eye)."""


def motion_of(poses: Poses, frame: int) -> Motion:
    """How one frame of the poses moves; one row where it stands still.

    Args:
        poses: of bodies, lines and strips.
        frame: by index.
    """
    turn, place = poses.turn[:, frame], poses.shift[:, frame]
    size = np.linalg.norm(turn, axis=1)
    axes = quaternions(turn / size[:, None])[:, [3, 0, 1, 2]]
    stretch = None if np.allclose(size, 1.0, atol=1e-9) else size
    if np.ptp(place, axis=0).max() < 1e-9 and np.ptp(axes, axis=0).max() < 1e-9 and stretch is None:
        place, axes = place[:1], axes[:1]
    return Motion(place, axes, stretch)


def solids(
    assembly: Assembly, held: Mapping[int, list[Surface]], lines: Sequence[list[Surface]], poses: Poses
) -> Iterator[Solid]:
    """Bodies with their hardware, and springs, straight drives and pulls.

    Args:
        assembly: the prop.
        held: what holds it together, by body (`simprop.picture.render.fittings.hardware`).
        lines: what is drawn of each frame of its lines (`simprop.picture.render.lines.line_surfaces`).
        poses: of its frames.
    """
    for i, body in enumerate(assembly.bodies):
        own = [s for shape, bends in finely(assembly, i) if not bends for s in shape.surfaces()]
        own += held.get(i, [])
        if own:
            yield Solid(f"prop/{node(body.name)}", tuple(by_finish(own)), motion_of(poses, i))
    names, first = assembly.rig.lines, len(assembly.bodies)
    for k, own in enumerate(lines[: FRAMES * len(names)]):
        if own:
            name = f"prop/{node(names[k // FRAMES][0])}/{('length', 'start', 'end')[k % FRAMES]}"
            yield Solid(name, tuple(by_finish(own)), motion_of(poses, first + k))


def node(name: str) -> str:
    """A name as that of a node of the scene, in which / would begin another.

    Example:
        >>> node("left/arm")
        'left arm'
    """
    return name.replace("/", " ")


def by_finish(surfaces: Iterable[Surface]) -> list[Surface]:
    """Surfaces of one look joined to one."""
    found: dict[object, list[Surface]] = {}
    for s in surfaces:
        found.setdefault((s.finish, s.closed, s.shades is None), []).append(s)
    return [join(own) for own in found.values()]


def skins(assembly: Assembly, poses: Poses, first: int) -> Iterator[Skinned]:
    """What bends: members in pieces, and each strip of cloth, straw or yarn.

    Args:
        assembly: the prop.
        poses: of its frames.
        first: frame of its first strip in `poses`.
    """
    yield from _members(assembly, poses)
    if not assembly.rig.strips:
        return
    start = frames_now(assembly)
    for drape in drapes(assembly):
        surface = placed(drape, start)
        for k, own in enumerate(_apart(drape)):
            yield _strip(f"strips/{node(drape.name)}/{k + 1}", drape, surface, own, (start, poses, first))


def _members(assembly: Assembly, poses: Poses) -> Iterator[Skinned]:
    for member in assembly.members:
        place = {piece: k for k, piece in enumerate(member.bodies)}
        coms = np.array([assembly.bodies[i].com for i in member.bodies])
        still = np.tile([1.0, 0.0, 0.0, 0.0], (len(coms), 1))
        moves = tuple(motion_of(poses, i) for i in member.bodies)
        drawn = [
            (i, surface)
            for i in member.bodies
            for shape, bends in finely(assembly, i)
            if bends
            for surface in shape.surfaces()
        ]
        for k, finish in enumerate(dict.fromkeys(s.finish for _, s in drawn)):
            own = [(i, s) for i, s in drawn if s.finish == finish]
            held = [skin(assembly, i, s.vertices) for i, s in own]
            whole = join([s for _, s in own])
            shift, which, share = _bend(coms, place, own, held)
            vertices = np.concatenate([s.vertices + coms[place[i]] for i, s in own])
            name = f"prop/{node(member.whole.name)}/bends" + (f" {k + 1}" if k else "")
            yield Skinned(
                name,
                vertices,
                whole.faces,
                finish.colour,
                which,
                share,
                Motion(*(np.concatenate([v, v[[p for p, _ in shift]]]) for v in (coms, still))),
                (*moves, *(replace(moves[p], place=moved(moves[p], way)) for p, way in shift)),
            )


def _bend(
    coms: Array, place: dict[int, int], own: list[tuple[int, Surface]], held: list[Skin]
) -> tuple[list[tuple[int, Array]], Indices, Array]:
    """How vertices follow their piece and the next one along the cubic through both, as a skin can.

    A skin knows one place of a vertex for all frames that it follows; the cubic counts it from another place in each.
    The difference goes along the piece, and is a share of a further frame that stands off the piece by so much.

    Args:
        coms: of the pieces, (b, 3) m.
        place: number of a piece by its body.
        own: surfaces, each with its body.
        held: how their vertices are held.

    Returns:
        Further frames, each by its piece and how far it stands off that, (3,) m; and the frames that each vertex
        follows with its shares, (v, 4) each.
    """
    first = np.concatenate([np.full(len(h.share), place[i]) for (i, _), h in zip(own, held, strict=True)])
    other = np.concatenate(
        [[place.get(int(j), place[i]) for j in h.other] for (i, _), h in zip(own, held, strict=True)]
    )
    share = np.concatenate([h.share for h in held])
    drawn = np.concatenate([s.vertices for _, s in own])
    near = np.concatenate([h.place for h in held]) - drawn
    far = np.concatenate([h.place + h.offset for h in held]) - drawn - coms[first] + coms[other]
    ways = np.concatenate([(1.0 - share)[:, None] * near, share[:, None] * far])
    size = np.linalg.norm(ways, axis=1)
    live = size > 1e-9
    piece = np.concatenate([first, other])
    keys = np.column_stack([piece, np.round(ways / np.where(live, size, 1.0)[:, None], 2) + 0.0])
    alike, number = np.unique(keys[live], axis=0, return_inverse=True)
    mean, most = np.zeros((len(alike), 3)), np.zeros(len(alike))
    np.add.at(mean, number, ways[live])
    np.maximum.at(most, number, size[live])
    off = unit(mean) * (most / MOST_SHARE)[:, None]
    part, frame = np.zeros(len(size)), piece.copy()
    part[live] = MOST_SHARE * size[live] / most[number]
    frame[live] = len(coms) + number
    half = len(share)
    which = np.stack([first, frame[:half], other, frame[half:]], axis=1)
    shares = np.stack([1.0 - share - part[:half], part[:half], share - part[half:], part[half:]], axis=1)
    return [(int(k[0]), way) for k, way in zip(alike, off, strict=True)], which, shares


def _apart(drape: Drape) -> list[Indices]:
    """Vertices of each strip of a row: those that frames have in common."""
    frames = np.stack([drape.owner, drape.skin.other.astype(int)], axis=1)
    low, high = frames.min(), frames.max()
    joined = np.zeros(high - low + 1, dtype=bool)  # whether a frame goes with the one before it
    for a, b in np.unique(np.sort(frames, axis=1), axis=0):
        if b > a:
            joined[a - low + 1 : b - low + 1] = True
    strip = np.cumsum(~joined)[drape.owner - low]
    return [np.flatnonzero(strip == k) for k in np.unique(strip)]


def _strip(
    name: str, drape: Drape, surface: Surface, own: Indices, frames: tuple[Array, Poses, int]
) -> Skinned:
    start, poses, first = frames
    both = np.stack([drape.owner[own], drape.skin.other[own].astype(int)], axis=1)
    used = np.unique(both)
    number = np.zeros(len(surface.vertices), dtype=np.int64)
    number[own] = np.arange(len(own))
    faces = surface.faces[np.isin(surface.faces[:, 0], own)]
    shades = np.ones(3) if surface.shades is None else surface.shades[own].mean(axis=0)
    red, green, blue = (float(v) for v in np.clip(np.array(surface.finish.colour) * shades, 0.0, 1.0))
    share = drape.skin.share[own]
    rest = Motion(start[used, :, 3], quaternions(start[used, :, :3])[:, [3, 0, 1, 2]])
    return Skinned(
        name,
        surface.vertices[own],
        number[faces],
        (red, green, blue),
        np.searchsorted(used, both),
        np.stack([1.0 - share, share], axis=1),
        rest,
        tuple(motion_of(poses, first + int(k)) for k in used),
    )


def moved(motion: Motion, point: Array) -> Array:
    """A point of something that moves, given in its own axes, (3,) m, in the world at its frames, (n, 3) m.

    Example:
        >>> still = Motion(np.zeros((1, 3)), np.array([[1.0, 0, 0, 0]]))
        >>> moved(still, np.array([0.0, 0, 2])).tolist()
        [[0.0, 0.0, 2.0]]
    """
    size = 1.0 if motion.size is None else motion.size
    return np.asarray(
        motion.place + rotate(motion.turn[:, [1, 2, 3, 0]], np.broadcast_to(point * size, motion.place.shape))
    )


def seen(colour: tuple[float, ...]) -> Colour:
    """A linear colour as sRGB, 0 to 255 (IEC 61966-2-1).

    Example:
        >>> seen((1.0, 0.0, 0.21404114))
        (255, 0, 127)
    """
    c = np.clip(np.array(colour[:3], dtype=float), 0.0, 1.0)
    curved = np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** (1 / 2.4) - 0.055)
    red, green, blue = (int(v) for v in np.round(255 * curved - 1e-3))
    return (red, green, blue)


def cords(assembly: Assembly, track: Trajectory, at: Array) -> Iterator[Line]:
    """Each cord along its whole way.

    Args:
        assembly: the prop.
        track: with the pieces of its cords behind its lines.
        at: instants of the frames, (n,) s.
    """
    from simprop.picture.render.cords import cord_pieces

    pieces, first = [name for name, _ in cord_pieces(assembly)], len(assembly.rig.lines)
    for name in dict.fromkeys(pieces):
        own = [first + k for k, of in enumerate(pieces) if of == name]
        ends = [between(track.time, values[:, own], at) for values in (track.line_start, track.line_end)]
        yield Line(f"cords/{node(name)}", np.stack(ends, axis=2), CORD, 3.0)
