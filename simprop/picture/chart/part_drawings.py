"""A part as a small drawing of its own: outline, sizes, and where its holes are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from simprop.geometry.arrays import Array
from simprop.making.holes import Hole
from simprop.making.pieces import Piece
from simprop.parts.part import Panel, Shape
from simprop.picture.chart.dimensions import ROW, SIZE, THICK, THIN, chain, figure
from simprop.picture.chart.drawings import spaced
from simprop.picture.chart.drawn import CENTRE, INK, Drawing, Line, Words, words_box
from simprop.picture.chart.labels import Box, Label, placed
from simprop.picture.chart.outlines import outline
from simprop.picture.chart.paper import STEPS, Paper, View, on_paper
from simprop.picture.chart.pieces import bare

WIDE, NARROW = 180.0, 87.0
"""Widths of the drawings, mm: across a page with its margins, and half of it."""
TALL = 70.0
"""Most that the views take upwards, mm."""
EDGE = 2.0
OFF = 7.0
"""From the outline to its dimension line, mm."""
BETWEEN = 14.0
"""Between two views, mm."""
LARGEST = 0.5
"""Of the scales: twice as large as it is."""
SAME = 3e-4
"""Places closer than this are one, m."""
SLIM = 12.0
"""What is longer than so many times its width has the drawing of its holes across the page."""
SQUARE = 0.9
"""Share of its rectangle from which an outline is one."""
CORNERS = 6
"""An outline with more of them is told corner by corner."""
SQUARED = 0.01
"""Edges are square to each other up to this cosine."""
ACROSS = 0.7
"""Cosine from which a hole is seen as a circle."""
FACES = (
    View("Front", (0, 2), np.array([0.0, -1.0, 0.0]), (0.0, 0.0), (0.0, 0.0)),
    View("Side, from the right", (1, 2), np.array([1.0, 0.0, 0.0]), (0.0, 0.0), (0.0, 0.0)),
    View("From above", (0, 1), np.array([0.0, 0.0, 1.0]), (0.0, 0.0), (0.0, 0.0)),
)
"""Front, side and top in third-angle projection, as `simprop.picture.chart.paper` has them."""


@dataclass(frozen=True)
class PartDrawing:
    """A drawing of a part, and its scale: mm of the part for one on paper."""

    drawing: Drawing
    scale: float


def part_drawing(piece: Piece) -> PartDrawing:
    """The sizes of a part and its holes, from the front, and from the side and above where that says more.

    A long part lies across, its lower or left end on the left.

    Args:
        piece: the part, with its holes and what it is cut to.
    """
    return _Part(piece).drawn()


def _straight(shape: Shape) -> bool:
    return shape.section() is not None and len(shape.path) == 2


def facing(shape: Shape, own: Sequence[Hole]) -> Array:
    """Unit directions to the right, away and up of the drawing of a part, as rows (3, 3).

    Args:
        shape: the part.
        own: its holes: the most of them are seen as circles.
    """
    _, axes, half = shape.box()
    seen = [sum(abs(float(hole.way @ way)) > ACROSS for hole in own) for way in axes.T]
    if _straight(shape):
        right = _up_or_right(shape.path[1] - shape.path[0])
        near = axes[:, 0] if seen[0] > seen[1] else axes[:, 1]
        if own and max(seen) < len(own):
            near = own[0].way
        near = near - float(near @ right) * right
    elif len(shape.path) > 2:
        _, _, ways = np.linalg.svd(shape.path - shape.path.mean(axis=0))
        right, near = _up_or_right(ways[0]), ways[2]
    elif shape.rim is not None:
        right, near = _edgewise(shape.rim)
    else:
        k = int(np.argmax(seen)) if own else int(np.argmin(half))
        near = axes[:, k]
        right = _up_or_right(axes[:, max((i for i in range(3) if i != k), key=lambda i: half[i])])
    near = near / np.linalg.norm(near)
    if near @ np.array([0.01, -1.0, 0.1]) < 0:
        near = -near
    return np.array([right, -near, np.cross(near, right)])


def _edgewise(rim: Array) -> tuple[Array, Array]:
    """Direction to the right along the edges of an outline (k, 3) that most others go with or are square to; normal."""
    edges = np.roll(rim, -1, axis=0) - rim
    sizes = np.linalg.norm(edges, axis=1)
    units = edges / sizes[:, None]
    along = np.abs(units @ units.T)
    fits = ((along > 1 - SQUARED) | (along < SQUARED)) @ sizes
    best = int(np.argmax(np.round(fits, 6) + 1e-6 * sizes))
    normal = np.cross(units[best], units[int(np.argmin(along[best]))])
    other = np.cross(normal, units[best])
    wide = [float(np.ptp(rim @ way)) for way in (units[best], other / np.linalg.norm(other))]
    return _up_or_right(units[best] if wide[0] >= wide[1] else other), normal


def _up_or_right(way: Array) -> Array:
    """A unit direction, one way round or the other, so that it goes up, or to the right, or away."""
    unit = way / np.linalg.norm(way)
    return np.asarray(unit if unit @ np.array([0.1, 0.01, 1.0]) >= 0 else -unit)


class _Part:
    """A drawing as it is put together; its own frame has x to the right, y away and z up, as the world has."""

    def __init__(self, piece: Piece):
        self.shape, self.own, self.cut_from = piece.shape, piece.holes, piece.cut_from
        shape, own, cut = piece.shape, piece.holes, piece.spans
        self.turn = facing(shape, own)
        self.middle = shape.box()[0]
        self.long = _straight(shape)
        self.lines: list[Line] = []
        self.words: list[Words] = []
        self.labels: list[Label] = []
        self.ink: list[Array] = []
        self.rings: list[Box] = []
        line = shape.path[-1] - shape.path[0]
        self.pieces = [bare(shape)]
        self.ends: list[tuple[float, float]] = []
        if self.long:
            unit = line / np.linalg.norm(line)
            rows = [(shape.path[0] + a * unit, shape.path[0] + b * unit) for a, b in cut]
            rows = sorted(rows, key=lambda row: float(self.own_frame(row[0])[0]))
            self.pieces = [bare(replace(shape, path=np.array(row))) for row in rows]
            for row in rows:
                a, b = sorted(float(v) for v in self.own_frame(np.array(row))[:, 0])
                self.ends.append((a, b))
        corners = [self.own_frame(s.vertices) for piece in self.pieces for s in piece]
        self.low = np.min([c.min(axis=0) for c in corners], axis=0)
        self.high = np.max([c.max(axis=0) for c in corners], axis=0)
        if self.ends:
            self.low[0], self.high[0] = self.ends[0][0], self.ends[-1][1]
        self.paper = self._arranged()

    def own_frame(self, points: Array) -> Array:
        """Points (..., 3) of the body's frame in that of the drawing, m."""
        return np.asarray((points - self.middle) @ self.turn.T)

    def _views(self) -> list[View]:
        """Front, and what says more: the side of what isn't round, the top where holes go that way."""
        front, side, top = FACES
        views = [front]
        _, deep, high = self.high - self.low
        round_ = self.shape.radius > 0 and abs(deep - high) < SAME
        if not round_ and deep > SAME:
            views.append(side)
        if any(abs(float(hole.way @ self.turn[2])) > ACROSS for hole in self.own):
            views.append(top)
        return views

    def _arranged(self) -> Paper:
        """A sheet as wide as a page or half of it, with its views at the largest scale that fits."""
        views = self._views()
        wide, deep, high = 1000 * (self.high - self.low)
        names = {view.name for view in views}
        side, top = FACES[1].name in names, FACES[2].name in names
        room = 12.0 + 2 * EDGE + (BETWEEN if side else 4.0)
        much = len(self.own) > 3 or len(self.ends) > 1 or len(self._rim()) > CORNERS
        sheet = WIDE if much or (self.own and wide > SLIM * high) else NARROW
        need = max(
            (wide + (deep if side else 0.0)) / (sheet - room - 6.0),
            (high + (deep if top else 0.0)) / TALL,
            LARGEST,
        )
        scale = next(k * 10.0**p for p in range(-1, 6) for k in STEPS if k * 10.0**p >= need)
        x, y, z = wide / scale, deep / scale, high / scale
        left = EDGE + 12.0
        below = EDGE + OFF + 2 * ROW + 1.0
        above = EDGE + (OFF + 2 * ROW + 2.0 if self.own else 2.0)
        over = below + z + above
        where = {
            FACES[0].name: (left, below),
            FACES[1].name: (left + x + BETWEEN, below),
            FACES[2].name: (left, over),
        }
        laid = tuple(
            replace(
                view,
                corner=where[view.name],
                low=(float(self.low[view.plane[0]]), float(self.low[view.plane[1]])),
            )
            for view in views
        )
        size = (sheet, over + (y + above if top else 0.0))
        return Paper(size, scale, laid, (0.0, 0.0, *size))

    def _rim(self) -> Array:
        rim = self.shape.rim
        return np.zeros((0, 3)) if rim is None else self.own_frame(rim)

    def on(self, view: View, point: Array) -> tuple[float, float]:
        """A point (3,) m of the drawing's frame on paper."""
        x, y = on_paper(self.paper, view, point)
        return float(x), float(y)

    def drawn(self) -> PartDrawing:
        """All of it."""
        for view in self.paper.views:
            self._outlines(view)
        front, *others = self.paper.views
        self._front(front)
        for view in others:
            if view.name == FACES[1].name:
                self._across(view)
            else:
                self._holes(view)
                self._chain(view, 0, self._places(view, 0), above=True)
        page = (EDGE, EDGE, self.paper.size[0] - EDGE, self.paper.size[1] - EDGE)
        taken: list[Box] = [words_box(w) for w in self.words] + self.rings
        names = placed(self.labels, taken, page, np.concatenate(self.ink))
        return PartDrawing(Drawing(self.paper.size, self.lines, self.words, [], names), self.paper.scale)

    def _outlines(self, view: View) -> None:
        for k, piece in enumerate(self.pieces):
            flat = [on_paper(self.paper, view, self.own_frame(s.vertices)) for s in piece]
            first, *others = outline(piece, flat)
            if self.shape.rim is None:
                first = _squared(first)
            if self.ends and view.plane[0] == 0 and len(first) == 4:
                start, end = (self.on(view, np.array([v, 0.0, 0.0]))[0] for v in self.ends[k])
                first[:, 0] = [start, end, end, start]
            self.lines.append(Line(first, INK, THICK, closed=True, holes=tuple(others)))
            self.ink += [spaced(ring) for ring in (first, *others)]

    def _front(self, view: View) -> None:
        self._holes(view)
        if self.long and any(abs(float(hole.way @ self.turn[1])) > ACROSS for hole in self.own):
            (x0, y), (x1, _) = self.on(view, self.low * [1, 0, 0]), self.on(view, self.high * [1, 0, 0])
            self.lines.append(Line(np.array([[x0 - 2, y], [x1 + 2, y]]), INK, THIN, CENTRE, order=3.0))
        if len(self._rim()) > CORNERS:
            self._corners(view)
        across = sorted({v for row in self.ends for v in row}) or self._edges(view, 0)
        self._chain(view, 0, across, above=False)
        self._chain(view, 0, self._places(view, 0), above=True)
        spots = self._places(view, 2)
        centred = self.long and all(abs(v - (self.low[2] + self.high[2]) / 2) < SAME for v in spots[1:-1])
        up = spots if spots and not centred else self._edges(view, 2)
        if len(self.shape.path) > 2:
            self._legs(view)
        elif not (self.shape.radius > 0 and self.long and len(self.paper.views) == 1):
            self._chain(view, 2, up, above=False)

    def _edges(self, view: View, axis: int) -> list[float]:
        """Places of the corners of an outline along an axis of the drawing's frame, or its ends, m."""
        ends = [float(self.low[axis]), float(self.high[axis])]
        rim = self._rim() if len(self._rim()) <= CORNERS else np.zeros((0, 3))
        return _apart([*ends, *(float(v) for v in rim[:, axis])])

    def _corners(self, view: View) -> None:
        """Each corner of an outline with many: how far it is to the right of, and above, the lower left of its box."""
        for corner in self._rim():
            x, _, z = corner - self.low
            self.labels.append(Label(f"{figure(x)}, {figure(z)}", self.on(view, corner), INK, SIZE))

    def _places(self, view: View, axis: int) -> list[float]:
        """Places of the holes that a view shows along an axis, between the ends, m; none where there are no holes."""
        if len(self.shape.path) > 2:
            return []
        found = []
        for hole in self.own:
            if abs(float(self.turn @ hole.way @ view.near)) > ACROSS:
                spots = [hole.at] if hole.end is None else [hole.at, hole.end]
                found += [float(self.own_frame(spot)[axis]) for spot in spots]
        return _apart([float(self.low[axis]), *found, float(self.high[axis])]) if found else []

    def _chain(self, view: View, axis: int, places: list[float], *, above: bool) -> None:
        """Dimensions along an axis: above or below a view, or on its left."""
        cut = self.cut_from
        disc = isinstance(cut, Panel) and cut.form == "disc" and axis != 1
        middle = (self.low[axis] + self.high[axis]) / 2
        if disc and all(abs(place - middle) < SAME for place in places[1:-1]):
            places = [] if above or (axis == 2 and len(places) > 2) else [places[0], places[-1]]
        if len(places) < 2:
            return
        k = view.plane.index(axis)
        point = np.zeros((len(places), 3))
        point[:, axis] = places
        paper = [self.on(view, p)[k] for p in point]
        sign = "Ø" if disc and len(places) == 2 else ""
        texts = [sign + figure(b - a) for a, b in pairwise(places)]
        low, high = (self.on(view, corner) for corner in (self.low, self.high))
        upright = k == 1
        feature = low[0] if upright else high[1] if above else low[1]
        line = feature + (OFF if above else -OFF) if not upright else feature - OFF
        limits = (EDGE, self.paper.size[k] - EDGE)
        lines, words = chain(paper, texts, line, feature, limits, upright=upright)
        self.lines += lines
        self.words += words

    def _across(self, view: View) -> None:
        """The thickness, under the side view."""
        self._chain(view, 1, [float(self.low[1]), float(self.high[1])], above=False)

    def _holes(self, view: View) -> None:
        for hole in self.own:
            if abs(float(self.turn @ hole.way @ view.near)) <= ACROSS:
                continue
            at = np.array(self.on(view, self.own_frame(hole.at)))
            end = at if hole.end is None else np.array(self.on(view, self.own_frame(hole.end)))
            radius = 500 * hole.diameter / self.paper.scale
            ring = _slot(at, end, radius)
            self.lines.append(Line(ring, INK, THICK, closed=True, fill=(1.0, 1.0, 1.0, 1.0), order=4.0))
            self.ink.append(spaced(ring, 0.6))
            (left, low), (right, high) = ring.min(axis=0), ring.max(axis=0)
            self.rings.append((float(left), float(low), float(right), float(high)))
            for spot in (at, end) if hole.end is not None else (at,):
                for way in np.eye(2):
                    cross = np.array([spot - (radius + 1.2) * way, spot + (radius + 1.2) * way])
                    self.lines.append(Line(cross, INK, THIN, CENTRE, order=4.5))
            rim = at + 0.7 * radius * np.ones(2)
            self.labels.append(Label(self._said(hole), (float(rim[0]), float(rim[1])), INK, SIZE))

    def _said(self, hole: Hole) -> str:
        """Size of a hole, what it is for, and where it is along a bent part."""
        name = hole.joint.replace("_", " ")
        words = f"Ø{figure(hole.diameter)} {name}".strip()
        if hole.end is not None:
            long = float(np.linalg.norm(hole.end - hole.at)) + hole.diameter
            words = f"slot {figure(hole.diameter)} x {figure(long)} {name}"
        if len(self.shape.path) > 2:
            ends = {float(np.linalg.norm(hole.at - self.shape.path[k])): k for k in (0, -1)}
            words += f", {figure(min(ends))} from the end"
        return words

    def _legs(self, view: View) -> None:
        """How long each straight stretch of a bent part is, corner to corner, and how far it turns there."""
        path = self.own_frame(self.shape.path)
        steps = np.diff(path, axis=0)
        sizes = np.linalg.norm(steps, axis=1)
        if len(path) > 8:
            return
        for a, b, size in zip(path, path[1:], sizes, strict=False):
            self.labels.append(Label(figure(float(size)), self.on(view, (a + b) / 2), INK, SIZE))
        for k in range(1, len(path) - 1):
            turn = np.degrees(np.arccos(np.clip(steps[k - 1] @ steps[k] / (sizes[k - 1] * sizes[k]), -1, 1)))
            self.labels.append(Label(f"bent {turn:.0f}°", self.on(view, path[k]), INK, SIZE))


def _slot(at: Array, end: Array, radius: float) -> Array:
    """The outline of a hole, or of a slot from one end to the other, (k, 2) mm."""
    way = end - at
    tilt = float(np.arctan2(way[1], way[0]))
    angle = np.linspace(np.pi / 2, 1.5 * np.pi, 25) + tilt
    first = at + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.concatenate(
        [first, end + radius * np.stack([np.cos(angle + np.pi), np.sin(angle + np.pi)], axis=1)]
    )


def _squared(ring: Array) -> Array:
    """A rectangle in place of an outline that is nearly one: parts are rendered with broken edges."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    x, y = ring.T
    area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
    if area < SQUARE * float(np.prod(high - low)):
        return ring
    return np.array([low, [high[0], low[1]], high, [low[0], high[1]]])


def _apart(places: Sequence[float]) -> list[float]:
    """Places in order, those that are the same once."""
    out: list[float] = []
    for place in sorted(places):
        if not out or place - out[-1] > SAME:
            out.append(place)
    return out
