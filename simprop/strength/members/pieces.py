"""The parts of one body as straight pieces and lumps, and the tree in which they hold on to each other.

Bending moments inside a body need to know what hangs on what. Pieces that touch are taken as fastened together; the
pieces form the tree with the smallest gaps. A frame that closes on itself is thereby cut at its loosest place.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import BodyData
from simprop.geometry.arrays import Array
from simprop.geometry.convex import nearest_points
from simprop.parts.part import Stretch

FRAME = 0.001
"""Parts closer than this touch, m."""
TOUCH = 0.03
"""Parts drawn further apart than this are noted, m."""


@dataclass(frozen=True, kw_only=True)
class Piece(Stretch):
    """A straight stretch of a part, or a part without length.

    Attributes:
        shape: index of the part in `BodyData.shapes`.
        corner: index of the stretch in a bent tube, else 0.
    """

    shape: int
    corner: int


@dataclass(frozen=True)
class Link:
    """Two pieces that hold on to each other, the place on each, (3,) m, and the gap between them, m."""

    first: int
    second: int
    on_first: Array
    on_second: Array
    gap: float


def pieces(body: BodyData) -> tuple[Piece, ...]:
    """The body's parts as pieces; their mass, centre and inertia add up to the body's."""
    return tuple(
        Piece(**vars(stretch), shape=i, corner=k)
        for i, shape in enumerate(body.shapes)
        for k, stretch in enumerate(shape.stretches())
    )


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


def nearest_piece(found: Sequence[Piece], point: Array) -> int:
    """The piece that a point belongs to: the nearest; of those that hold it, the one whose middle line is nearest.

    Args:
        point: (3,) m, body frame.
    """
    return min(range(len(found)), key=lambda k: found[k].nearness(point))


def grounded(body: BodyData, found: Sequence[Piece], feet: Sequence[Array] = ()) -> dict[int, Array]:
    """Pieces of a fixed body that stand on the ground: those whose lowest point is within 10 mm of its lowest.

    Args:
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
            if piece.distance(local) <= TOUCH:
                held.setdefault(k, local)
    if held:
        return held
    lows = [_lowest(p) for p in found]
    return {k: _low_end(found[k]) for k, low in enumerate(lows) if low <= min(lows) + 0.010}


def _low_end(piece: Piece) -> Array:
    return piece.start if piece.start[2] <= piece.end[2] else piece.end


def _lowest(piece: Piece) -> float:
    if piece.boxed:
        return float(piece.start[2] - np.abs(piece.turn[2]) @ piece.half)
    if np.array_equal(piece.start, piece.end):
        return float(piece.start[2]) - piece.radius
    return float(min(piece.start[2], piece.end[2]))
