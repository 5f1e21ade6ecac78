"""The tab of lines over time, with a needle at the time of the scene."""

from __future__ import annotations

from dataclasses import replace
from threading import RLock
from typing import Any

import numpy as np

from simprop.live.page.prop import Prop
from simprop.live.page.types import Panel, by_hand, offer
from simprop.live.types import Plot, View
from simprop.scene.viewer import viewer

INKS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00")
"""After Okabe and Ito, Color Universal Design, 2008."""
WAS = ", as it was"
"""What the names of the lines of a held state end with."""


class Plotted:
    """One plot of those of a view, chosen by its name.

    Args:
        panel: where it is put.
        prop: whose time the needle shows.
    """

    def __init__(self, panel: Panel, prop: Prop):
        self._gui, self._session, self._prop = panel.gui, panel.session, prop
        self._lock = RLock()
        self._which = self._gui.add_dropdown("show", ("-",))
        self._which.on_update(lambda event: self._draw() if by_hand(event) else None)
        self._folder = self._gui.add_folder("plot")
        self._chart: Any = None

    def take(self, view: View) -> None:
        """Another view is shown."""
        offer(self._which, tuple(p.name for p in view.plots) or ("-",))
        self._draw()

    def needle(self) -> None:
        """The time went on."""
        plot = self._plot()
        if plot is not None and self._chart is not None:
            self._chart.data = self._columns(plot)

    def _plot(self) -> Plot | None:
        """What is shown, with the lines of the held state behind its own; one that ends before keeps its last value."""
        view, held = self._session.view, self._session.held
        plot = None if view is None else _named(view, self._which.value)
        was = None if held is None else _named(held.view, self._which.value)
        if plot is None or was is None:
            return plot
        old = tuple((name + WAS, np.interp(plot.time, was.time, values)) for name, values in was.lines)
        return replace(plot, lines=(*plot.lines, *old))

    def _draw(self) -> None:
        with self._lock:
            plot = self._plot()
            if plot is None:
                return
            uplot = viewer().uplot
            names = [name.removesuffix(WAS) for name, _ in plot.lines]
            inks = {name: INKS[k % len(INKS)] for k, name in enumerate(dict.fromkeys(names))}
            series = (
                uplot.Series(label="s"),
                *(_stroke(name, inks[own]) for (name, _), own in zip(plot.lines, names, strict=True)),
                uplot.Series(label="now", stroke="#888888", width=1),
            )
            scales = {"x": uplot.Scale(time=False), "y": uplot.Scale(range=_ends(plot))}
            if self._chart is None:
                with self._folder:
                    self._chart = self._gui.add_uplot(
                        self._columns(plot), series, title=plot.name, scales=scales, aspect=1.3
                    )
                return
            self._chart.series, self._chart.title, self._chart.scales = series, plot.name, scales
            self._chart.data = self._columns(plot)

    def _columns(self, plot: Plot) -> tuple[Any, ...]:
        """Time, the lines, and a needle at the time of the scene, which stands on the lower edge."""
        low, high = _ends(plot)
        now = np.full(len(plot.time), low)
        now[int(np.argmin(np.abs(plot.time - self._prop.time)))] = high
        lines = [values for _, values in plot.lines]
        return tuple(np.asarray(c, dtype=float) for c in (plot.time, *lines, now))


def _named(view: View, name: str) -> Plot | None:
    return next((p for p in view.plots if p.name == name), None)


def _ends(plot: Plot) -> tuple[float, float]:
    """Lower and upper edge of a plot: a little beyond its lines."""
    low = min((float(v.min()) for _, v in plot.lines), default=0.0)
    high = max((float(v.max()) for _, v in plot.lines), default=1.0)
    more = 0.05 * ((high - low) or abs(high) or 1.0)
    return low - more, high + more


def _stroke(name: str, ink: str) -> Any:
    """How a line is drawn: that of the state as it was, dashed and thin."""
    was = name.endswith(WAS)
    return viewer().uplot.Series(label=name, stroke=ink, width=1 if was else 2, dash=(6, 4) if was else ())
