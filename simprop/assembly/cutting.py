"""Members that bend: a body's slender parts as rigid pieces with springs between, in place of the rigid body.

Each beam of a bending body is cut into elements of equal length, and at each joint that it carries. The pieces are the
lengths about the nodes; between two neighbours, in the middle of the element, stands a spring with the stiffness of
the element: E A / h along it, 12 E I / h^3 across it, G J / h and E I / h about its axes. About the middle of one
of Euler and Bernoulli these don't couple, so that loads at the nodes bend the chain exactly as they bend the beam (to
the first order; large turns, and stiffening by pull and spin, come out of the pieces' own motion). What isn't a beam is
held rigidly by the piece that it sits on.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.beams import bending, pieces_of
from simprop.assembly.types import BodyData
from simprop.elastic.frame import Beam, nearest, ties
from simprop.geometry.arrays import Array
from simprop.parts.part import Shape
from simprop.rules.mass import combined

NEAR = 0.01
"""Places nearer than this share of a beam's length to a node are taken to it."""


@dataclass(frozen=True)
class Cut:
    """A body cut into pieces.

    Attributes:
        pieces: each with its shapes, in order.
        seams: pieces that it joins, its place (3,) m in the world's start pose, and its stiffness (6, 6) there.
    """

    pieces: tuple[BodyData, ...]
    seams: tuple[tuple[int, int, Array, Array], ...]


def cut(
    body: BodyData, places: Array, elements: int, every: bool = True, parts: frozenset[int] | None = None
) -> Cut:
    """Cut a body into rigid pieces with springs between.

    Args:
        body: in the start pose.
        places: of the joints that it carries, in its frame, (k, 3) m.
        elements: of its longest beam; shorter ones get fewer of about the same length.
        every: all its beams bend; else only slender ones do.
        parts: only those of these parts, by their number; None: of all.
    """
    chosen = bending(body, every, parts)
    beams = [p.beam for p in chosen if p.beam is not None]
    chain = _Chain(beams, places, elements)
    shapes: list[list[Shape]] = [[] for _ in range(chain.groups)]
    for k, (piece, row) in enumerate(zip(chosen, chain.rows, strict=True)):
        for group, start, end in chain.lengths(k, row):
            shapes[group].append(piece.shape.piece(start, end))
    bent = {id(p.shape) for p in chosen}
    for shape in body.shapes:
        if id(shape) not in bent:
            ends = [end for s in shape.stretches() for end in (s.start, s.end)]
            shapes[chain.holding(*ends)].append(shape)
    lines = {(id(p.shape), *p.stretch.start) for p in chosen}
    for piece in pieces_of(body):  # stretches of a bent part that are too short to bend
        if id(piece.shape) in bent and (id(piece.shape), *piece.stretch.start) not in lines:
            shapes[chain.holding(piece.stretch.start, piece.stretch.end)].append(
                piece.shape.piece(piece.stretch.start, piece.stretch.end)
            )
    pieces = tuple(_piece(body, i, row) for i, row in enumerate(shapes))
    return Cut(pieces, tuple((a, b, at + body.com, k) for a, b, at, k in chain.seams()))


def _piece(body: BodyData, number: int, shapes: Sequence[Shape]) -> BodyData:
    weight = combined([s.weight for s in shapes])
    placed = tuple(s.moved(np.eye(3), -weight.centre) for s in shapes)
    name = f"{body.name}/{number + 1}"
    return BodyData(
        name,
        False,
        weight.mass,
        body.com + weight.centre,
        weight.inertia,
        placed,
        body.placement,
        member=body.name,
    )


class _Chain:
    """The nodes of a body's beams, in groups that move as one.

    Attributes:
        rows: of each beam: share of its length and index of each node, in order.
        groups: how many groups.
    """

    def __init__(self, beams: Sequence[Beam], places: Array, elements: int):
        self.beams = beams
        links = ties(beams)
        size = max(float(np.linalg.norm(b.end - b.start)) for b in beams) / elements
        fixed: list[list[float]] = [[0.0, 1.0] for _ in beams]
        for beam, at in [*(nearest(beams, p) for p in places), *((other, at) for _, _, other, at in links)]:
            if min(abs(at - s) for s in fixed[beam]) > NEAR:
                fixed[beam].append(at)
        self.rows: list[list[tuple[float, int]]] = []
        self.points: list[Array] = []
        for beam_, row in zip(beams, fixed, strict=True):
            length = float(np.linalg.norm(beam_.end - beam_.start))
            shares = []
            for a, b in itertools.pairwise(sorted(row)):
                count = max(1, int(np.ceil((b - a) * length / size - 1e-6)))
                shares += [a + (b - a) * i / count for i in range(count)]
            shares.append(1.0)
            self.rows.append([(s, len(self.points) + i) for i, s in enumerate(shares)])
            self.points += [beam_.start + s * (beam_.end - beam_.start) for s in shares]
        parent = list(range(len(self.points)))

        def root(i: int) -> int:
            while parent[i] != i:
                i = parent[i]
            return i

        for beam, end, other, at in links:
            own = self.rows[beam][0 if np.allclose(end, beams[beam].start) else -1][1]
            parent[root(own)] = root(min(self.rows[other], key=lambda row: abs(row[0] - at))[1])
        roots = list(dict.fromkeys(root(i) for i in range(len(self.points))))
        self.group = [roots.index(root(i)) for i in range(len(self.points))]
        self.groups = len(roots)

    def lengths(self, beam: int, row: list[tuple[float, int]]) -> list[tuple[int, Array, Array]]:
        """The lengths of a beam that each group carries: group, start and end (3,) m."""
        start, line = self.beams[beam].start, self.beams[beam].end - self.beams[beam].start
        middles = [0.0, *((a + b) / 2 for (a, _), (b, _) in itertools.pairwise(row)), 1.0]
        return [
            (self.group[node], start + a * line, start + b * line)
            for (_, node), (a, b) in zip(row, itertools.pairwise(middles), strict=True)
        ]

    def holding(self, *points: Array) -> int:
        """The group that carries something by the beam that comes nearest to one of its points."""
        found = [(*nearest(self.beams, p), p) for p in points]
        beam, at, _ = min(found, key=lambda row: self._gap(*row))
        return self.group[min(self.rows[beam], key=lambda row: abs(row[0] - at))[1]]

    def _gap(self, beam: int, at: float, point: Array) -> float:
        line = self.beams[beam]
        return float(np.linalg.norm(line.start + at * (line.end - line.start) - point))

    def seams(self) -> list[tuple[int, int, Array, Array]]:
        """Groups, place and stiffness of each element."""
        found = []
        for beam, row in zip(self.beams, self.rows, strict=True):
            for (_, a), (_, b) in itertools.pairwise(row):
                one, two = self.group[a], self.group[b]
                if one != two:
                    middle = (self.points[a] + self.points[b]) / 2
                    length = float(np.linalg.norm(self.points[b] - self.points[a]))
                    found.append((one, two, middle, element(beam, length)))
        return found


def element(beam: Beam, length: float) -> Array:
    """Stiffness of an element about its middle, (6, 6): wrench on its far half for a shift and a turn of that half.

    Args:
        beam: that it is of.
        length: of the element, m.

    Source: the stiffness matrix of a beam of Euler and Bernoulli (any text on matrix structural analysis), moved to the
        middle of the element, where it is diagonal: a shear force without a moment there shifts, a moment turns.

    Example:
        >>> bar = Beam(np.zeros(3), np.array([1.0, 0, 0]), 1e6, (2.0, 3.0), 4.0, np.array([0.0, 1.0, 0]))
        >>> np.diag(element(bar, 0.5)).tolist()
        [2000000.0, 288.0, 192.0, 8.0, 4.0, 6.0]
    """
    along = (beam.end - beam.start) / np.linalg.norm(beam.end - beam.start)
    axes = np.array([along, beam.wide, np.cross(along, beam.wide)])
    wide, third = beam.bend
    shift = np.array([beam.stretch / length, 12 * third / length**3, 12 * wide / length**3])
    turn = np.array([beam.twist, wide, third]) / length
    stiffness = np.zeros((6, 6))
    stiffness[:3, :3] = axes.T @ np.diag(shift) @ axes
    stiffness[3:, 3:] = axes.T @ np.diag(turn) @ axes
    return stiffness
