"""The tab of lines over time, with a needle at the time of the scene."""

from __future__ import annotations

from threading import RLock
from typing import Any

import numpy as np

from simprop.live.page.prop import Prop
from simprop.live.page.types import Panel, by_hand, offer
from simprop.live.types import Plot, View
from simprop.scene.viewer import viewer

INKS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00")
"""After Okabe and Ito, Color Universal Design, 2008."""


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
        view = self._session.view
        return None if view is None else next((p for p in view.plots if p.name == self._which.value), None)

    def _draw(self) -> None:
        with self._lock:
            plot = self._plot()
            if plot is None:
                return
            uplot = viewer().uplot
            strokes = [(name, INKS[k % len(INKS)]) for k, (name, _) in enumerate(plot.lines)]
            series = (
                uplot.Series(label="s"),
                *(uplot.Series(label=name, stroke=ink, width=2) for name, ink in strokes),
                uplot.Series(label="now", stroke="#888888", width=1),
            )
            if self._chart is None:
                x_is_no_date = {"x": uplot.Scale(time=False)}
                with self._folder:
                    self._chart = self._gui.add_uplot(
                        self._columns(plot), series, title=plot.name, scales=x_is_no_date, aspect=1.3
                    )
                return
            self._chart.series, self._chart.title = series, plot.name
            self._chart.data = self._columns(plot)

    def _columns(self, plot: Plot) -> tuple[Any, ...]:
        """Time, the lines, and a needle at the time of the scene, which stands on the lowest value."""
        lines = [values for _, values in plot.lines]
        low = min((float(v.min()) for v in lines), default=0.0)
        now = np.full(len(plot.time), low)
        at = int(np.argmin(np.abs(plot.time - self._prop.time)))
        now[at] = max((float(v.max()) for v in lines), default=1.0)
        return tuple(np.asarray(c, dtype=float) for c in (plot.time, *lines, now))
