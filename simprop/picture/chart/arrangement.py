"""A prop as it goes together: one view on a sheet as wide as a page, parts numbered, pivots by their places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly, JointData
from simprop.geometry.arrays import Array
from simprop.making.numbers import PartNumbers
from simprop.picture.chart.balloons import balloons, circled, spots
from simprop.picture.chart.dimensions import ROW, SIZE, THICK, THIN, chain, figure
from simprop.picture.chart.drawings import Marks, sight, travel
from simprop.picture.chart.drawn import FULL, INK, Drawing, Line, Words
from simprop.picture.chart.labels import Label, extent
from simprop.picture.chart.paper import STEPS, Paper, View
from simprop.picture.chart.part_drawings import FACES
from simprop.picture.chart.pieces import Piece, bounds, pieces, pose_at
from simprop.picture.chart.plots import spread

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

WIDE, TALL = 180.0, 205.0
"""Largest sheet, mm: within the margins of A4 and of Letter, with a caption below."""
NARROW = 87.0
"""Least width of a sheet, mm: two of them stand side by side on a page."""
LEFT, RIGHT, BELOW, ABOVE = 24.0, 24.0, 22.0, 14.0
"""Room about the view for places, sizes and names, mm."""
EDGE = 1.0
LARGEST = 0.5
PREFER = 0.6
"""A part is numbered from the front unless another view shows so much more of it."""
GREY = "#5b5e63"


@dataclass(frozen=True)
class Arrangement:
    """A view of a prop.

    Attributes:
        view: its name.
        drawing: the sheet.
        scale: mm of the prop for one on paper.
        datum: name of the joint from which places across are measured; "" where none are.
    """

    view: str
    drawing: Drawing
    scale: float
    datum: str


def arrangements(
    assembly: Assembly, track: Trajectory | None, numbers: PartNumbers
) -> tuple[Arrangement, ...]:
    """Front and side of a prop in its start pose, and from above where a joint or a part is seen best from there.

    Args:
        assembly: the prop.
        track: its motion, for the paths of watched points; None: without.
        numbers: of its parts.
    """
    shown = [p for p in pieces(assembly, pose_at(assembly, None, 0.0), looks=False) if not p.scenery]
    best = {place: _best(_corners(assembly, place)) for place in numbers.of}
    joints = [k for k in range(len(assembly.joints)) if k not in assembly.seams]
    facing = {k: FACES.index(sight(assembly.joints[k], FACES)) for k in joints}
    faces = [k for k in range(3) if k < 2 or k in facing.values() or k in best.values()]
    return tuple(_View(assembly, track, numbers, k, shown, best, facing).drawn() for k in faces)


def _corners(assembly: Assembly, place: tuple[str, int]) -> Array:
    """Corners of the box about a part, (8, 3) m in the world."""
    body = next(b for b in assembly.drawn if b.name == place[0])
    middle, axes, half = body.shapes[place[1]].box()
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    return np.asarray(body.com + middle + (signs * half) @ axes.T)


def _best(corners: Array) -> int:
    """Index of the view that shows most of a part."""
    size = np.ptp(corners, axis=0)
    areas = [float(size[view.plane[0]] * size[view.plane[1]]) for view in FACES]
    areas[0] /= PREFER
    return int(np.argmax(areas))


def _paper(face: View, low: Array, high: Array) -> Paper:
    """A sheet with one view at the largest scale that fits, no larger than it needs."""
    across, up = (1000 * float(high[k] - low[k]) for k in face.plane)
    need = max(across / (WIDE - LEFT - RIGHT), up / (TALL - BELOW - ABOVE), LARGEST)
    scale = next(k * 10.0**p for p in range(-1, 6) for k in STEPS if k * 10.0**p >= need)
    size = (max(across / scale + LEFT + RIGHT, NARROW), up / scale + BELOW + ABOVE)
    corner = (LEFT + (size[0] - LEFT - RIGHT - across / scale) / 2, BELOW)
    view = replace(face, corner=corner, low=(float(low[face.plane[0]]), float(low[face.plane[1]])))
    return Paper(size, scale, (view,), (0.0, 0.0, 0.0, 0.0))


class _View(Marks):
    """A sheet with one view as it is put together."""

    def __init__(
        self,
        assembly: Assembly,
        track: Trajectory | None,
        numbers: PartNumbers,
        face: int,
        shown: Sequence[Piece],
        best: dict[tuple[str, int], int],
        facing: dict[int, int],
    ):
        self.paths = travel(assembly, track) if face == 0 else {}
        self.low, self.high = bounds(shown)
        low, high = self.low.copy(), self.high.copy()
        for places in self.paths.values():
            low, high = np.minimum(low, places.min(axis=0)), np.maximum(high, places.max(axis=0))
        if face < 2 and 0 < low[2] < 0.35 * (high[2] - low[2]):
            low[2] = 0.0
        super().__init__(assembly, _paper(FACES[face], low, high), pose_at(assembly, None, 0.0))
        self.words = []
        self.face, self.numbers, self.shown, self.best, self.facing = face, numbers, shown, best, facing

    @property
    def view(self) -> View:
        """The one that is shown."""
        return self.paper.views[0]

    def drawn(self) -> Arrangement:
        """All of it."""
        self.pieces(self.shown, FULL)
        self.lines = [replace(line, width=THICK if line.fill is not None else THIN) for line in self.lines]
        if self.face < 2:
            self._floor()
        own = [k for k, face in self.facing.items() if face == self.face]
        self._signs(own)
        datum = self._places([self.assembly.joints[k] for k in own])
        self._overall()
        if self.face == 0:
            self.motors()
            self.lines_between(self.shown)
            for name, path in self.paths.items():
                self.path(name, path)
        numbers = self._balloons()
        self.labels += numbers
        sheet = self.result()
        rings = circled([p for p in sheet.labels if any(p.label is label for label in numbers)])
        labels = [replace(p, label=replace(p.label, ink=INK)) for p in sheet.labels]
        drawing = replace(sheet, lines=[*sheet.lines, *rings], labels=labels)
        return Arrangement(self.view.name, drawing, self.paper.scale, datum)

    def _floor(self) -> None:
        """The ground, where it is on the sheet."""
        y = self.on(self.view, np.zeros(3))[1]
        if y > EDGE + 2:
            left, right = self.on(self.view, self.low)[0] - 8.0, self.on(self.view, self.high)[0] + 8.0
            self.lines.append(Line(np.array([[left, y], [right, y]]), INK, THICK, order=1.0))
            for x in np.arange(left + 1.5, right, 5.0):
                self.lines.append(Line(np.array([[x, y], [x - 1.5, y - 1.8]]), GREY, THIN, order=1.0))

    def _signs(self, own: Sequence[int]) -> None:
        """Signs of all joints; the names of those that are seen best from here."""
        before = len(self.labels)
        self.joints(named=False)
        del self.labels[before:]
        for k in own:
            joint = self.assembly.joints[k]
            self.labels.append(
                Label(joint.name.replace("_", " "), self.on(self.view, joint.point), INK, SIZE)
            )

    def _places(self, own: Sequence[JointData]) -> str:
        """Heights of the joints on the left, and places across below; the name of the joint that these count from."""
        if not own:
            return ""
        still = [
            j for j in own if self.assembly.bodies[j.first].fixed or self.assembly.bodies[j.second].fixed
        ]
        datum = (still or list(own))[0]
        right, up = self.view.plane
        base = 0.0 if up == 2 else float(datum.point[up])
        corner = self.on(self.view, self.low)
        self._ordinates(
            [float(j.point[up]) - base for j in own],
            [self.on(self.view, j.point)[::-1] for j in own],
            corner[0],
            True,
        )
        across = [float(j.point[right] - datum.point[right]) for j in own]
        self._ordinates(across, [self.on(self.view, j.point) for j in own], corner[1], False)
        return datum.name

    def _ordinates(
        self, values: Sequence[float], spots: Sequence[tuple[float, float]], edge: float, upright: bool
    ) -> None:
        """Places on thin lines that lead out of the view, none over another.

        Args:
            values: m.
            spots: place along the row of figures, and across it, mm on paper.
            edge: of the view, on the side of the figures, mm on paper.
            upright: the row runs up the sheet.
        """
        found: dict[str, tuple[float, float]] = {}
        for value, (along, across) in zip(values, spots, strict=True):
            text = figure(value)
            found[text] = (along, max(across, found.get(text, (0.0, across))[1]))
        wide = max(extent(text, SIZE)[0] for text in found)
        size = self.paper.size[1 if upright else 0]
        gap = ROW if upright else ROW + 0.2
        laid = spread([along for along, _ in found.values()], gap, EDGE + 2.0, size - EDGE - 2.0)
        near, far = edge - 5.0, edge - 9.0
        for (text, (along, across)), place in zip(found.items(), laid, strict=True):
            points = np.array([[along, across], [along, near], [place, far]])
            points = points[:, ::-1] if upright else points
            self.lines.append(Line(points, GREY, THIN, order=1.5))
            if upright:
                self.words.append(Words(text, (far - 0.6, place), SIZE, across="right"))
            else:
                self.words.append(
                    Words(text, (place, far - 0.8 - wide / 2), SIZE, across="center", upright=True)
                )

    def _overall(self) -> None:
        """Width above, height on the right."""
        view = self.view
        right, up = view.plane
        (x0, y0), (x1, y1) = self.on(view, self.low), self.on(view, self.high)
        most = (EDGE, self.paper.size[0] - EDGE), (EDGE, self.paper.size[1] - EDGE)
        texts = [figure(float(self.high[k] - self.low[k])) for k in (right, up)]
        for places, text, line, feature, limits, upright in (
            ([x0, x1], texts[0], y1 + 6.0, y1, most[0], False),
            ([y0, y1], texts[1], x1 + 22.0, x1, most[1], True),
        ):
            lines, words = chain(places, [text], line, feature, limits, upright=upright)
            self.lines += lines
            self.words += words

    def _balloons(self) -> list[Label]:
        """The numbers of the parts that this view shows best."""
        found = {
            place: np.array([self.on(self.view, spot) for spot in spots(self.assembly, place)])
            for place, face in self.best.items()
            if face == self.face
        }
        return balloons(found, self.numbers.of, [np.array(label.at) for label in self.labels])
