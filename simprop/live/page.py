"""The page of a session, by viser: the scene with its clock, controls, answers and plots, shared by all who open it."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from threading import Event, RLock, Thread
from typing import Any

import numpy as np

from simprop.engine.choose import PACKAGES, available
from simprop.errors import SimpropError
from simprop.live import html
from simprop.live.controls import number_of, value_text
from simprop.live.session import Session
from simprop.live.types import Control, Plot, Told, View
from simprop.scene.scene import lit
from simprop.scene.types import SceneData, Solid
from simprop.scene.viewer import BRAND, Shown, pose, show, swap, viewer

RATE = 24.0
"""Pictures a second."""
TOLD = 6
"""Pictures from one telling of the time to the next."""
SPEEDS = {"1/8": 0.125, "1/4": 0.25, "1/2": 0.5, "1": 1.0, "2": 2.0}
USUAL = "as usual"
INKS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00")
"""After Okabe and Ito, Color Universal Design, 2008."""


class Page:
    """A session on a server.

    Args:
        server: see `simprop.scene.viewer.serving`.
        session: whose rig it shows; it is asked for its first view.
    """

    def __init__(self, server: Any, session: Session):
        self.server, self.session, self.gui = server, session, server.gui
        self.shown: Shown | None = None
        self._lock, self._end = RLock(), Event()
        self._time, self._plays = 0.0, True
        self._light: str | None = None
        self._names: list[Any] = []
        self._parts: list[Any] = []
        self._setting = False
        self.gui.set_panel_label(session.file.stem.replace("_", " "))
        self._build()
        session.told, session.followed = self._told, self._controls
        session.ask()
        Thread(target=self._clock, daemon=True).start()

    def close(self) -> None:
        """Stop the clock."""
        self._end.set()

    def _theme(self, light: str) -> None:
        self.gui.configure_theme(
            control_width="large",
            show_logo=False,
            show_share_button=False,
            dark_mode=light == "night",
            brand_color=BRAND,
        )

    def _build(self) -> None:
        gui = self.gui
        self._theme("day")
        gui.main_panel.dock_right()
        self._status = gui.add_html(html.status(None, "", busy=True))
        self._time_bar = gui.add_slider("time, s", 0.0, 1.0, 1 / RATE, 0.0)
        self._time_bar.on_update(self._scrubbed)
        buttons = gui.add_button_group("clock", ("play / pause", "< step", "step >"))
        buttons.on_click(lambda _: self._press(buttons.value))
        self._speed = gui.add_dropdown("speed", tuple(SPEEDS), initial_value="1")
        self._peak = gui.add_dropdown("go to the peak of", ("-",))
        self._peak.on_update(lambda event: self._to_peak() if event.client is not None else None)
        self._strip = gui.add_html("")
        self._picked = gui.add_html(html.picked(None, ""))
        tabs = gui.add_tab_group()
        with tabs.add_tab("Change"):
            self._changes = gui.add_folder("values")
            self._buttons()
        with tabs.add_tab("Answers"):
            self._answers = gui.add_html("")
        with tabs.add_tab("Over time"):
            self._which = gui.add_dropdown("show", ("-",))
            self._which.on_update(lambda _: self._plot())
            self._plotted = gui.add_folder("plot")
            self._chart: Any = None
        with tabs.add_tab("Seen"):
            self._looks()
        with tabs.add_tab("Beware"):
            self._beware = gui.add_html("")
        self._controls()

    def _buttons(self) -> None:
        gui, session = self.gui, self.session
        found = (USUAL, *(name for name in PACKAGES if available(name)))
        now = session.state.engine or USUAL
        engine = gui.add_dropdown("engine", found, initial_value=now)
        engine.on_update(lambda _: session.run_by(None if engine.value == USUAL else engine.value))
        gui.add_button("Reset to the file").on_click(lambda _: self._reset())
        gui.add_button("Keep in the file").on_click(lambda _: self._keep(None))
        copy = gui.add_text("copy", f"{session.file.stem}_changed.yaml")
        to_copy = gui.add_button("Keep in a copy")
        to_copy.on_click(lambda _: self._keep(session.file.with_name(Path(copy.value).name)))
        self._said = gui.add_html("")

    def _looks(self) -> None:
        gui = self.gui
        light = gui.add_dropdown("light", ("as the rig says", "day", "night"))
        light.on_update(lambda _: self._lit(light.value))
        self._with_names = gui.add_checkbox("names of joints", False)
        self._with_names.on_update(lambda _: self._marks())
        self._with = {
            "joints": gui.add_checkbox("marks at joints", True),
            "loads": gui.add_checkbox("forces", True),
            "paths": gui.add_checkbox("paths of watched points", True),
        }
        for box in self._with.values():
            box.on_update(lambda _: self._marks())
        self._legend = gui.add_html(html.legend())

    # ---- controls

    def _controls(self) -> None:
        """The controls anew, as the file has them."""
        with self._lock:
            for part in self._parts:
                part.remove()
            with self._changes:
                self._parts = [self._control(c) for c in self.session.controls()]

    def _control(self, control: Control) -> Any:
        gui, session = self.gui, self.session
        label = control.field.removeprefix("motors.").removeprefix("pushers.").replace(".", ": ")
        if control.choices:
            drop = gui.add_dropdown(label, control.choices, initial_value=control.value)
            drop.on_update(
                lambda event: session.change(control.field, drop.value) if event.client is not None else None
            )
            return drop
        unit = f", {control.unit}" if control.unit else ""
        first = number_of(control)
        slider = gui.add_slider(f"{label}{unit}", control.low, control.high, control.step, first)

        def moved(event: Any) -> None:
            if event.client is not None:
                same = abs(slider.value - number_of(control, filed=True)) < 0.01 * control.step
                session.change(control.field, control.filed if same else value_text(control, slider.value))

        slider.on_update(moved)
        return slider

    def _reset(self) -> None:
        self.session.reset()
        self._controls()

    def _keep(self, target: Path | None) -> None:
        try:
            file = self.session.keep(target)
            self._said.content = html.note(f"Written: {file.name}")
        except SimpropError as error:
            self._said.content = html.note(str(error))
        self._controls()

    # ---- what is told

    def _told(self, told: Told) -> None:
        with self._lock:
            view = told.view
            session = self.session
            if view is not None and session.view is view:
                self._take(view)
            shown = session.view
            busy = shown is not None and not shown.settled and not session.fault
            self._status.content = html.status(shown, session.fault, busy=busy)

    def _take(self, view: View) -> None:
        """Show a view; the clock goes on where it stands."""
        data = view.scene if self._light is None else lit(view.scene, self._light)
        old = self.shown
        self._scene(data)
        if old is None or len(old.data.time) != len(data.time):
            self._time_bar.max = round(float(data.time[-1]), 2)
        compared = bool(self.session.state.sets)
        self._answers.content = html.tables(view.figures, self.session.as_filed, compared=compared)
        self._beware.content = html.words(view.sections)
        self._strip.content = html.strip(view.told, float(data.time[-1]))
        self._options(self._peak, ("-", *(name for name, _ in view.peaks)))
        self._options(self._which, tuple(p.name for p in view.plots) or ("-",))
        self._plot()

    def _options(self, drop: Any, options: tuple[str, ...]) -> None:
        if tuple(drop.options) == options:
            return
        self._setting = True
        value = drop.value
        drop.options = options
        drop.value = value if value in options else options[0]
        self._setting = False

    def _scene(self, data: SceneData) -> None:
        with self._lock, self.server.atomic():
            old = self.shown
            self._time = min(self._time, float(data.time[-1]))
            self.shown = show(self.server, data) if old is None else swap(self.server, old, data)
            if old is None or old.data.light != data.light:
                self._theme(data.light)
            pose(self.shown, self._time)
            known = set() if old is None else {id(h) for h in old.solids}
            for solid, handle in zip(data.solids, self.shown.solids, strict=True):
                if id(handle) not in known and solid.name.startswith(("prop/", "joints/")):
                    handle.on_click(self._click(solid.name))
            self._marks()

    def _click(self, name: str) -> Callable[[Any], None]:
        def pick(_: Any) -> None:
            view = self.session.view
            key = "/".join(name.split("/")[:2])
            fact = None if view is None else view.facts.get(key)
            self._picked.content = html.picked(fact, self.session.file.name)

        return pick

    def _marks(self) -> None:
        """Names, marks, forces and paths, shown or hidden."""
        with self._lock:
            shown = self.shown
            if shown is None:
                return
            for name in self._names:
                name.remove()
            self._names = []
            for solid, handle in zip(shown.data.solids, shown.solids, strict=True):
                if solid.name.startswith(("joints/", "points/")):
                    handle.visible = self._with["joints" if solid.name[0] == "j" else "paths"].value
                if solid.name.startswith("joints/") and self._with_names.value:
                    self._names.append(self._name(solid))
            for line, handle in zip(shown.data.lines, shown.lines, strict=True):
                if line.name.startswith("paths/"):
                    handle.visible = self._with["paths"].value
            if shown.arrows is not None:
                shown.arrows.visible = self._with["loads"].value

    def _name(self, solid: Solid) -> Any:
        name = solid.name.removeprefix("joints/")
        middle = solid.surfaces[0].vertices.mean(axis=0)
        return self.server.scene.add_label(f"/{solid.name}/name", name, position=middle, anchor="bottom-left")

    def _lit(self, light: str) -> None:
        with self._lock:
            self._light = light if light in ("day", "night") else None
            view = self.session.view
            if view is not None:
                self._scene(view.scene if self._light is None else lit(view.scene, self._light))

    # ---- plots

    def _plot(self) -> None:
        view = self.session.view
        if view is None or self._setting:
            return
        with self._lock:
            plot = next((p for p in view.plots if p.name == self._which.value), None)
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
                with self._plotted:
                    self._chart = self.gui.add_uplot(
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
        now[int(np.argmin(np.abs(plot.time - self._time)))] = max(
            (float(v.max()) for v in lines), default=1.0
        )
        return tuple(np.asarray(c, dtype=float) for c in (plot.time, *lines, now))

    def _needle(self) -> None:
        view = self.session.view
        plot = None if view is None else next((p for p in view.plots if p.name == self._which.value), None)
        if plot is not None and self._chart is not None:
            self._chart.data = self._columns(plot)

    # ---- the clock

    def _press(self, button: str) -> None:
        if button == "play / pause":
            self._plays = not self._plays
            return
        self._plays = False
        self._go(self._time + (1 if button == "step >" else -1) / RATE)

    def _scrubbed(self, event: Any) -> None:
        if event.client is not None:  # moved by somebody, not by the clock
            self._plays = False
            self._go(float(self._time_bar.value), tell=False)

    def _to_peak(self) -> None:
        view = self.session.view
        when = None if view is None else dict(view.peaks).get(self._peak.value)
        if when is not None:
            self._plays = False
            self._go(when)

    def _go(self, when: float, *, tell: bool = True) -> None:
        """Show the scene at a time."""
        with self._lock:
            shown = self.shown
            if shown is None:
                return
            end = float(shown.data.time[-1])
            before, self._time = self._time, min(max(when, 0.0), end)
            with self.server.atomic():
                pose(shown, self._time, before)
            if tell:
                self._time_bar.value = round(self._time, 4)
                self._needle()

    def _clock(self) -> None:
        """Go on while it plays and somebody looks."""
        last, count = time.monotonic(), 0
        while not self._end.wait(max(0.0, last + 1 / RATE - time.monotonic())):
            now = time.monotonic()
            passed, last = min(now - last, 0.25), now
            shown = self.shown
            if not self._plays or shown is None or not self.server.get_clients():
                continue
            when = self._time + passed * SPEEDS[self._speed.value]
            count += 1
            self._go(when if when < float(shown.data.time[-1]) else 0.0, tell=count % TOLD == 0)
