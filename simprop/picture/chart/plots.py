"""Loads over time as a picture that reads in print, in grey and with colour-blind eyes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.loads.driving import stretches
from simprop.picture.render.extras import given
from simprop.written import written_beside

if TYPE_CHECKING:
    from simprop.loads.joints import JointLoads

# Dark to light in grey as well as apart in colour (after Okabe and Ito, Color Universal Design, 2008).
INKS = ("#000000", "#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00")
DASHES: tuple[Any, ...] = (
    "-",
    (0, (6, 1.6)),
    (0, (2.2, 1.2)),
    (0, (6, 1.4, 1.4, 1.4)),
    (0, (1, 1)),
    "-",
    (0, (4, 2)),
)


@dataclass(frozen=True)
class Marked:
    """A peak to mark: which series, when (s), how much (in the unit of the plot), and a word on how sure it is."""

    series: str
    time: float
    value: float
    note: str = ""


@dataclass(frozen=True)
class Panel:
    """One set of axes: series over time with marked peaks.

    Attributes:
        label: of the vertical axis, with unit.
        series: name to (n,) values.
        peaks: marked.
        limits: name to a level drawn as a thin line, such as a stall torque.
        start: rows in which a drive starts, (n,): shaded, and cut off where they would flatten all the rest.
    """

    label: str
    series: Mapping[str, Array]
    peaks: Sequence[Marked] = ()
    limits: Mapping[str, float] | None = None
    start: NDArray[np.bool_] | None = None


FLATTENS = 1.5
"""A start that is so much higher than all else is cut off."""


@dataclass(frozen=True)
class Columns:
    """A series in as many columns as a plot has pixels: place, mean, least and greatest of each, (k,)."""

    place: Array
    mean: Array
    low: Array
    high: Array

    @property
    def ripples(self) -> bool:
        """Whether the series goes up and down within columns so that a line alone would hide it."""
        known = np.isfinite(self.mean)
        if not known.any():
            return False
        whole = float(np.ptp(np.concatenate([self.low[known], self.high[known]])))
        return bool((self.high - self.low)[known].max() > 0.02 * whole)


def in_columns(place: Array, values: Array, columns: int = 700) -> Columns:
    """A series in columns, so that what is faster than a pixel is drawn as its mean and its range.

    Args:
        place: (n,) along the axis, in the order drawn.
        values: (n,), NaN where not known.
        columns: at most.

    Example:
        >>> found = in_columns(np.arange(10000.0), np.arange(10000) % 2.0, 100)
        >>> len(found.mean), set(found.mean.tolist()), float(found.low.max()), float(found.high.min())
        (100, {0.5}, 0.0, 1.0)
    """
    if len(place) <= 2 * columns:
        return Columns(place, values, values, values)
    cut = np.linspace(0, len(place), columns + 1).astype(int)[:-1]
    count = np.diff([*cut, len(place)])
    unknown = ~np.isfinite(np.maximum.reduceat(np.where(np.isfinite(values), 0.0, np.nan), cut))

    def of(found: Array) -> Array:
        return np.asarray(np.where(unknown, np.nan, found))

    return Columns(
        np.add.reduceat(place, cut) / count,
        of(np.add.reduceat(values, cut) / count),
        of(np.minimum.reduceat(values, cut)),
        of(np.maximum.reduceat(values, cut)),
    )


def draw_series(axes: Any, found: Columns, **look: Any) -> None:
    """The mean as a line over a light band of what is passed within a pixel."""
    if found.ripples:
        order = look.get("zorder", 2) - 0.5
        axes.fill_between(
            found.place, found.low, found.high, color=look["color"], alpha=0.22, linewidth=0, zorder=order
        )
    axes.plot(found.place, found.mean, **look)


def thinned(time: Array, values: Array, columns: int = 900) -> tuple[Array, Array]:
    """Least and greatest value in each of `columns` stretches, so that no peak is lost when a line is thinned.

    Example:
        >>> t, v = thinned(np.arange(10000.0), np.eye(1, 10000, 5001)[0])
        >>> len(t) < 3000, float(v.max())
        (True, 1.0)
    """
    if len(time) <= 2 * columns:
        return time, values
    edges = np.linspace(0, len(time), columns + 1).astype(int)
    keep: set[int] = {0, len(time) - 1}
    for a, b in pairwise(edges.tolist()):
        if np.isfinite(values[a:b]).any():
            keep |= {a + int(np.nanargmin(values[a:b])), a + int(np.nanargmax(values[a:b]))}
    rows = np.array(sorted(keep))
    return time[rows], values[rows]


WIDE = 5.5
"""Width of a plot, inches: a point of text is a pixel where it is shown 390 wide, as on a telephone held upright."""
TEXT = 11.2
"""Height of the font of all that is written in a plot, points: 11 pixels there (common practice of screen design, from
memory)."""
DOTS = 200
"""Pixels an inch of a plot as PNG."""
TITLE = 48
"""Letters of a title in one line."""


def figure(width: float, height: float, rows: int = 1, columns: int = 1, **options: Any) -> tuple[Any, Any]:
    """A matplotlib figure that needs no display, with the package's plain style, and its axes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    page = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(page)
    axes = page.subplots(rows, columns, squeeze=False, **options)
    for one in axes.flat:
        plain(one)
    return page, axes


def plain(axes: Any) -> None:
    """Axes with two spines, small text and a faint grid."""
    for side in ("top", "right"):
        if side in axes.spines:
            axes.spines[side].set_visible(False)
    axes.tick_params(labelsize=TEXT, colors="#333333")
    axes.grid(True, color="#e3e3e0", linewidth=0.7)
    axes.set_axisbelow(True)


def titled(axes: Any, text: str) -> None:
    """A title over axes, in as many lines as it needs."""
    axes.set_title("\n".join(wrap(text, TITLE)), fontsize=TEXT + 0.8, loc="left")


def save(page: Any, path: Path, dots: float = DOTS) -> None:
    """Write a figure; the file appears whole or not at all. The ending chooses PNG (of `dots` an inch), SVG or PDF."""
    content = encoded(page, path.suffix.lstrip("."), dots)
    with written_beside(path.parent) as work:
        (work / path.name).write_bytes(content)


def encoded(page: Any, ending: str, dots: float = DOTS) -> bytes:
    """What a file with a figure holds.

    Args:
        ending: png, svg or pdf.
        dots: an inch, of PNG.
    """
    from io import BytesIO

    import matplotlib as mpl

    fixed: dict[str, Any] = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(ending, {})
    file = BytesIO()
    with mpl.rc_context({"svg.hashsalt": "simprop", "svg.fonttype": "path"}):
        page.savefig(file, format=ending, dpi=dots, facecolor="white", metadata=fixed or None)
    return file.getvalue()


def spread(places: list[float], gap: float, low: float, high: float) -> list[float]:
    """Places moved apart to at least `gap`, in the same order, within low to high where it can be."""
    order = sorted(range(len(places)), key=lambda i: places[i])
    out = [places[i] for i in order]
    for _ in range(200):
        moved = False
        for i in range(1, len(out)):
            lack = gap - (out[i] - out[i - 1])
            if lack > 1e-9 * gap:
                out[i - 1] -= lack / 2
                out[i] += lack / 2
                moved = True
        if out:
            out = [v + max(0.0, low - out[0]) for v in out]
            out = [v - max(0.0, out[-1] - high) for v in out]
        if not moved:
            break
    back = [0.0] * len(places)
    for place, i in zip(out, order, strict=True):
        back[i] = place
    return back


def draw_panel(axes: Any, time: Array, panel: Panel) -> None:
    """Series, their names at the right end, and marked peaks, on one set of axes."""
    ends: list[tuple[str, float, str]] = []
    for k, (name, values) in enumerate(panel.series.items()):
        found = in_columns(time, np.asarray(values, dtype=float))
        ink = INKS[k % len(INKS)]
        draw_series(axes, found, color=ink, linestyle=DASHES[k % len(DASHES)], linewidth=1.4)
        known = found.mean[np.isfinite(found.mean)]
        if len(known):
            ends.append((name, float(known[-1]), ink))
    off = cut_off(axes, time, panel)
    for name, level in (panel.limits or {}).items():
        axes.axhline(level, color="#666666", linewidth=0.9, linestyle=(0, (1, 2)))
        ends.append((name, level, "#555555"))
    axes.set_ylabel(panel.label, fontsize=TEXT)
    axes.set_xlim(float(time[0]), float(time[-1]))
    low, high = axes.get_ylim()
    high = high + (0.34 if off else 0.18) * (high - low)
    axes.set_ylim(low, high)
    places = spread([e[1] for e in ends], 0.115 * (high - low), low, high)
    for (name, value, ink), place in zip(ends, places, strict=True):
        axes.annotate(
            name, (1.0, value), xycoords=("axes fraction", "data"), xytext=(1.025, place),
            textcoords=("axes fraction", "data"), fontsize=TEXT, color=ink, va="center",
            arrowprops={"arrowstyle": "-", "color": ink, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
    for mark in panel.peaks:
        names = list(panel.series)
        ink = INKS[names.index(mark.series) % len(INKS)] if mark.series in names else INKS[0]
        axes.plot(
            [mark.time],
            [mark.value],
            "o",
            color="white",
            markeredgecolor=ink,
            markersize=6.5,
            markeredgewidth=1.8,
            clip_on=False,
            zorder=5,
        )
        right = mark.time > float(time[0]) + 0.6 * float(time[-1] - time[0])
        axes.annotate(
            f"{mark.series} {mark.value:.3g}{' ' + mark.note if mark.note else ''} at {mark.time:.2f} s",
            (mark.time, mark.value), xytext=(-9 if right else 9, 7), textcoords="offset points", fontsize=TEXT,
            ha="right" if right else "left", color=ink, weight="bold",
            bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
        )  # fmt: skip


def cut_off(axes: Any, time: Array, panel: Panel) -> bool:
    """Shade the starts of drives; cut them off with a word, and say so, where they would flatten all the rest."""
    start = panel.start
    if start is None or not start.any() or start.all():
        return False
    spans = [(float(time[begin]), float(time[min(end, len(time) - 1)])) for begin, end in stretches(start)]
    for span in spans:
        axes.axvspan(*span, color="#e8e6df", linewidth=0, zorder=0)
    jolt = _flattens(axes, [np.asarray(v, dtype=float) for v in panel.series.values()], start)
    late = spans[0][1] > time[0] + 0.5 * (time[-1] - time[0])
    axes.annotate(
        "start" if jolt is None else f"a start goes to {jolt:.3g}, off the scale",
        (spans[0][0] if late else spans[0][1], 1.0), xycoords=("data", "axes fraction"), xytext=(-3 if late else 3, -2),
        textcoords="offset points", fontsize=TEXT, color="#777777", ha="right" if late else "left", va="top",
    )  # fmt: skip
    return jolt is not None


def _flattens(axes: Any, rows: Sequence[Array], start: NDArray[np.bool_]) -> float | None:
    """Cuts the axis to what is reached while running, where a start would flatten it; what the start reaches."""
    running, begun = (
        v[np.isfinite(v)] for v in (np.concatenate([r[part] for r in rows]) for part in (~start, start))
    )
    if not len(running) or not len(begun):
        return None
    high, low = max(float(running.max()), 0.0), min(float(running.min()), 0.0)
    jolt = float(np.abs(begun).max())
    if max(high, -low) <= 0.0 or jolt <= FLATTENS * max(high, -low):
        return None
    axes.set_ylim(low - 0.06 * (high - low), high + 0.06 * (high - low))
    return jolt


def loads_plot(
    time: Array,
    series: Mapping[str, Array],
    peaks: Sequence[Marked],
    path: str | Path,
    *,
    label: str = "force, N",
    title: str = "",
    further: Sequence[Panel] = (),
    start: NDArray[np.bool_] | None = None,
) -> Path:
    """Loads over time with the peak marked.

    Args:
        time: (n,) s.
        series: name to (n,) values, drawn dark to light in this order.
        path: PNG, SVG or PDF by its ending.
        label: of the vertical axis, with unit.
        title: over the plot.
        further: more panels below, on the same time.
        start: rows in which a drive starts, (n,).

    Returns:
        The path written.
    """
    path = Path(path)
    panels = [Panel(label, series, peaks, None, start), *further]
    heights = [3.0] + [2.0] * (len(panels) - 1)
    page, axes = figure(WIDE, sum(heights) + 0.4, len(panels), 1, sharex=True, height_ratios=heights)
    for one, panel in zip(axes[:, 0], panels, strict=True):
        draw_panel(one, np.asarray(time, dtype=float), panel)
    axes[-1, 0].set_xlabel("time, s", fontsize=TEXT)
    if title:
        titled(axes[0, 0], title)
    save(page, path)
    return path


def plot_loads(loads: JointLoads, path: str | Path, most: int = 6) -> Path:
    """Force in what carries most (joints, springs, pushers, contacts) and load of the drives over time, peaks marked.

    Args:
        path: PNG, SVG or PDF by its ending.
        most: forces drawn; the title says how many are left out.

    Returns:
        The path written.
    """
    track, assembly = loads.recording.track, loads.recording.assembly
    forces = [f for f, _ in loads.ranked if f is not None]
    names = {f.key: f.name if f.sort == "joint" else f"{f.sort} {f.name}" for f in forces}
    series = {names[f.key]: loads.history(f) for f in forces[:most]}
    peaks = [Marked(names[f.key], f.time, f.value, "N") for f in forces[:1]]
    further = []
    for load, (drive, column) in zip((*loads.motors, *loads.pushers), given(loads), strict=True):
        limits = {} if load.able is None else {f"can give {load.able:.3g}": load.able}
        near = {k: v for k, v in limits.items() if v < 3 * max(load.peak.value, 1e-12)}
        unit = load.peak.unit
        mark = Marked(load.name, load.peak.time, float(column[load.peak.row]), unit)
        further.append(Panel(f"load, {unit}", {load.name: column}, [mark], near, drive.start))
    left = len(forces) - most
    title = f"{assembly.rig.name}: what carries most" + (f" ({left} with less not shown)" if left > 0 else "")
    return loads_plot(
        track.time, series, peaks, path, label="force, N", title=title, further=further, start=loads.starting
    )
