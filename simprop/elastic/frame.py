"""A body as a frame of straight beams: how much elastic energy the loads at its joints and its own inertia store.

Beams of Euler and Bernoulli with twist and stretch; where a beam's end lies beside another beam, or a joint beside the
beam that carries it, a rigid link stands between them. Bodies are free: only loads in balance strain them, so what a
load has of a resultant is left out.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array

FIELD = 12
"""Numbers that describe the inertia field of a rigid body: see `Answer`."""


@dataclass(frozen=True)
class Beam:
    """A straight beam.

    Attributes:
        start, end: of its middle line, (3,) m each.
        stretch: E A, N.
        bend: E I about `wide` and about the direction square to it and to the beam, (2,) N*m^2.
        twist: G J, N*m^2.
        wide: unit direction of the section's first axis, square to the beam, (3,).
        mass: kg.
    """

    start: Array
    end: Array
    stretch: float
    bend: tuple[float, float]
    twist: float
    wide: Array
    mass: float = 0.0


@dataclass(frozen=True)
class Answer:
    """Elastic energy of a body as a quadratic form of its loads: 1/2 q' C q.

    q holds the wrench at each place (force, then moment about the place; 6 numbers a place), then the 12 numbers of the
    inertia field: gravity less the acceleration of the origin (3, m/s^2), the negative of the angular acceleration (3,
    rad/s^2), and the negative of spin x (spin x r) as the symmetric matrix that gives it (xx, yy, zz, xy, yz, zx,
    1/s^2).

    Attributes:
        matrix: C, (6 k + 12, 6 k + 12), in J per product of the loads' units.
    """

    matrix: Array


def answer(beams: Sequence[Beam], places: Array, lumps: Sequence[tuple[float, Array]] = ()) -> Answer:
    """How a body answers loads at some places and its own inertia.

    Args:
        beams: its beams; none: a rigid body, which stores nothing.
        places: where joints, springs and the like hold it, (k, 3) m.
        lumps: heavy parts that aren't beams: mass kg and centre (3,) m, each held by the nearest beam.

    Source: matrix structural analysis (direct stiffness), any text; consistent with the beam theory of Euler and
        Bernoulli.

    Example:
        >>> bar = Beam(np.zeros(3), np.array([1.0, 0, 0]), 1e9, (100.0, 100.0), 1e9, np.array([0.0, 1.0, 0]))
        >>> ends = np.array([[0.0, 0, 0], [0.5, 0, 0], [1.0, 0, 0]])
        >>> q = np.zeros(30)
        >>> q[2], q[8], q[14] = -0.5, 1.0, -0.5  # held at its ends, pushed in the middle
        >>> c = answer([bar], ends).matrix
        >>> round(float(q @ c @ q) * 48 * 100.0, 6)  # energy P^2 L^3 / (96 E I)
        1.0
    """
    k = len(places)
    if not beams:
        return Answer(np.zeros((6 * k + FIELD, 6 * k + FIELD)))
    nodes = _Nodes(beams, places, lumps)
    stiffness = nodes.stiffness()
    loads = nodes.loads()
    rigid = np.linalg.qr(nodes.rigid())[0]
    loads = loads - rigid @ (rigid.T @ loads)
    scale = float(np.trace(stiffness)) / len(stiffness)
    moved = np.linalg.solve(stiffness + scale * rigid @ rigid.T, loads)
    matrix = loads.T @ moved
    return Answer((matrix + matrix.T) / 2)


def field_of(gravity: Array, acceleration: Array, spin: Array, spin_acceleration: Array) -> Array:
    """The 12 numbers of the inertia field of a body at many instants, in the axes in which the arguments are given.

    Args:
        gravity: (3,) or (n, 3) m/s^2.
        acceleration: of the origin, (n, 3) m/s^2.
        spin: (n, 3) rad/s.
        spin_acceleration: (n, 3) rad/s^2.

    Returns:
        (n, 12), see `Answer`.

    Example:
        >>> one = np.array([[0.0, 0.0, 2.0]])
        >>> field_of(np.zeros(3), np.zeros((1, 3)), one, np.zeros((1, 3)))[0, 6:].tolist()
        [4.0, 4.0, 0.0, -0.0, -0.0, -0.0]
    """
    x, y, z = spin.T
    square = np.einsum("ni,ni->n", spin, spin)
    away = np.stack([square - x * x, square - y * y, square - z * z, -x * y, -y * z, -z * x], axis=1)
    return np.concatenate([gravity - acceleration, -spin_acceleration, away], axis=1)


def _across(r: Array) -> Array:
    """The matrix of r x, (3, 3)."""
    x, y, z = r
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def nearest(beams: Sequence[Beam], point: Array, but: int = -1) -> tuple[int, float]:
    """The beam nearest to a point and the share of its length there; (-1, 0) where there is none.

    Args:
        beams: of a body.
        point: (3,) m.
        but: index of a beam that doesn't count.

    Example:
        >>> bar = Beam(np.zeros(3), np.array([2.0, 0, 0]), 1.0, (1.0, 1.0), 1.0, np.array([0.0, 1.0, 0]))
        >>> nearest([bar], np.array([0.5, 0.1, 0.0]))
        (0, 0.25)
    """
    best, found = np.inf, (-1, 0.0)
    for i, beam in enumerate(beams):
        if i == but:
            continue
        line = beam.end - beam.start
        s = float(np.clip((point - beam.start) @ line / (line @ line), 0.0, 1.0))
        gap = float(np.linalg.norm(beam.start + s * line - point))
        if gap < best - 1e-12:
            best, found = gap, (i, s)
    return found


def ties(beams: Sequence[Beam]) -> list[tuple[int, Array, int, float]]:
    """The ends of beams that are tied rigidly to other beams: the nearest first, until all beams hang together.

    Args:
        beams: of a body.

    Returns:
        Index of the beam, its end (3,) m, index of the other beam and the share of its length there.

    Example:
        >>> y = np.array([0.0, 1.0, 0.0])
        >>> row = [Beam(np.zeros(3), np.array([1.0, 0, 0]), 1.0, (1.0, 1.0), 1.0, y)]
        >>> row += [Beam(np.array([0.5, 0, 0]), np.array([0.5, 0, 1.0]), 1.0, (1.0, 1.0), 1.0, y)]
        >>> [(i, other, at) for i, _, other, at in ties(row)]
        [(1, 0, 0.5)]
    """
    if len(beams) == 1:
        return []
    joined = [(i, end, *nearest(beams, end, i)) for i, b in enumerate(beams) for end in (b.start, b.end)]
    rows = []
    for i, end, other, at in joined:
        far = beams[other]
        gap = float(np.linalg.norm(far.start + at * (far.end - far.start) - end))
        rows.append((gap, i, end, other, at))
    rows.sort(key=lambda r: (r[0], r[1]))
    shortest = min(float(np.linalg.norm(b.end - b.start)) for b in beams)
    whole = list(range(len(beams)))

    def root(i: int) -> int:
        while whole[i] != i:
            i = whole[i]
        return i

    links = []
    for gap, i, end, other, at in rows:
        touching = gap < 0.2 * shortest
        if root(i) != root(other) or touching:
            whole[root(i)] = root(other)
            links.append((i, end, other, at))
    for i in range(1, len(beams)):
        if root(i) != root(0):
            other, at = _nearest_of(beams, i, [k for k in range(len(beams)) if root(k) == root(0)])
            whole[root(i)] = root(0)
            links.append((i, beams[i].start, other, at))
    return links


def _nearest_of(beams: Sequence[Beam], beam: int, others: list[int]) -> tuple[int, float]:
    end = beams[beam].start
    gaps = []
    for k in others:
        line = beams[k].end - beams[k].start
        s = float(np.clip((end - beams[k].start) @ line / (line @ line), 0.0, 1.0))
        gaps.append((float(np.linalg.norm(beams[k].start + s * line - end)), k, s))
    _, other, at = min(gaps)
    return other, at


class _Nodes:
    """Points of the beams, gathered in groups that move as one."""

    def __init__(self, beams: Sequence[Beam], places: Array, lumps: Sequence[tuple[float, Array]]):
        self.beams, self.places, self.lumps = beams, places, lumps
        held = [nearest(beams, p) for p in places]
        carried = [nearest(beams, c) for _, c in lumps]
        cuts: list[set[float]] = [{0.0, 1.0} for _ in beams]
        links = ties(beams)
        for beam, at in [*held, *carried, *((other, at) for _, _, other, at in links)]:
            cuts[beam].add(at)
        self.rows: list[list[tuple[float, int]]] = []
        self.points: list[Array] = []
        for bar, row in zip(beams, cuts, strict=True):
            shares = [s for i, s in enumerate(sorted(row)) if i == 0 or s - sorted(row)[i - 1] > 1e-9]
            self.rows.append([(s, len(self.points) + i) for i, s in enumerate(shares)])
            self.points += [bar.start + s * (bar.end - bar.start) for s in shares]
        self.group = list(range(len(self.points)))
        for beam, end, other, at in links:
            first = self.rows[beam][0 if np.allclose(end, beams[beam].start) else -1][1]
            self._join(first, self._node(other, at))
        roots = sorted({self._root(i) for i in range(len(self.points))})
        self.index = {root: k for k, root in enumerate(roots)}
        self.held = [self._node(*h) for h in held]
        self.carried = [self._node(*c) for c in carried]

    def _node(self, beam: int, at: float) -> int:
        return min(self.rows[beam], key=lambda row: abs(row[0] - at))[1]

    def _root(self, i: int) -> int:
        while self.group[i] != i:
            i = self.group[i]
        return i

    def _join(self, i: int, j: int) -> None:
        self.group[self._root(i)] = self._root(j)

    def _at(self, node: int) -> tuple[slice, Array]:
        """The rows of a node's group, and the node's place from that of the group."""
        root = self._root(node)
        k = 6 * self.index[root]
        return slice(k, k + 6), self.points[node] - self.points[root]

    def stiffness(self) -> Array:
        """Stiffness of the groups, (6 G, 6 G)."""
        size = 6 * len(self.index)
        whole = np.zeros((size, size))
        for beam, row in zip(self.beams, self.rows, strict=True):
            for (_, a), (_, b) in itertools.pairwise(row):
                k = _element(beam, float(np.linalg.norm(self.points[b] - self.points[a])))
                ends = [self._at(a), self._at(b)]
                carry = np.zeros((12, 12))
                for i, (_, r) in enumerate(ends):
                    carry[6 * i : 6 * i + 6, 6 * i : 6 * i + 6] = np.eye(6)
                    carry[6 * i : 6 * i + 3, 6 * i + 3 : 6 * i + 6] = -_across(r)
                k = carry.T @ k @ carry
                for i, (one, _) in enumerate(ends):
                    for j, (two, _) in enumerate(ends):
                        whole[one, two] += k[6 * i : 6 * i + 6, 6 * j : 6 * j + 6]
        return whole

    def loads(self) -> Array:
        """Loads on the groups for each number of q, (6 G, 6 k + 12)."""
        k = len(self.places)
        whole = np.zeros((6 * len(self.index), 6 * k + FIELD))
        for i, (place, node) in enumerate(zip(self.places, self.held, strict=True)):
            rows, r = self._at(node)
            offset = _across(place - self.points[node] + r)
            whole[rows, 6 * i : 6 * i + 6] += np.block([[np.eye(3), np.zeros((3, 3))], [offset, np.eye(3)]])
        for (mass, point), node in zip(self.lumps, self.carried, strict=True):
            rows, r = self._at(node)
            push = mass * _push(point)
            whole[rows, 6 * k :] += np.concatenate([push, _across(point - self.points[node] + r) @ push])
        for beam, row in zip(self.beams, self.rows, strict=True):
            for (s, a), (t, b) in itertools.pairwise(row):
                ends = _along(beam, beam.mass * (t - s), self.points[a], self.points[b])
                for node, load in zip((a, b), ends, strict=True):
                    rows, r = self._at(node)
                    carried = np.concatenate([load[:3], load[3:] + _across(r) @ load[:3]])
                    whole[rows, 6 * k :] += carried
        return whole

    def rigid(self) -> Array:
        """The six motions of the whole as a rigid body, (6 G, 6)."""
        whole = np.zeros((6 * len(self.index), 6))
        for root, k in self.index.items():
            whole[6 * k : 6 * k + 3, :3] = whole[6 * k + 3 : 6 * k + 6, 3:] = np.eye(3)
            whole[6 * k : 6 * k + 3, 3:] = -_across(self.points[root])
        return whole


def _push(r: Array) -> Array:
    """Force on a unit mass at a place for a unit of each number of the inertia field, (3, 12)."""
    x, y, z = r
    spread = np.array([[x, 0, 0, y, 0, z], [0, y, 0, x, z, 0], [0, 0, z, 0, y, x]], dtype=float)
    return np.concatenate([np.eye(3), -_across(r), spread], axis=1)


def _axes(beam: Beam) -> Array:
    """Unit directions along the beam, of its section's first axis and of its second, as rows (3, 3)."""
    along = (beam.end - beam.start) / np.linalg.norm(beam.end - beam.start)
    return np.array([along, beam.wide, np.cross(along, beam.wide)])


def _along(beam: Beam, mass: float, start: Array, end: Array) -> tuple[Array, Array]:
    """Loads at both ends of a piece that stand for the inertia field along it, (6, 12) each.

    They do the same work as the load spread along the piece, so that its ends move as they truly do.
    """
    turn, length = _axes(beam), float(np.linalg.norm(end - start))
    one, two = mass * turn @ _push(start), mass * turn @ _push(end)
    near, far = np.zeros((6, FIELD)), np.zeros((6, FIELD))
    near[0], far[0] = (2 * one[0] + two[0]) / 6, (one[0] + 2 * two[0]) / 6
    for shift, angle, sign in ((1, 5, 1.0), (2, 4, -1.0)):
        near[shift], far[shift] = (
            (21 * one[shift] + 9 * two[shift]) / 60,
            (9 * one[shift] + 21 * two[shift]) / 60,
        )
        near[angle] = sign * length * (3 * one[shift] + 2 * two[shift]) / 60
        far[angle] = -sign * length * (2 * one[shift] + 3 * two[shift]) / 60
    back = np.kron(np.eye(2), turn.T)
    return back @ near, back @ far


def _element(beam: Beam, length: float) -> Array:
    """Stiffness of a piece of a beam in world axes, (12, 12): three shifts and three turns at each end."""
    turn = _axes(beam)
    k = np.zeros((12, 12))
    for row, rate in ((0, beam.stretch / length), (3, beam.twist / length)):
        k[np.ix_([row, row + 6], [row, row + 6])] += rate * np.array([[1.0, -1.0], [-1.0, 1.0]])
    # Bending about `wide` moves along `third`, and the other way round; signs follow the right hand.
    for rate, shift, angle, sign in ((beam.bend[0], 2, 4, -1.0), (beam.bend[1], 1, 5, 1.0)):
        a, b, c, d = 12 / length**3, sign * 6 / length**2, 4 / length, 2 / length
        rows = [shift, angle, shift + 6, angle + 6]
        k[np.ix_(rows, rows)] += rate * np.array(
            [[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]]
        )
    whole = np.kron(np.eye(4), turn)
    return np.asarray(whole.T @ k @ whole)
