"""A quick look at a rig as it is read, without running it: what is called what, what turns and slides which way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from simprop.assembly.types import Assembly, Axis
from simprop.engine.acting.actuation import Actuation
from simprop.geometry.arrays import Array
from simprop.geometry.surface import frame_along
from simprop.picture.chart.drawings import Marks, sheet_for, sight, spaced
from simprop.picture.chart.drawn import CENTRE, FULL, INK, MARK, Drawing, Line, paint
from simprop.picture.chart.labels import Label
from simprop.picture.chart.paper import Paper, View, on_paper
from simprop.picture.chart.pieces import Piece, Pose, pieces, pose_at
from simprop.picture.render.watch import watched

ROUND = 4.2
"""Radius of an arrow that says which way a joint turns, mm on paper."""
SLIDE = 13.0
"""Length of an arrow that says which way a joint slides, mm."""
SENSE = "#00725a"
POINT = "#0072b2"
TOUCH = "#9b2f6f"
GREY = "#6a6d72"
MERGED = 1e-3
"""Names of one spot, nearer than this, share a label, m."""
ALONE = 2.5
"""Parts whose middles lie nearer than this on paper are named in different views, mm."""


def quick_look(assembly: Assembly, acting: Actuation, path: str | Path) -> Path:
    """Draw a rig in its start pose: names of parts, joints, points, contacts, lines; senses of turning and sliding.

    Args:
        acting: what acts on it; its contacts are drawn.
        path: SVG, PDF or PNG by its ending.

    Returns:
        The path written.

    Raises:
        RenderError: where nothing is visible.
    """
    return paint(looked(assembly, acting), Path(path))


def looked(assembly: Assembly, acting: Actuation) -> Drawing:
    """The same as data; its labels lie over none of each other."""
    pose = pose_at(assembly, None, 0.0)
    shown = pieces(assembly, pose, looks=False)
    found = _Look(assembly, sheet_for(shown, []), pose)
    found.pieces(shown, FULL)
    found.ground(shown)
    found.sizes(shown, shown)
    found.joints(named=False)
    found.names()
    found.motors()
    found.lines_between(shown)
    for axis in assembly.axes:
        if axis.joint not in assembly.seams:
            found.sense(axis)
    found.points()
    found.touches(acting)
    found.parts(shown)
    found.title(f"{assembly.rig.name} as read, not run")
    found.notes("How to read it", HOW)
    return found.result()


HOW = (
    "Curved arrow: which way a joint's angle counts,",
    "its second body against its first.",
    "Straight arrow: which way its slide counts.",
    "Triangle: a contact. Cross: a point of the rig.",
    "Sizes are those of the parts, without looks.",
)


class _Look(Marks):
    """A quick look as it is put together; joints and points have their places, names and labels in `known`."""

    def __init__(self, assembly: Assembly, paper: Paper, pose: Pose):
        super().__init__(assembly, paper, pose)
        self.known: list[tuple[Array, str, int]] = []

    def names(self) -> None:
        """Each joint with the bodies that it joins."""
        for k, joint in enumerate(self.assembly.joints):
            if k in self.assembly.seams:
                continue
            one, two = (self.assembly.bodies[i].called for i in (joint.first, joint.second))
            at = self.on(sight(joint, self.paper.views), joint.point)
            self.known.append((joint.point, joint.name, len(self.labels)))
            self.labels.append(Label(f"{joint.name}: {two} on {one}", at, MARK, 8.0))

    def sense(self, axis: Axis) -> None:
        """Which way a coordinate counts, in every view that shows it."""
        joint = self.assembly.joints[axis.joint]
        for view in self.paper.views:
            towards = float(axis.way @ view.near)
            if axis.motion == "turn" and abs(towards) > 0.3:
                self._round(joint.point, axis.way, view)
            elif axis.motion == "turn":
                self._straight(joint.point, axis.way, view, CENTRE, 0.0)
            elif abs(towards) < 0.95:
                self._straight(joint.point, axis.way, view, FULL, 3.2)

    def _round(self, point: Array, way: Array, view: View) -> None:
        radius = ROUND * self.paper.scale / 1000
        right = np.eye(3)[view.plane[0]]
        _, u, v = frame_along(way, right)
        angle = np.radians(np.linspace(20, 290, 28))
        ring = point + radius * (np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v)
        self._clear(Line(on_paper(self.paper, view, ring), SENSE, 1.1, arrow="end", order=6.0))

    def _straight(self, point: Array, way: Array, view: View, dash: object, aside: float) -> None:
        flat = way[list(view.plane)]
        flat = flat / np.hypot(*flat)
        middle = np.array(self.on(view, point)) + aside * np.array([flat[1], -flat[0]])
        ends = middle + np.outer([-0.5, 0.5], flat) * SLIDE
        width = 0.6 if aside == 0 else 1.3
        self._clear(Line(ends, SENSE, width, dash, arrow="end", order=6.0))

    def _clear(self, line: Line) -> None:
        """Draws an arrow that no label should cover."""
        self.lines.append(line)
        self.ink += [spaced(line.points, 0.6)] * 2

    def points(self) -> None:
        """A cross and a name at each named point; one that is where a joint is named already shares its label."""
        front = self.paper.views[0]
        for name in self.assembly.rig.points:
            (point,) = watched(self.assembly, [name])
            place = self.assembly.bodies[point.body].com + point.local
            for view in self.paper.views:
                x, y = self.on(view, place)
                for tilt in (1.0, -1.0):
                    cross = np.array([[x - 1.0, y - tilt], [x + 1.0, y + tilt]])
                    self.lines.append(Line(cross, POINT, 0.8, order=6.5))
            shared = [(k, own) for spot, own, k in self.known if np.linalg.norm(spot - place) < MERGED]
            if shared and name not in [own for _, own in shared]:
                k = shared[0][0]
                self.labels[k] = replace(self.labels[k], text=f"{self.labels[k].text}, {name}")
            if not shared:
                self.known.append((place, name, len(self.labels)))
                self.labels.append(Label(name, self.on(front, place), POINT, 7.0))

    def touches(self, acting: Actuation) -> None:
        """A triangle under each contact, its tip where it touches, along the normal of the face."""
        bodies = self.assembly.bodies
        for touch in acting.touches:
            if touch.joint >= 0:
                continue
            centre = bodies[touch.second].com + touch.second_point
            down = touch.middle if touch.cam else -touch.direction
            tip = centre + touch.radius * down
            for view in self.paper.views:
                flat = down[list(view.plane)]
                at = np.array(self.on(view, tip))
                if np.hypot(*flat) > 0.3:
                    flat = flat / np.hypot(*flat)
                    across = np.array([-flat[1], flat[0]])
                    corners = np.array([at, at + 3 * flat + 1.8 * across, at + 3 * flat - 1.8 * across])
                    self.lines.append(
                        Line(corners, TOUCH, 0.9, closed=True, fill=(1.0, 1.0, 1.0, 0.8), order=6.0)
                    )
            on = "floor" if touch.first < 0 else bodies[touch.first].called
            text = f"contact {touch.name}: {bodies[touch.second].called} on {on}"
            self.labels.append(Label(text, self.on(self.paper.views[0], tip), TOUCH, 7.0))

    def parts(self, shown: list[Piece]) -> None:
        """The name of each part in the view that shows most of it."""
        done: set[str] = set()
        for piece in shown:
            if piece.body < 0 or piece.name in done:
                continue
            done.add(piece.name)
            corners = piece.corners
            size = np.ptp(corners, axis=0)
            middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
            areas = [float(size[v.plane[0]] * size[v.plane[1]]) for v in self.paper.views]
            order = np.argsort([-a for a in [areas[0] / 0.6, *areas[1:]]], kind="stable")
            spots = [self.on(self.paper.views[k], middle) for k in order]
            free = [at for at in spots if all(np.hypot(*np.subtract(at, o.at)) > ALONE for o in self.labels)]
            self.labels.append(Label(piece.name, (free or spots)[0], INK if not piece.scenery else GREY, 7.0))
