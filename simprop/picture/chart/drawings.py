"""A dimensioned drawing of a prop: front, side and top at one scale over one ground line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.assembly.types import Assembly, JointData
from simprop.geometry.arrays import Array
from simprop.picture.chart.drawn import (
    BESIDE,
    FAINT,
    FULL,
    HIDDEN,
    INK,
    MARK,
    PATH,
    Drawing,
    Line,
    Words,
    paint,
    words_box,
)
from simprop.picture.chart.labels import Box, Label, placed
from simprop.picture.chart.paper import EDGE, TITLE, Paper, View, arranged, on_paper, scale_text
from simprop.picture.chart.pieces import Piece, Pose, bounds, outlines, pieces, pose_at
from simprop.picture.render.motion import poses_at
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

NEAR = 0.35
"""The ground is drawn where it is less than this share of the prop's height below it."""


def schematic(
    assembly: Assembly, track: Trajectory | None, path: str | Path, at: float = 0.0, *, looks: bool = True
) -> Path:
    """Front, side and top view at one instant: parts, lines between points, joints, motors, sizes, travel.

    Overall sizes are those of the parts, without scenery; where their looks reach further, that is said beside them.

    Args:
        track: its motion, for poses and travel; None draws the start pose without travel.
        path: SVG or PDF (or PNG) by its ending.
        at: instant, s.
        looks: parts as they are dressed; else the structure alone.

    Returns:
        The path written.

    Raises:
        RenderError: where nothing is visible.
    """
    return paint(drawing(assembly, track, at, looks=looks), Path(path))


def drawing(assembly: Assembly, track: Trajectory | None, at: float = 0.0, *, looks: bool = True) -> Drawing:
    """The same as data; its labels lie over none of each other."""
    pose = pose_at(assembly, track if at > 0 else None, at)
    shown = pieces(assembly, pose, looks=looks)
    paths = travel(assembly, track)
    paper = sheet_for(shown, list(paths.values()))
    found = Marks(assembly, paper, pose)
    found.pieces(shown, BESIDE if looks else FULL)
    found.ground(shown)
    found.sizes(pieces(assembly, pose, looks=False), pieces(assembly, pose, looks=True))
    found.joints()
    found.motors()
    found.lines_between(shown)
    for name, path in paths.items():
        found.path(name, path)
    when = "start pose" if at == 0 else f"at {at:.2f} s"
    title = f"{assembly.rig.name}, {when}" + ("" if looks else ", structure without looks")
    found.title(title)
    found.notes("Between joints, mm", lengths(assembly))
    return found.result()


def sheet_for(shown: Sequence[Piece], more: Sequence[Array]) -> Paper:
    """The sheet that takes some pieces and further places (n, 3) m, with the ground where it is near."""
    low, high = bounds(shown)
    for places in more:
        low, high = np.minimum(low, places.min(axis=0)), np.maximum(high, places.max(axis=0))
    if 0 < low[2] < NEAR * (high[2] - low[2]):
        low[2] = 0.0
    return arranged(low, high)


def travel(assembly: Assembly, track: Trajectory | None) -> dict[str, Array]:
    """Where the watched points go, by their names, (n, 3) m each."""
    points = watched(assembly)
    if track is None or not points:
        return {}
    step = max(1, len(track.time) // 600)
    found = follow(points, poses_at(assembly, track, track.time[::step]))
    return {point.name: found[:, k] for k, point in enumerate(points)}


def lengths(assembly: Assembly) -> list[str]:
    """Distances between the joints of each moving body, in words."""
    out = []
    for i, body in enumerate(assembly.bodies):
        own = [j for j in assembly.joints if i in (j.first, j.second)]
        if body.fixed or body.member is not None:
            continue
        for a in range(len(own)):
            for b in range(a + 1, len(own)):
                gap = 1000 * float(np.linalg.norm(own[a].point - own[b].point))
                if gap > 0.5:
                    out.append(f"{body.name}: {own[a].name} to {own[b].name} {gap:.1f}")
    return out


def sight(joint: JointData, views: Sequence[View]) -> View:
    """The view in which a joint is named: along its axis, else from the front."""
    along = [abs(float(joint.axis @ view.near)) for view in views]
    return views[int(np.argmax(along))] if max(along) > 0.7 else views[0]


class Marks:
    """A drawing as it is put together.

    Args:
        assembly: of the prop.
        paper: its sheet.
        pose: at the instant drawn.
    """

    def __init__(self, assembly: Assembly, paper: Paper, pose: Pose):
        self.assembly, self.paper, self.pose = assembly, paper, pose
        self.lines: list[Line] = []
        self.words: list[Words] = []
        self.signs: list[tuple[tuple[float, float], str]] = []
        self.labels: list[Label] = []
        self.ink: list[Array] = []
        self.spots: list[Box] = []
        for view in paper.views:
            self.words.append(Words(view.name, self._head(view), 8.5, bold=True))

    def _head(self, view: View) -> tuple[float, float]:
        x, y = view.corner
        return (x - 12.0, y - 17.0) if view.plane[1] == 2 else (x - 12.0, y - 4.5)

    def on(self, view: View, point: Array) -> tuple[float, float]:
        """A point (3,) m on paper."""
        x, y = on_paper(self.paper, view, point)
        return float(x), float(y)

    def place(self, joint: JointData) -> Array:
        """Where a joint is at the instant drawn, (3,) m."""
        first = joint.first
        turn, shift = self.pose.turn[first], self.pose.shift[first]
        return np.asarray(turn @ (joint.point - self.assembly.bodies[first].com) + shift)

    def pieces(self, shown: Sequence[Piece], dressed: Any = BESIDE) -> None:
        """Outlines of all pieces, nearer ones over farther ones, what they hide dashed.

        Parts that say how they look hide nothing: a hat would lie over the mechanism under it. Their outlines are
        `dressed`.
        """
        for view in self.paper.views:
            depth = {id(p): float(p.corners.mean(axis=0) @ view.near) for p in shown}
            for rank, piece in enumerate(sorted(shown, key=lambda p: depth[id(p)])):
                first, *others = outlines(piece, self.paper, view)
                rings = [first, *others]
                colour = None if piece.dressed or piece.scenery else (*_tint(piece), 0.9)
                dash = BESIDE if piece.scenery else dressed if piece.dressed else FULL
                width = 0.45 if piece.dressed or piece.scenery else 0.8 if not piece.fixed else 0.6
                order = 2 + rank / (len(shown) + 1)
                line = Line(first, INK, width, dash, True, colour, order=order, holes=tuple(others))
                self.lines.append(line)
                if colour is not None:
                    self.lines.append(replace(line, ink=FAINT, width=0.35, dash=HIDDEN, fill=None, order=4.0))
                self.ink += [spaced(ring) for ring in rings]

    def ground(self, shown: Sequence[Piece]) -> None:
        """The ground under front and side, in one line; where it is far below, its distance."""
        low, _ = bounds(shown)
        front, side, _ = self.paper.views
        y = self.on(front, np.zeros(3))[1]
        left, right = front.corner[0] - 14.0, self.on(side, bounds(shown)[1])[0] + 10.0
        if y < EDGE + TITLE:
            text = f"ground {1000 * float(low[2]):.0f} below the lowest part"
            self.words.append(Words(text, (left, front.corner[1] - 21.5), 7.0, FAINT))
            return
        self.lines.append(Line(np.array([[left, y], [right, y]]), INK, 0.9, order=1.0))
        for x in np.arange(left + 1.5, right, 5.0):
            self.lines.append(Line(np.array([[x, y], [x - 1.5, y - 1.8]]), FAINT, 0.4, order=1.0))

    def sizes(self, parts: Sequence[Piece], dressed: Sequence[Piece]) -> None:
        """Overall width, height and depth of the parts, and with their looks where those reach further."""
        own = [[p for p in some if not p.scenery] or list(some) for some in (parts, dressed)]
        (low, high), (least, most) = (bounds(some) for some in own)
        front, side, top = self.paper.views
        for view, axis, upright in ((front, 0, False), (front, 2, True), (side, 1, False), (top, 1, True)):
            size, looks = (1000 * float(b[axis] - a[axis]) for a, b in ((low, high), (least, most)))
            text = f"{size:.0f}" + (f" (with looks {looks:.0f})" if looks > size + 0.5 else "")
            (x0, y0), (x1, y1) = self.on(view, low), self.on(view, high)
            base_x, base_y = view.corner
            if upright:
                self.dimension((x0, y0), (x0, y1), text, (base_x - 22.0 - x0, 0.0))
            else:
                self.dimension((x0, y0), (x1, y0), text, (0.0, base_y - 10.0 - y0))

    def dimension(
        self, a: tuple[float, float], b: tuple[float, float], text: str, off: tuple[float, float]
    ) -> None:
        """A dimension line from a to b, set off by `off` (all mm), with extension lines and its length in words."""
        pa, pb = np.add(a, off), np.add(b, off)
        for p, q in ((a, pa), (b, pb)):
            over = np.subtract(q, p)
            far = max(float(np.hypot(*over)), 1e-9)
            line = np.array([np.add(p, over * min(1.0, 1.5 / far)), np.add(q, over * 1.5 / far)])
            self.lines.append(Line(line, FAINT, 0.4, order=5.0))
        upright = abs(pb[1] - pa[1]) > abs(pb[0] - pa[0])
        self.lines.append(Line(np.array([pa, pb]), INK, 0.6, arrow="both", order=5.0))
        middle = ((pa[0] + pb[0]) / 2, (pa[1] + pb[1]) / 2)
        self.words.append(Words(text, middle, 7.5, across="center", upright=upright))

    def joints(self, named: bool = True) -> None:
        """Signs of all joints in all views, each named once."""
        for k, joint in enumerate(self.assembly.joints):
            if k in self.assembly.seams:
                continue
            point = self.place(joint)
            best = sight(joint, self.paper.views)
            for view in self.paper.views:
                along = abs(float(joint.axis @ view.near)) > 0.7
                sign = {
                    "hinge": "o" if along else "_",
                    "circle": "o",
                    "square": "s",
                    "diamond": "D",
                    "cross": "x",
                }
                self.signs.append((self.on(view, point), sign[joint.kind.mark]))
            if named:
                self.labels.append(Label(joint.name, self.on(best, point), MARK, 8.0))

    def motors(self) -> None:
        """A circle with an M round the joint of each motor, as circuit diagrams show machines; its name; and springs
        about pins."""
        joints = {j.name: j for j in self.assembly.joints}
        for name, motor in self.assembly.rig.motors.items():
            joint = joints[motor.joint]
            for view in self.paper.views:
                self._motor(self.on(view, self.place(joint)))
            self.labels.append(
                Label(f"motor {name}", self.on(sight(joint, self.paper.views), self.place(joint)), INK)
            )
        for name, spring in self.assembly.rig.springs.items():
            held = getattr(spring, "joint", None)
            if spring.line() is None and held in joints:
                at = self.on(sight(joints[held], self.paper.views), self.place(joints[held]))
                self.labels.append(Label(f"spring {name}", at, INK))

    def _motor(self, at: tuple[float, float]) -> None:
        angle = np.linspace(0, 2 * np.pi, 41)[:-1]
        ring = np.array(at) + 2.8 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        self.lines.append(Line(ring, INK, 0.9, closed=True, order=5.5))
        self.ink += [spaced(ring, 0.6)] * 2
        letter = Words("M", (at[0] + 3.1, at[1] + 3.1), 6.5, across="center", bold=True, pale=False)
        self.words.append(letter)

    def lines_between(self, shown: Sequence[Piece]) -> None:
        """Names of springs, pushers and pulls."""
        front = self.paper.views[0]
        for piece in shown:
            if piece.body < 0:
                corners = piece.corners
                off = corners - (corners.min(axis=0) + corners.max(axis=0)) / 2
                middle = corners[int(np.argmin(np.linalg.norm(off, axis=1)))]  # a cord isn't about its middle
                self.labels.append(Label(piece.name, self.on(front, middle), INK))

    def path(self, name: str, places: Array) -> None:
        """Where a point goes, and how far each way."""
        front = self.paper.views[0]
        for view in self.paper.views:
            self.lines.append(Line(on_paper(self.paper, view, places), PATH, 1.1, order=6.0))
        spans = zip(1000 * np.ptp(places, axis=0), ("across", "away", "up"), strict=True)
        said = [f"{span:.0f} {way}" for span, way in spans if span > 0.5]
        if said:
            at = self.on(front, places[int(np.argmax(places[:, 2]))])
            self.labels.append(Label(f"{name} travels {', '.join(said)}", at, PATH))

    def title(self, text: str) -> None:
        """Frame and title strip: name, unit, scale, projection."""
        wide, tall = self.paper.size
        right, high = wide - EDGE, tall - EDGE
        frame = np.array([[EDGE, EDGE], [right, EDGE], [right, high], [EDGE, high]])
        self.lines.append(Line(frame, INK, 0.9, closed=True, order=1.0))
        y = EDGE + TITLE
        self.lines.append(Line(np.array([[EDGE, y], [right, y]]), INK, 0.6, order=1.0))
        middle = EDGE + TITLE / 2
        self.words.append(Words(text, (EDGE + 4, middle), 10.0, bold=True))
        most = "sizes in mm" + (", without scenery" if any(b.scenery for b in self.assembly.bodies) else "")
        said = f"{most}   scale {scale_text(self.paper.scale)} on A3   third-angle projection"
        self.words.append(Words(said, (right - 26, middle), 8.0, across="right"))
        self._projection(right - 22, middle)

    def _projection(self, x: float, y: float) -> None:
        """The sign of third-angle projection: both circles of a blunt cone to the left of its side."""
        angle = np.linspace(0, 2 * np.pi, 41)[:-1]
        ring = np.stack([np.cos(angle), np.sin(angle)], axis=1)
        for radius in (1.5, 3.0):
            self.lines.append(Line(np.array([x + 4, y]) + radius * ring, INK, 0.6, closed=True))
        cone = np.array([[x + 10, y - 1.5], [x + 18, y - 3], [x + 18, y + 3], [x + 10, y + 1.5]])
        self.lines.append(Line(cone, INK, 0.6, closed=True))
        self.lines.append(Line(np.array([[x - 0.5, y], [x + 19.5, y]]), FAINT, 0.4, (0, (6, 1.5, 1.5, 1.5))))

    def notes(self, head: str, rows: Sequence[str], size: float = 7.5) -> None:
        """Rows of text in the free corner; what doesn't fit is counted."""
        if not rows:
            return
        left, low, _, high = self.paper.notes
        step = 1.5 * size * 25.4 / 72
        room = max(2, int((high - low) / step) - 1)
        shown = list(rows) if len(rows) <= room else [*rows[: room - 1], f"and {len(rows) - room + 1} more"]
        self.words.append(Words(head, (left, high - step / 2), size, bold=True))
        for k, row in enumerate(shown, 1):
            self.words.append(Words(row, (left, high - (k + 0.5) * step), size))

    def result(self) -> Drawing:
        """The drawing, with every label in its place."""
        wide, tall = self.paper.size
        page = (EDGE + 1, EDGE + TITLE + 1, wide - EDGE - 1, tall - EDGE - 1)
        taken = [words_box(w) for w in self.words] + self.spots
        ink = np.concatenate(self.ink) if self.ink else np.zeros((0, 2))
        names = placed(self.labels, taken, page, ink)
        return Drawing(self.paper.size, self.lines, self.words, self.signs, names)


def _tint(piece: Piece) -> tuple[float, float, float]:
    red, green, blue = (0.45 * c ** (1 / 2.2) + 0.55 for c in piece.surfaces[0].finish.colour)
    return (red, green, blue)


def spaced(ring: Array, step: float = 1.2) -> Array:
    """Places along a closed line (k, 2) mm, one every `step` mm at least, (n, 2)."""
    ends = np.roll(ring, -1, axis=0)
    count = np.maximum(1, np.ceil(np.hypot(*(ends - ring).T) / step).astype(int))
    return np.concatenate(
        [a + (b - a) * (np.arange(n) / n)[:, None] for a, b, n in zip(ring, ends, count, strict=True)]
    )
