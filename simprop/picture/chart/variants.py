"""Answers of many variants against what varies: lines, heat maps, or scattered points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.picture.chart.plots import INKS, TEXT, WIDE, figure, save, titled

MISSED, FAILED = "#d55e00", "#555555"
COLOURS = "cividis"  # even in lightness, and the same to colour-blind eyes
CELLS = 900
"""Cells of a heat map that may each have a mark in it."""
TICKS = 9
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
    page, axes = figure(WIDE, 2.3 * len(answers) + 0.7, len(answers), 1, sharex=True)
    order = np.argsort(field.values, kind="stable")
    for one, answer in zip(axes[:, 0], answers, strict=True):
        line = "none" if field.names else "-"
        one.plot(field.values[order], answer.values[order], color=INKS[1], linewidth=1.4, linestyle=line)
        _dots(one, field, answer, marks, 6.0)
        one.set_ylabel(_folded(answer.label, 20), fontsize=TEXT)
    _ticks(axes[-1, 0], field, "x")
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


def _ticks(axes: Any, field: Axis, way: str, letters: int = 42) -> None:
    """Names in place of numbers, few enough to be read, aslant where they need more than so many letters."""
    if not field.names:
        return
    step = -(-len(field.names) // TICKS)
    places = list(range(0, len(field.names), step))
    names = [_folded(field.names[k], 14) for k in places]
    options = (
        {"rotation": 35, "ha": "right", "rotation_mode": "anchor"} if len(places) > 4 and way == "x" else {}
    )
    getattr(axes, f"set_{way}ticks")(places, names, fontsize=TEXT, **options)
    getattr(axes, f"set_{way}lim")(-0.5, len(field.names) - 0.5)


def _folded(text: str, letters: int) -> str:
    from textwrap import fill

    return fill(text, letters, break_long_words=False)


def _maps(across: Axis, up: Axis, answers: Sequence[Axis], marks: Marks, title: str) -> Any:
    """A heat map for each answer: the first field to the right, the second upwards."""
    (x, xs), (y, ys) = _places(across), _places(up)
    high = min(2.7, 1.0 + 0.35 * len(ys))
    page, axes = figure(WIDE, high * len(answers) + 1.0, len(answers), 1, sharex=True)
    for one, answer in zip(axes[:, 0], answers, strict=True):
        one.grid(False)
        cells = np.full((len(ys), len(xs)), np.nan)
        cells[y, x] = answer.values
        look = {"norm": "log"} if steep(answer) else {}
        drawn = one.imshow(
            cells, origin="lower", aspect="auto", cmap=COLOURS, interpolation="nearest", **look
        )
        bar = page.colorbar(drawn, ax=one, pad=0.02)
        bar.set_label(_folded(answer.label, 22), fontsize=TEXT)
        bar.ax.tick_params(labelsize=TEXT)
        _hatch(one, cells)
        if len(xs) * len(ys) <= CELLS:
            _missed(one, x, y, answer, marks, min(7.0, 130.0 / max(len(xs), len(ys))))
        for way, field, values in (("x", across, xs), ("y", up, ys)):
            _ticks(
                one, Axis(field.label, field.values, field.names or tuple(f"{v:.5g}" for v in values)), way
            )
        one.set_ylabel(_folded(up.label, 24), fontsize=TEXT)
    axes[-1, 0].set_xlabel(across.label, fontsize=TEXT)
    titled(axes[0, 0], title)
    words = ["circle: misses a limit"] if marks.missed.any() and len(x) <= CELLS else []
    unknown = marks.failed.any() or any(np.isnan(a.values).any() for a in answers)
    _foot(page, [*words, *(["hatched: no answer (see the table)"] if unknown else [])])
    return page


def _places(field: Axis) -> tuple[NDArray[np.intp], Array]:
    """The place of each variant along an axis of a heat map, and the values there."""
    if field.names:
        return field.values.astype(np.intp), np.arange(len(field.names), dtype=np.float64)
    values, places = np.unique(field.values, return_inverse=True)
    return places, values


def _hatch(axes: Any, cells: Array) -> None:
    from matplotlib.patches import Rectangle

    axes.set_facecolor("#f1f0ec")
    for row, column in np.argwhere(np.isnan(cells)):
        box = (column - 0.5, row - 0.5)
        axes.add_patch(Rectangle(box, 1, 1, fill=False, hatch="////", edgecolor="#a6a39a", linewidth=0))


def _missed(axes: Any, x: Any, y: Any, answer: Axis, marks: Marks, dot: float) -> None:
    own = marks.missed & np.isfinite(answer.values)
    axes.plot(
        x[own], y[own], linestyle="none", marker="o", markersize=dot, color="none", markeredgecolor="white",
        markeredgewidth=2.2,
    )  # fmt: skip
    axes.plot(
        x[own], y[own], linestyle="none", marker="o", markersize=dot, color="none", markeredgecolor=MISSED
    )


def _points(fields: Sequence[Axis], answers: Sequence[Axis], marks: Marks, title: str) -> Any:
    """Each answer over each field, all variants as points."""
    left = [f"{len(rows) - FEWEST} more not drawn" for rows in (fields, answers) if len(rows) > FEWEST]
    fields, answers = fields[:FEWEST], answers[:FEWEST]
    width = max(WIDE, 1.9 * len(fields) + 1.0)
    page, axes = figure(
        width, 2.0 * len(answers) + 1.0, len(answers), len(fields), sharey="row", sharex="col"
    )
    for row, answer in zip(axes, answers, strict=True):
        for one, field in zip(row, fields, strict=True):
            _dots(one, field, answer, marks, 4.0)
        row[0].set_ylabel(_folded(answer.label, 18), fontsize=TEXT)
    for one, field in zip(axes[-1], fields, strict=True):
        _ticks(one, field, "x", 18)
        one.set_xlabel(_folded(field.label, 18), fontsize=TEXT)
    page.suptitle("; ".join([title, *left]), fontsize=TEXT + 0.8, x=0.02, ha="left")
    _key(page, marks, any(a.limits for a in answers))
    return page
