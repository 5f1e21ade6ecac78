"""Answers of many variants against what varies: lines, heat maps, or scattered points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.errors import cut
from simprop.geometry.arrays import Array
from simprop.picture.chart.plots import INKS, TEXT, WIDE, figure, save, titled

MISSED, FAILED = "#d55e00", "#555555"
COLOURS = "cividis"  # even in lightness, and the same to colour-blind eyes
CELLS = 900
"""Cells of a heat map that may each have a mark in it."""
TICKS = 9
NARROW = 18
"""Letters beside each other below axes of which several stand in a row."""
STEEP = 30.0
"""An answer so many times the one in the middle calls for a logarithmic scale."""
FEWEST = 4
"""Rows and columns of scattered points that are drawn at most."""


@dataclass(frozen=True)
class Axis:
    """What varies or is answered.

    Attributes:
        label: with its unit.
        values: (n,), NaN where it isn't known; places in `names` where there are any.
        names: of what isn't a number.
        limits: levels at which an answer begins to be wanted or is wanted no more.
    """

    label: str
    values: Array
    names: tuple[str, ...] = ()
    limits: tuple[float, ...] = ()


@dataclass(frozen=True)
class Marks:
    """What became of each variant, (n,) each: whether it failed, and whether it misses a limit."""

    failed: NDArray[np.bool_]
    missed: NDArray[np.bool_]


def variants_plot(
    fields: Sequence[Axis], answers: Sequence[Axis], marks: Marks, path: Path, *, gridded: bool, title: str
) -> Path:
    """Draw answers over one field as lines, over two as heat maps, else as points over each field.

    Args:
        fields: what varies.
        answers: to each question.
        marks: what failed or misses a limit.
        path: PNG, SVG or PDF by its ending.
        gridded: whether every value meets every other.
        title: over it all.
    """
    if gridded and len(fields) == 1:
        page = _lines(fields[0], answers, marks, title)
    elif gridded and len(fields) == 2:
        page = _maps(fields[0], fields[1], answers, marks, title)
    else:
        page = _points(fields, answers, marks, title)
    save(page, path)
    return path


def _lines(field: Axis, answers: Sequence[Axis], marks: Marks, title: str) -> Any:
    page, axes = figure(
        WIDE, 2.3 * len(answers) + 0.7 + _below(field.names, 42), len(answers), 1, sharex=True
    )
    order = np.argsort(field.values, kind="stable")
    for one, answer in zip(axes[:, 0], answers, strict=True):
        line = "none" if field.names else "-"
        one.plot(field.values[order], answer.values[order], color=INKS[1], linewidth=1.4, linestyle=line)
        _dots(one, field, answer, marks, 6.0)
        one.set_ylabel(_folded(answer.label, 20), fontsize=TEXT)
    _named(axes[-1, 0], field)
    axes[-1, 0].set_xlabel(field.label, fontsize=TEXT)
    titled(axes[0, 0], title)
    _key(page, marks, any(a.limits for a in answers))
    return page


def _dots(axes: Any, field: Axis, answer: Axis, marks: Marks, dot: float) -> None:
    """A dot for each answer, hollow where a limit is missed, and a cross at the foot for what failed."""
    known = np.isfinite(answer.values)
    fine, missed = known & ~marks.missed, known & marks.missed
    look: dict[str, Any] = {"linestyle": "none", "marker": "o", "markersize": dot, "zorder": 3}
    axes.plot(field.values[fine], answer.values[fine], color=INKS[1], **look)
    axes.plot(field.values[missed], answer.values[missed], color="white", markeredgecolor=MISSED, **look)
    for level in answer.limits:
        axes.axhline(level, color="#666666", linewidth=0.9, linestyle=(0, (1, 2)), zorder=1)
    axes.set_yscale("log" if steep(answer) else "linear")
    axes.set_ylim(*_room(answer, bool(marks.failed.any())))
    failed = marks.failed & ~known
    axes.plot(
        field.values[failed], np.full(int(failed.sum()), 0.05), transform=axes.get_xaxis_transform(), color=FAILED,
        linestyle="none", marker="x", markersize=dot + 1, markeredgewidth=1.6, zorder=3,
    )  # fmt: skip


def steep(answer: Axis) -> bool:
    """Whether few answers are so much larger than the others that these show on a logarithmic scale alone.

    Example:
        >>> steep(Axis("force, N", np.array([1.0, 2.0, 3.0, 4000.0]))), steep(Axis("force, N", np.array([1.0, 2.0])))
        (True, False)
    """
    known = answer.values[np.isfinite(answer.values)]
    if not len(known) or min([*known, *answer.limits]) <= 0:
        return False
    return bool(known.max() > STEEP * np.median(known))


def _room(answer: Axis, failed: bool) -> tuple[float, float]:
    """Ends of an axis of answers: round what is known and its limits, with room at the foot for what failed."""
    known = [*answer.values[np.isfinite(answer.values)], *answer.limits]
    low, high = (float(min(known)), float(max(known))) if known else (0.0, 1.0)
    if steep(answer):
        wide = (high / low) ** (0.2 if failed else 0.07)
        return low / wide, high * (high / low) ** 0.07
    wide = (high - low) or abs(high) or 1.0
    return low - (0.2 if failed else 0.07) * wide, high + 0.07 * wide


def _key(page: Any, marks: Marks, limits: bool) -> None:
    """What hollow dots, crosses and dotted lines mean, below all axes."""
    words = []
    if marks.missed.any():
        words.append("hollow: misses a limit")
    if marks.failed.any():
        words.append("cross: no answer (see the table)")
    if limits:
        words.append("dotted: a limit")
    _foot(page, words)


def _foot(page: Any, words: Sequence[str]) -> None:
    if words:
        page.supxlabel("   ".join(words), fontsize=TEXT - 1.5, color="#444444")


def _told(names: Sequence[str], letters: int) -> tuple[list[str], bool]:
    """Few enough of some names to be read below axes, and whether they need more than so many letters in a row."""
    few = names[:: -(-len(names) // TICKS)]
    folded = [_folded(name, 14) for name in few]
    longest = max((len(line) for name in folded for line in name.split("\n")), default=0)
    if len(folded) * (longest + 2) <= letters:
        return folded, False
    return [cut(name, 26) for name in few], True


def _below(names: Sequence[str], letters: int) -> float:
    """Room that names below axes take more than numbers do, inches."""
    told, aslant = _told(names, letters) if names else ([], False)
    return (0.1 if letters <= NARROW else 0.06) * max(map(len, told)) if aslant else 0.0


def _ticks(axes: Any, places: Array, names: Sequence[str], way: str, letters: int = 42) -> None:
    """Names at some places of an axis, turned where they don't fit beside each other."""
    step = -(-len(names) // TICKS)
    told, aslant = _told(names, letters)
    options: dict[str, Any] = {}
    if way == "x" and aslant:
        options = {"rotation": 90} if letters <= NARROW else {"rotation": 35, "ha": "right"}
        options["rotation_mode"] = "anchor" if letters > NARROW else "default"
    if way == "y":
        told = [_folded(name, 14) for name in names[::step]]
    getattr(axes, f"set_{way}ticks")(places[::step], told, fontsize=TEXT, **options)


def _named(axes: Any, field: Axis, letters: int = 42) -> None:
    """Names below axes of what isn't a number."""
    if field.names:
        _ticks(axes, np.arange(len(field.names), dtype=np.float64), field.names, "x", letters)
        axes.set_xlim(-0.5, len(field.names) - 0.5)


def _folded(text: str, letters: int) -> str:
    from textwrap import fill

    return fill(text, letters, break_long_words=False)


@dataclass(frozen=True)
class _Side:
    """One side of a heat map: the cell of each variant along it, where cells have their middles, how wide they are, and
    what is written at them; () of numbers that the axis itself tells."""

    cell: NDArray[np.intp]
    middles: Array
    wide: float
    names: tuple[str, ...]


def _side(field: Axis) -> _Side:
    """Numbers that are evenly apart stand where they are, all else in a row."""
    values, cell = np.unique(field.values, return_inverse=True)
    steps = np.diff(values)
    if not field.names and len(steps) and np.allclose(steps, steps[0], rtol=0.01):
        names = tuple(f"{v:.5g}" for v in values) if len(values) <= TICKS else ()
        return _Side(cell, values, float(steps[0]), names)
    row = np.arange(len(values), dtype=np.float64)
    names = tuple(field.names[int(v)] if field.names else f"{v:.5g}" for v in values)
    return _Side(cell, row, 1.0, names)


def _maps(across: Axis, up: Axis, answers: Sequence[Axis], marks: Marks, title: str) -> Any:
    """A heat map for each answer: the first field to the right, the second upwards."""
    x, y = _side(across), _side(up)
    high = min(2.7, 1.0 + 0.35 * len(y.middles))
    page, axes = figure(WIDE, high * len(answers) + 1.0 + _below(x.names, 42), len(answers), 1, sharex=True)
    edges = [
        v for side in (x, y) for v in (side.middles[0] - side.wide / 2, side.middles[-1] + side.wide / 2)
    ]
    for one, answer in zip(axes[:, 0], answers, strict=True):
        one.grid(False)
        cells = np.full((len(y.middles), len(x.middles)), np.nan)
        cells[y.cell, x.cell] = answer.values
        drawn = one.imshow(
            cells, origin="lower", aspect="auto", cmap=COLOURS, interpolation="nearest", extent=edges,
            norm="log" if steep(answer) else "linear",
        )  # fmt: skip
        bar = page.colorbar(drawn, ax=one, pad=0.02)
        bar.set_label(_folded(answer.label, 22), fontsize=TEXT)
        bar.ax.tick_params(labelsize=TEXT)
        _hatch(one, cells, x, y)
        if cells.size <= CELLS:
            own = marks.missed & np.isfinite(answer.values)
            _rings(one, x.middles[x.cell[own]], y.middles[y.cell[own]], min(7.0, 130.0 / max(cells.shape)))
        for way, side in (("x", x), ("y", y)):
            if side.names:
                _ticks(one, side.middles, side.names, way)
            getattr(one, f"set_{way}lim")(*edges[:2] if way == "x" else edges[2:])
        one.set_ylabel(_folded(up.label, 24), fontsize=TEXT)
    axes[-1, 0].set_xlabel(across.label, fontsize=TEXT)
    titled(axes[0, 0], title)
    words = ["circle: misses a limit"] if marks.missed.any() and len(marks.missed) <= CELLS else []
    unknown = any(np.isnan(a.values).any() for a in answers)
    blank = "hatched" if len(marks.missed) <= CELLS else "white"
    _foot(page, [*words, *([f"{blank}: no answer (see the table)"] if unknown else [])])
    return page


def _hatch(axes: Any, cells: Array, x: _Side, y: _Side) -> None:
    """Hatches over cells without an answer; where these are too fine the ground alone shows."""
    from matplotlib.patches import Rectangle

    if cells.size > CELLS:
        return
    axes.set_facecolor("#f1f0ec")
    for row, column in np.argwhere(np.isnan(cells)):
        box = (x.middles[column] - x.wide / 2, y.middles[row] - y.wide / 2)
        axes.add_patch(
            Rectangle(box, x.wide, y.wide, fill=False, hatch="////", edgecolor="#a6a39a", linewidth=0)
        )


def _rings(axes: Any, x: Array, y: Array, dot: float) -> None:
    look: dict[str, Any] = {"linestyle": "none", "marker": "o", "markersize": dot, "color": "none"}
    axes.plot(x, y, markeredgecolor="white", markeredgewidth=2.2, **look)
    axes.plot(x, y, markeredgecolor=MISSED, **look)


def _points(fields: Sequence[Axis], answers: Sequence[Axis], marks: Marks, title: str) -> Any:
    """Each answer over each field, all variants as points."""
    left = [f"{len(rows) - FEWEST} more not drawn" for rows in (fields, answers) if len(rows) > FEWEST]
    fields, answers = fields[:FEWEST], answers[:FEWEST]
    room = max(_below(field.names, NARROW) for field in fields)
    width = max(WIDE, 1.9 * len(fields) + 1.0)
    page, axes = figure(
        width, 2.0 * len(answers) + 1.0 + room, len(answers), len(fields), sharey="row", sharex="col"
    )
    for row, answer in zip(axes, answers, strict=True):
        for one, field in zip(row, fields, strict=True):
            _dots(one, field, answer, marks, 4.0)
        row[0].set_ylabel(_folded(answer.label, 18), fontsize=TEXT)
    for one, field in zip(axes[-1], fields, strict=True):
        _named(one, field, NARROW)
        one.set_xlabel(_folded(field.label, 18), fontsize=TEXT)
    page.suptitle("; ".join([title, *left]), fontsize=TEXT + 0.8, x=0.02, ha="left")
    _key(page, marks, any(a.limits for a in answers))
    return page
