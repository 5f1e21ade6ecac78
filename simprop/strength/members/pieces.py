"""The parts of one body as straight pieces and lumps, and the tree in which they hold on to each other.

Bending moments inside a body need to know what hangs on what. Pieces that touch are taken as fastened together; the
pieces form the tree with the smallest gaps. A frame that closes on itself is thereby cut at its loosest place.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import BodyData, Shape
from simprop.geometry.arrays import Array
from simprop.strength.members.reach import segment_gap

FRAME = 0.001
"""Parts closer than this touch, m."""
TOUCH = 0.03
"""Parts drawn further apart than this are noted, m."""


@dataclass(frozen=True)
class Piece:
    """A straight stretch of a part, or a part without length.

    Attributes:
        shape: index of the part in `BodyData.shapes`.
        corner: index of the stretch in a bent tube, else 0.
        start: (3,) m, body frame.
        end: (3,) m; the same as `start` for a lump.
        radius: half of its thickness for finding what touches what, m.
        half: half edges of a block in its own axes, (3,) m; zeros for all else.
        turn: axes of a block as columns, (3, 3).
        mass: kg.
        centre: (3,) m.
        inertia: about its centre, body axes, (3, 3) kg*m^2.
    """

    shape: int
    corner: int
    start: Array
    end: Array
    radius: float
    half: Array
    turn: Array
    mass: float
    centre: Array
    inertia: Array


@dataclass(frozen=True)
class Link:
    """Two pieces that hold on to each other, the place on each, (3,) m, and the gap between them, m."""

    first: int
    second: int
    on_first: Array
    on_second: Array
    gap: float


def pieces(body: BodyData) -> tuple[Piece, ...]:
    """The body's parts as pieces; their mass, centre and inertia add up to the body's.

    Straight stretches have the inertia of a rod of their section; what is left of the body's inertia is shared
    among the lumps by mass.

    Args:
        body: a body of an assembly.
    """
    found: list[Piece] = []
    for i, shape in enumerate(body.shapes):
        found += _of_shape(i, shape)
    lumps = [k for k, p in enumerate(found) if np.array_equal(p.start, p.end)]
    rest = body.inertia - sum((_about_origin(p) for p in found), np.zeros((3, 3)))
    weight = sum(found[k].mass for k in lumps)
    if weight <= 0:
        return tuple(found)
    return tuple(
        replace(p, inertia=rest * (p.mass / weight)) if k in lumps else p for k, p in enumerate(found)
    )


def _about_origin(piece: Piece) -> Array:
    c = piece.centre
    return np.asarray(piece.inertia + piece.mass * (float(c @ c) * np.eye(3) - np.outer(c, c)))


def _of_shape(index: int, shape: Shape) -> list[Piece]:
    none = np.zeros(3)
    if len(shape.path) > 1:
        lengths = np.linalg.norm(np.diff(shape.path, axis=0), axis=1)
        radius = min(shape.size) / 2 if shape.kind == "bar" else shape.size[0] / 2
        result = []
        for k, (start, end, length) in enumerate(zip(shape.path[:-1], shape.path[1:], lengths, strict=True)):
            mass = shape.mass * float(length / lengths.sum())
            inertia = stretch_inertia(shape, mass, start, end)
            result.append(
                Piece(index, k, start, end, radius, none, np.eye(3), mass, (start + end) / 2, inertia)
            )
        return result
    at = shape.path[0]
    half, turn, radius = none, np.eye(3), 0.0
    if shape.kind == "block":
        half, turn = np.asarray(shape.size) / 2, np.eye(3) if shape.turn is None else shape.turn
    elif shape.vertices is not None:
        low, high = shape.vertices.min(axis=0), shape.vertices.max(axis=0)
        half, at = (high - low) / 2, (high + low) / 2
    elif shape.size:
        radius = shape.size[0] / 2
    return [Piece(index, 0, at, at, radius, half, turn, shape.mass, shape.path[0], np.zeros((3, 3)))]


def stretch_inertia(shape: Shape, mass: float, start: Array, end: Array) -> Array:
    """Inertia of a straight stretch about its middle, body axes, (3, 3) kg*m^2.

    Args:
        shape: the part.
        mass: kg.
        start: (3,) m.
        end: (3,) m.

    Source: elementary mechanics; a round tube as m (R^2 + r^2)/2 and m (3 (R^2 + r^2) + L^2)/12, a bar as a box.
    """
    along = end - start
    length = float(np.linalg.norm(along))
    unit = along / length
    if shape.kind == "bar":
        width, thick = shape.size
        wide = np.cross(shape.direction, unit)
        rows = ((unit, width, thick), (wide, length, thick), (shape.direction, length, width))
        return np.asarray(sum(mass / 12 * (a * a + b * b) * np.outer(n, n) for n, a, b in rows))
    inner = shape.size[1] if len(shape.size) > 1 else 0.0
    square = (shape.size[0] ** 2 + inner**2) / 4 if shape.kind == "pipe" else 0.0
    axial, across = mass * square / 2, mass * (3 * square + length**2) / 12
    return np.asarray(across * np.eye(3) + (axial - across) * np.outer(unit, unit))


def links(found: Sequence[Piece], floor: Set[int] = frozenset()) -> tuple[Link, ...]:
    """The tree of the smallest gaps between the pieces (Prim); pieces that stand on the ground each start a tree.

    Args:
        found: pieces of one body.
        floor: indices of pieces that stand on the ground.
    """
    if len(found) < 2:
        return ()
    roots = sorted(floor) or [0]
    best = {
        k: min((_link(found, r, k) for r in roots), key=lambda x: x.gap)
        for k in range(len(found))
        if k not in roots
    }
    result = []
    while best:
        k = min(best, key=lambda j: (best[j].gap, j))
        result.append(best.pop(k))
        for j, link in tuple(best.items()):
            other = _link(found, k, j)
            if other.gap < link.gap - 1e-12:
                best[j] = other
    return tuple(result)


def _link(found: Sequence[Piece], a: int, b: int) -> Link:
    gap, on_a, on_b = nearest_points(found[a], found[b])
    return Link(a, b, on_a, on_b, gap)


def closed_frames(found: Sequence[Piece], tree: Sequence[Link]) -> tuple[Link, ...]:
    """Places where pieces touch besides the tree: a frame that closes on itself there, so the tree is a guess.

    Args:
        found: pieces of one body.
        tree: what `links` gives.

    Three pieces that meet in one place are no frame.
    """
    joined = {frozenset((x.first, x.second)) for x in tree}
    spots = [x.on_first for x in tree]
    result = []
    for a in range(len(found)):
        for b in range(a + 1, len(found)):
            if frozenset((a, b)) in joined:
                continue
            link = _link(found, a, b)
            reach = 0.05 + found[a].radius + found[b].radius
            alone = all(float(np.linalg.norm(link.on_first - s)) > reach for s in spots)
            if link.gap < FRAME and alone:
                result.append(link)
    return tuple(result)


_GRID = 33


def _samples(piece: Piece) -> Array:
    if np.array_equal(piece.start, piece.end):
        return piece.start[None, :]
    share = np.linspace(0.0, 1.0, _GRID)[:, None]
    return np.asarray(piece.start + share * (piece.end - piece.start))


def nearest_points(a: Piece, b: Piece) -> tuple[float, Array, Array]:
    """Gap between two pieces (0 where they touch), and the nearest place on the middle line of each.

    Args:
        a: first piece.
        b: second piece.
    """
    if a.half.any() or b.half.any():
        if not a.half.any():
            gap, on_b, on_a = nearest_points(b, a)
            return gap, on_a, on_b
        points = _samples(b)
        if b.half.any():
            corners = np.array(np.meshgrid(*[[-1.0, 0.0, 1.0]] * 3)).reshape(3, -1).T
            points = np.vstack([points, b.start + (corners * b.half) @ b.turn.T])
        local = (points - a.start) @ a.turn
        inside = np.clip(local, -a.half, a.half)
        apart = np.linalg.norm(local - inside, axis=1) - b.radius
        k = int(np.argmin(apart + 1e-6 * np.linalg.norm(local, axis=1)))
        on_a = a.start + a.turn @ inside[k]
        return max(float(apart[k]), 0.0), on_a, points[k]
    pa, pb = _samples(a), _samples(b)
    exact = float(segment_gap(a.start, a.end, b.start, b.end))
    apart = np.linalg.norm(pa[:, None] - pb[None, :], axis=2)
    i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
    return max(exact - a.radius - b.radius, 0.0), _foot(a, pb[j]), _foot(b, pa[i])


def _foot(piece: Piece, point: Array) -> Array:
    along = piece.end - piece.start
    square = float(along @ along)
    if square == 0:
        return piece.start
    share = min(max(float((point - piece.start) @ along) / square, 0.0), 1.0)
    return np.asarray(piece.start + share * along)


def distance_to(piece: Piece, point: Array) -> float:
    """Distance of a point from a piece's surface, m (negative inside a round one).

    Args:
        piece: the piece.
        point: (3,) m, body frame.
    """
    if piece.half.any():
        local = piece.turn.T @ (point - piece.start)
        return float(np.linalg.norm(local - np.clip(local, -piece.half, piece.half)))
    return float(np.linalg.norm(point - _foot(piece, point))) - piece.radius


def nearest_piece(found: Sequence[Piece], point: Array) -> int:
    """The piece that a point belongs to: the nearest; of those that hold it, the one whose middle line is nearest.

    Args:
        found: pieces of one body.
        point: (3,) m, body frame.
    """
    return min(
        range(len(found)),
        key=lambda k: (
            round(max(distance_to(found[k], point), 0.0), 5),
            float(np.linalg.norm(point - _foot(found[k], point))),
            k,
        ),
    )


def grounded(body: BodyData, found: Sequence[Piece], feet: Sequence[Array] = ()) -> dict[int, Array]:
    """Pieces of a fixed body that stand on the ground: those whose lowest point is within 10 mm of its lowest.

    Args:
        body: the body.
        found: pieces of one body.
        feet: stated points that carry the stand, (3,) m each, world frame of the start pose.

    Returns:
        For each such piece the point at which it is held, (3,) m, body frame. With `feet` stated: the pieces within
        30 mm of one, else the lowest.
    """
    if not body.fixed or not found:
        return {}
    held: dict[int, Array] = {}
    for foot in feet:
        local = foot - body.com
        for k, piece in enumerate(found):
            if distance_to(piece, local) <= TOUCH:
                held.setdefault(k, local)
    if held:
        return held
    lows = [_lowest(p) for p in found]
    return {k: _low_end(found[k]) for k, low in enumerate(lows) if low <= min(lows) + 0.010}


def _low_end(piece: Piece) -> Array:
    return piece.start if piece.start[2] <= piece.end[2] else piece.end


def _lowest(piece: Piece) -> float:
    if piece.half.any():
        return float(piece.start[2] - np.abs(piece.turn[2]) @ piece.half)
    if np.array_equal(piece.start, piece.end):
        return float(piece.start[2]) - piece.radius
    return float(min(piece.start[2], piece.end[2]))
