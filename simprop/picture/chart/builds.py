"""How far the answers of scattered builds lie apart: bars of how many, a stroke for each build, limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.picture.chart.plots import INKS, TEXT, WIDE, figure, save, titled

MISSED = "#d55e00"
LIMIT = "#333333"
BARS = 24
"""Bars at most."""
BAND = 0.32
"""Height of the dots of a variant, of the distance between two."""


@dataclass(frozen=True)
class Answered:
    """One answer of the builds of each variant.

    Attributes:
        label: with its unit.
        values: of each variant (n,), NaN where it isn't known.
        means: of each variant.
        ends: between which nine builds of ten lie, of each variant.
        limits: least and greatest that is wanted; None: no such side.
    """

    label: str
    values: Sequence[Array]
    means: Sequence[float]
    ends: Sequence[tuple[float, float]]
    limits: Sequence[tuple[float | None, float | None]] = ()


def builds_plot(answers: Sequence[Answered], names: Sequence[str], path: Path, *, title: str) -> Path:
    """Draw each answer: bars and strokes of one variant, else a row of dots for each.

    Args:
        answers: to each question.
        names: of the variants; one: it needs none.
        path: PNG, SVG or PDF by its ending.
        title: over it all.
    """
    one = len(names) == 1
    high = 2.2 if one else 0.9 + 0.36 * len(names)
    page, axes = figure(WIDE, high * len(answers) + 0.5, len(answers), 1)
    for own, answer in zip(axes[:, 0], answers, strict=True):
        if one:
            _bars(own, answer)
        else:
            _rows(own, answer, names)
        for edge in {edge for ends in answer.limits for edge in ends if edge is not None}:
            own.axvline(edge, color=LIMIT, linewidth=1.2, linestyle=(0, (4, 2)), zorder=4)
        own.set_xlabel(answer.label, fontsize=TEXT)
    titled(axes[0, 0], title)
    _foot(page, answers, one)
    save(page, path)
    return path


def _missed(answer: Answered, values: Array) -> NDArray[np.bool_]:
    """Which values lie outside a limit."""
    found = np.zeros(len(values), dtype=bool)
    for least, most in answer.limits:
        found |= False if least is None else values < least
        found |= False if most is None else values > most
    return found


def _bars(axes: Any, answer: Answered) -> None:
    known = answer.values[0][np.isfinite(answer.values[0])]
    axes.set_ylabel("builds", fontsize=TEXT)
    if not len(known):
        axes.text(0.5, 0.5, "not known of any build", transform=axes.transAxes, ha="center", fontsize=TEXT)
        return
    wide = float(np.ptp(known)) or max(abs(float(known[0])), 1.0) * 0.01
    count = int(min(BARS, max(5, round(2 * len(known) ** (1 / 3)))))
    edges = np.linspace(known.min() - 1e-9 * wide, known.min() + wide * (1 + 1e-9), count + 1)
    missed = _missed(answer, known)
    kept, lost = np.histogram(known[~missed], edges)[0], np.histogram(known[missed], edges)[0]
    middle, bar = (edges[1:] + edges[:-1]) / 2, 0.92 * (edges[1] - edges[0])
    axes.bar(middle, kept, bar, color=INKS[1], zorder=2)
    out = lost > 0
    look: dict[str, Any] = {
        "color": "white",
        "edgecolor": MISSED,
        "hatch": "////",
        "linewidth": 0.9,
        "zorder": 2,
    }
    axes.bar(middle[out], lost[out], bar, bottom=kept[out], **look)
    tall = max(float((kept + lost).max()), 1.0)
    axes.vlines(known, -0.16 * tall, -0.05 * tall, color="#444444", linewidth=0.5)
    axes.axvline(answer.means[0], color="#000000", linewidth=1.1, zorder=4)
    axes.axvspan(*answer.ends[0], color="#efefec", linewidth=0, zorder=0)
    axes.set_ylim(-0.2 * tall, 1.08 * tall)
    axes.yaxis.get_major_locator().set_params(integer=True)
    axes.set_yticks([tick for tick in axes.get_yticks() if 0 <= tick <= 1.05 * tall])


def _rows(axes: Any, answer: Answered, names: Sequence[str]) -> None:
    """A row of dots for each variant, the first above, each dot a little off so that they can be told apart."""
    for k, values in enumerate(answer.values):
        known = values[np.isfinite(values)]
        off = BAND * (
            np.modf(np.arange(len(known)) * 0.6180339887)[0] - 0.5
        )  # golden section: even, never in rows
        missed = _missed(answer, known)
        look: dict[str, Any] = {"linestyle": "none", "marker": "o", "markersize": 3.2, "zorder": 3}
        axes.plot(known[~missed], k + off[~missed], color=INKS[1], **look)
        axes.plot(known[missed], k + off[missed], color="white", markeredgecolor=MISSED, **look)
        axes.hlines(k, *answer.ends[k], color="#000000", linewidth=1.4, zorder=4)
        axes.plot(
            [answer.means[k]], [k], color="#000000", marker="|", markersize=12, markeredgewidth=1.8, zorder=5
        )
    axes.set_yticks(range(len(names)), [fill(name, 22) for name in names], fontsize=TEXT)
    axes.set_ylim(len(names) - 0.5, -0.5)


def _foot(page: Any, answers: Sequence[Answered], one: bool) -> None:
    words = [
        "line: mean; grey: 9 of 10 builds; strokes: each build"
        if one
        else "upright: mean; bar: 9 of 10 builds"
    ]
    if any(answer.limits for answer in answers):
        words.append("dashed: a limit; " + ("hatched: misses it" if one else "hollow: misses it"))
    page.supxlabel("\n".join(words), fontsize=TEXT - 1.5, color="#444444")
