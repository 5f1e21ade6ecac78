"""Two or more goals against each other: what was tried, what no other beats, and what is shown of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.picture.chart.plots import INKS, TEXT, WIDE, figure, save, titled

OTHER = "#9a9da2"


def front_plot(
    labels: Sequence[str],
    values: Array,
    holds: NDArray[np.bool_],
    front: Sequence[int],
    marked: Mapping[str, Sequence[float]],
    path: Path,
    title: str,
) -> Path:
    """Draw each goal against the next.

    Args:
        labels: of the goals, with what is wanted of each and its unit; two or more.
        values: (n, goals) of what was tried, NaN where it isn't known.
        holds: (n,) whether all that has to be kept is.
        front: rows of what no other beats.
        marked: points with a word beside them, (goals,) each.
        path: PNG, SVG or PDF by its ending.
        title: over it.
    """
    pairs = [(k, k + 1) for k in range(len(labels) - 1)]
    page, axes = figure(WIDE, 3.6 * len(pairs) + 0.4, len(pairs), 1)
    for (a, b), one in zip(pairs, axes[:, 0], strict=True):
        _cloud(one, values[:, [a, b]], holds)
        best = values[list(front)][:, [a, b]]
        best = best[np.argsort(best[:, 0], kind="stable")]
        line: dict[str, Any] = {"linestyle": "-"} if len(labels) == 2 else {"linestyle": "none"}
        one.plot(
            *best.T,
            color=INKS[1],
            marker="o",
            markersize=4.5,
            linewidth=1.3,
            zorder=3,
            label="not beaten",
            **line,
        )
        for word, point in marked.items():
            _marked(one, word, point[a], point[b])
        one.set_xlabel(labels[a], fontsize=TEXT)
        one.set_ylabel(labels[b], fontsize=TEXT)
        one.margins(0.12)
    axes[0, 0].legend(fontsize=TEXT, frameon=False, loc="best")
    titled(axes[0, 0], title)
    save(page, path)
    return path


def _cloud(axes: Any, values: Array, holds: NDArray[np.bool_]) -> None:
    """What was tried: filled where it holds, hollow where it doesn't."""
    look: dict[str, Any] = {
        "linestyle": "none",
        "marker": "o",
        "markersize": 3.5,
        "markeredgecolor": OTHER,
        "zorder": 2,
    }
    if (~holds).any():
        axes.plot(*values[~holds].T, markerfacecolor="white", label="misses a limit", **look)
    if holds.any():
        axes.plot(*values[holds].T, markerfacecolor=OTHER, label="tried", **look)


def _marked(axes: Any, word: str, x: float, y: float) -> None:
    if not np.isfinite([x, y]).all():
        return
    axes.plot(x, y, marker="D", markersize=7.5, color=INKS[2], markeredgecolor="white", zorder=4)
    box = {"boxstyle": "round,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.8}
    axes.annotate(
        word, (x, y), (-9, 9), textcoords="offset points", fontsize=TEXT, weight="bold", color="#222222", ha="right",
        bbox=box, zorder=5,
    )  # fmt: skip
