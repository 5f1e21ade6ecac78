"""The tab of what can be changed: named values, motors, supplies, the engine; taken back, or kept in a file."""

from __future__ import annotations

from pathlib import Path
from threading import RLock
from typing import Any

from simprop.engine.choose import PACKAGES, available
from simprop.errors import SimpropError
from simprop.live import html
from simprop.live.controls import number_of, value_text
from simprop.live.page.types import Panel, by_hand
from simprop.live.types import Control

USUAL = "as usual"


class Values:
    """What can be changed of a rig.

    Args:
        panel: where its controls are put.
    """

    def __init__(self, panel: Panel):
        self._gui, self._session = panel.gui, panel.session
        self._lock = RLock()
        self._parts: list[Any] = []
        self._folder = self._gui.add_folder("values")
        self._buttons()
        self.renew()

    def _buttons(self) -> None:
        gui, session = self._gui, self._session
        found = (USUAL, *(name for name in PACKAGES if available(name)))
        self._line = gui.add_text("write one", self._first())
        gui.add_button("Put it in").on_click(lambda _: self._put())
        engine = gui.add_dropdown("engine", found, initial_value=session.state.engine or USUAL)
        engine.on_update(lambda _: session.run_by(None if engine.value == USUAL else engine.value))
        gui.add_button("Reset to the file").on_click(lambda _: self._reset())
        gui.add_button("Keep in the file").on_click(lambda _: self._keep(None))
        copy = gui.add_text("copy", f"{session.file.stem}_changed.yaml")
        to_copy = gui.add_button("Keep in a copy")
        to_copy.on_click(lambda _: self._keep(session.file.with_name(Path(copy.value).name)))
        self._said = gui.add_html("")

    def renew(self) -> None:
        """The controls anew, as the file has them."""
        with self._lock:
            for part in self._parts:
                part.remove()
            with self._folder:
                self._parts = [self._control(c) for c in self._session.controls()]

    def _control(self, control: Control) -> Any:
        gui, session = self._gui, self._session
        label = control.field.removeprefix("motors.").removeprefix("pushers.").replace(".", ": ")
        if control.choices:
            drop = gui.add_dropdown(label, control.choices, initial_value=control.value)
            drop.on_update(
                lambda event: session.change(control.field, drop.value) if by_hand(event) else None
            )
            return drop
        unit = f", {control.unit}" if control.unit else ""
        first = number_of(control)
        slider = gui.add_slider(f"{label}{unit}", control.low, control.high, control.step, first)

        def moved(event: Any) -> None:
            if by_hand(event):
                same = abs(slider.value - number_of(control, filed=True)) < 0.01 * control.step
                session.change(control.field, control.filed if same else value_text(control, slider.value))

        slider.on_update(moved)
        return slider

    def _first(self) -> str:
        """A value as it may be written: the first that the rig has."""
        return next((f"{c.field} = {c.filed}" for c in self._session.controls()), "")

    def _put(self) -> None:
        try:
            self._session.put(self._line.value)
            self._said.content = html.note(f"Put in, not yet kept: {self._line.value}")
        except SimpropError as error:
            self._said.content = html.note(str(error))
        self.renew()

    def _reset(self) -> None:
        self._session.reset()
        self.renew()

    def _keep(self, target: Path | None) -> None:
        try:
            file = self._session.keep(target)
            self._said.content = html.note(f"Written: {file.name}")
        except SimpropError as error:
            self._said.content = html.note(str(error))
        self.renew()
