"""The path of a point: how fast, which way, and each stroke to be seen."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.picture.chart.plots import INKS, TEXT, WIDE, figure, save, titled
from simprop.picture.chart.sheets import cycle_span
from simprop.picture.render.motion import poses_at
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

BESIDE = 0.05
"""How far strokes that lie on each other are drawn apart, as a share of the path's size."""


DOTTED = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
"""Times between dots, s."""


def pole_path(assembly: Assembly, track: Trajectory, point: str, path: str | Path) -> Path:
    """The path of a point over the last cycle, in the plane it moves in most, darker where it is faster.

    Dots mark even times, 0.1 s or more apart, arrows the way it goes; a path that goes there and back is drawn as two
    strokes beside each other, each to the right of its way.

    Args:
        point: a point or joint of the rig.
        path: PNG, SVG or PDF by its ending.

    Raises:
        RenderError: for a name that is neither.
    """
    from matplotlib.collections import LineCollection

    span = cycle_span(track)
    time = np.linspace(*span, 1500)
    poses = poses_at(assembly, track, time)
    places = 1000 * follow(watched(assembly, [point]), poses)[:, 0]
    speed = np.linalg.norm(np.gradient(places, time, axis=0), axis=1) / 1000
    spread = np.ptp(places, axis=0)
    a, b = sorted(np.argsort(-spread, kind="stable")[:2])
    names = ("x (to the right)", "y (away)", "z (up)")
    flat, apart = strokes_apart(places[:, [a, b]])
    page, panes = figure(WIDE, 4.9)
    axes = panes[0, 0]
    axes.plot(*flat.T, color="#333333", linewidth=4.4, solid_capstyle="round")
    lines = LineCollection(
        [flat[i : i + 2] for i in range(len(flat) - 1)],
        array=speed[:-1],
        cmap="cividis_r",
        linewidth=3.0,
        capstyle="round",
        zorder=3,
    )
    axes.add_collection(lines)
    every = next((t for t in DOTTED if (time[-1] - time[0]) / t <= 24), DOTTED[-1])
    for mark in np.arange(np.ceil(time[0] / every) * every, time[-1], every):
        row = int(np.searchsorted(time, mark))
        axes.plot(
            *flat[row],
            "o",
            color="white",
            markeredgecolor="#333333",
            markersize=3.6,
            markeredgewidth=0.8,
            zorder=4,
        )
    size = max(float(spread.max()), 1.0)
    for tail, tip in arrows_along(flat, 0.05 * size):
        axes.annotate(
            "", tip, tail, zorder=5,
            arrowprops={"arrowstyle": "-|>", "facecolor": INKS[2], "edgecolor": "white", "linewidth": 1.0,
                        "mutation_scale": 24, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
    fast = int(np.argmax(speed))
    axes.annotate(
        f"fastest {speed[fast]:.2f} m/s", tuple(flat[fast]), xytext=(14, 10), textcoords="offset points",
        fontsize=TEXT, arrowprops={"arrowstyle": "-", "linewidth": 0.6}, zorder=6,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )  # fmt: skip
    bar = page.colorbar(lines, ax=axes, shrink=0.8)
    bar.set_label("speed, m/s", fontsize=TEXT)
    bar.ax.tick_params(labelsize=TEXT)
    axes.set_xlabel(f"{names[a]}, mm", fontsize=TEXT)
    axes.set_ylabel(f"{names[b]}, mm", fontsize=TEXT)
    middle, half = (flat.min(axis=0) + flat.max(axis=0)) / 2, 0.58 * size
    axes.set_xlim(middle[0] - half, middle[0] + half)
    axes.set_ylim(middle[1] - half, middle[1] + half)
    axes.locator_params(nbins=5)
    axes.set_aspect("equal")
    beside = "; there and back beside each other" if apart else ""
    titled(axes, f"{assembly.rig.name}: path of {point}, a dot every {every:g} s{beside}")
    save(page, Path(path))
    return Path(path)


def _ways(flat: Array) -> Array:
    """Unit direction of travel at each place of a path, (n, 2); where it stands, that of before or after."""
    step = np.gradient(flat, axis=0)
    size = np.hypot(*step.T)
    moving = np.flatnonzero(size > 1e-3 * max(float(size.max()), 1e-12))
    if not len(moving):
        return np.tile([1.0, 0.0], (len(flat), 1))
    nearest = moving[np.abs(np.arange(len(flat))[:, None] - moving).argmin(axis=1)]
    return np.asarray(step[nearest] / size[nearest, None])


def strokes_apart(flat: Array) -> tuple[Array, bool]:
    """A path with its strokes moved to the right of their way where it goes back over itself, and whether it does.

    Args:
        flat: (n, 2), evenly in time.

    Example:
        >>> t = np.linspace(0, 2 * np.pi, 200)
        >>> up_and_down, round_and_round = np.stack([0 * t, np.cos(t)], 1), np.stack([np.sin(t), np.cos(t)], 1)
        >>> strokes_apart(up_and_down)[1], strokes_apart(round_and_round)[1]
        (True, False)
    """
    size = float(np.ptp(flat, axis=0).max())
    rows = np.linspace(0, len(flat) - 1, 240).astype(int)
    some, way = flat[rows], _ways(flat)
    near = np.linalg.norm(some[:, None] - some[None], axis=2) < 0.3 * BESIDE * size
    against = way[rows] @ way[rows].T < -0.7
    if size <= 0 or (near & against).any(axis=1).mean() < 0.3:
        return flat, False
    right = np.stack([way[:, 1], -way[:, 0]], axis=1)
    return flat + 0.5 * BESIDE * size * right, True


def arrows_along(flat: Array, length: float, count: int = 6) -> list[tuple[Array, Array]]:
    """Tail and tip of arrows at even distances along a path, the way it goes."""
    step = np.hypot(*np.diff(flat, axis=0).T)
    gone = np.concatenate([[0.0], np.cumsum(step)])
    way = _ways(flat)
    rows = [int(np.searchsorted(gone, (k + 0.5) / count * gone[-1])) for k in range(count)]
    return [(flat[r] - 0.5 * length * way[r], flat[r] + 0.5 * length * way[r]) for r in rows]
