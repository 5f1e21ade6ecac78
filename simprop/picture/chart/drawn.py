"""A drawing as data, in mm on paper, and how it is put into a file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from simprop.geometry.arrays import Array
from simprop.picture.chart.labels import Box, Placed, extent, leader
from simprop.picture.chart.plots import encoded, save

INK = "#1c1e22"
FAINT = "#8a8d92"
MARK = "#b3400a"
PATH = "#0072b2"

# Kinds of line after ISO 128-2 (from memory): continuous, hidden, centre line, what is beside the part itself.
FULL, HIDDEN, CENTRE, BESIDE = "-", (0, (4, 2)), (0, (10, 2, 2, 2)), (0, (9, 1.6, 1.2, 1.6, 1.2, 1.6))


@dataclass(frozen=True)
class Line:
    """A line on paper.

    Attributes:
        points: (k, 2) mm.
        ink: colour.
        width: points.
        dash: as matplotlib takes it.
        closed: back to its first point.
        fill: colour inside, with opacity; None for none.
        arrow: a head at its end, or at both ends.
        order: later is over earlier.
        holes: further closed lines of the same area, (k, 2) mm each.
    """

    points: Array
    ink: str = INK
    width: float = 0.7
    dash: Any = FULL
    closed: bool = False
    fill: tuple[float, float, float, float] | None = None
    arrow: Literal["", "end", "both"] = ""
    order: float = 2.0
    holes: tuple[Array, ...] = ()


@dataclass(frozen=True)
class Words:
    """Text on paper: x and y in mm, size in points, which place of it stands there, and whether the drawing is pale
    under it."""

    text: str
    at: tuple[float, float]
    size: float = 7.5
    ink: str = INK
    across: str = "left"
    upright: bool = False
    bold: bool = False
    pale: bool = True


@dataclass(frozen=True)
class Drawing:
    """All of a sheet.

    Attributes:
        size: width and height, mm.
        lines, words: as above.
        marks: places with a sign of matplotlib's.
        labels: names, each with a thin line to what it names.
    """

    size: tuple[float, float]
    lines: Sequence[Line]
    words: Sequence[Words]
    marks: Sequence[tuple[tuple[float, float], str]]
    labels: Sequence[Placed]


def words_box(words: Words) -> Box:
    """What a text fills, mm."""
    wide, tall = extent(words.text, words.size)
    if words.upright:
        wide, tall = tall, wide
    x = words.at[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[words.across] * wide
    y = words.at[1] - 0.5 * tall
    return x, y, x + wide, y + tall


def _pale(box: Box, axes: Any, order: float) -> None:
    from matplotlib.patches import Rectangle

    left, low, right, high = box
    size = right - left + 0.6, high - low
    axes.add_patch(
        Rectangle((left - 0.3, low), *size, facecolor="white", alpha=0.8, linewidth=0, zorder=order)
    )


def paint(drawing: Drawing, path: Path) -> Path:
    """Write a drawing, true to scale on its sheet; the ending chooses SVG, PDF or PNG."""
    save(_page(drawing), path, 130.0)
    return path


def painted(drawing: Drawing, ending: str = "svg", under: Any = None) -> bytes:
    """A drawing as a file holds it, true to scale on its sheet.

    Args:
        ending: svg, or jpg of 150 dots an inch.
        under: picture under it, (height, width, 3) uint8; None for none.
    """
    return encoded(_page(drawing, under), ending, 150.0)


def _page(drawing: Drawing, under: Any = None) -> Any:
    """A drawing as a figure of matplotlib's."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    wide, tall = drawing.size
    page = Figure(figsize=(wide / 25.4, tall / 25.4))
    FigureCanvasAgg(page)
    axes = page.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0, wide)
    axes.set_ylim(0, tall)
    axes.axis("off")
    if under is not None:
        axes.imshow(under, extent=(0, wide, 0, tall), aspect="auto", zorder=0, interpolation="lanczos")
    for line in drawing.lines:
        _line(axes, line)
    for at, mark in drawing.marks:
        axes.plot(
            *at, mark, color=MARK, markersize=4.5, markerfacecolor="white", markeredgewidth=1.1, zorder=7
        )
    for placed in drawing.labels:
        (x, y), (u, v) = leader(placed)
        label = placed.label
        axes.plot([x, u], [y, v], color=label.ink, linewidth=0.4, zorder=6)
        _pale(placed.box, axes, 8)
        left, low, _, high = placed.box
        axes.text(
            left, (low + high) / 2, label.text, fontsize=label.size, color=label.ink, va="center_baseline", zorder=9
        )  # fmt: skip
    for words in drawing.words:
        if words.pale:
            _pale(words_box(words), axes, 8)
        axes.text(
            *words.at, words.text, fontsize=words.size, color=words.ink, ha=words.across, va="center", zorder=9,
            rotation=90 if words.upright else 0, weight="bold" if words.bold else "normal",
        )  # fmt: skip
    return page


def _line(axes: Any, line: Line) -> None:
    from matplotlib.patches import FancyArrowPatch, PathPatch
    from matplotlib.path import Path as Outline

    if line.arrow:
        head = "<|-|>" if line.arrow == "both" else "-|>"
        look = {"arrowstyle": head, "mutation_scale": 7, "linestyle": line.dash, "shrinkA": 0, "shrinkB": 0}
        axes.add_patch(
            FancyArrowPatch(
                path=Outline(line.points), color=line.ink, linewidth=line.width, zorder=line.order, **look
            )
        )
        return
    if not line.closed:
        axes.plot(
            *line.points.T, color=line.ink, linewidth=line.width, linestyle=line.dash, zorder=line.order,
            solid_capstyle="butt",
        )  # fmt: skip
        return
    rings = [Outline(np.concatenate([r, r[:1]]), closed=True) for r in (line.points, *line.holes)]
    axes.add_patch(
        PathPatch(
            Outline.make_compound_path(*rings), facecolor=line.fill or "none", edgecolor=line.ink, linewidth=line.width,
            linestyle=line.dash, zorder=line.order, joinstyle="round",
        )
    )  # fmt: skip
