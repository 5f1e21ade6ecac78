"""The clock of the page: play, step, scrub, speed, the way to a peak, and when each drive is on."""

from __future__ import annotations

import time
from collections.abc import Callable
from threading import Event, Thread
from typing import Any

from simprop.live import html
from simprop.live.page.prop import Prop
from simprop.live.page.types import Panel, by_hand, offer
from simprop.live.types import View

RATE = 24.0
"""Pictures a second."""
TOLD = 6
"""Pictures from one telling of the time to the next."""
SPEEDS = {"1/8": 0.125, "1/4": 0.25, "1/2": 0.5, "1": 1.0, "2": 2.0}

KEYS = (
    ("Play or pause", "space", "play / pause"),
    ("A step back", "B", "< step"),
    ("A step on", "N", "step >"),
)
"""What a key does, the key, and the button that does the same."""


class Clock:
    """What moves the prop through its time.

    Args:
        panel: where its controls are put.
        prop: that it moves.

    Attributes:
        plays: whether it goes on by itself.
        told: called now and then, when the time went on.
    """

    def __init__(self, panel: Panel, prop: Prop):
        self._server, self._session, self._prop = panel.server, panel.session, prop
        self.told: Callable[[], None] = lambda: None
        self._end, self.plays = Event(), True
        gui = panel.gui
        self._bar = gui.add_slider("time, s", 0.0, 1.0, 1 / RATE, 0.0)
        self._bar.on_update(self._scrubbed)
        buttons = gui.add_button_group("clock", ("play / pause", "< step", "step >"))
        buttons.on_click(lambda _: self._press(buttons.value))
        for label, key, button in KEYS:
            gui.add_command(label, hotkey=key).on_trigger(lambda _, button=button: self._press(button))
        self._speed = gui.add_dropdown("speed", tuple(SPEEDS), initial_value="1")
        self._peak = gui.add_dropdown("go to the peak of", ("-",))
        self._peak.on_update(lambda event: self._to_peak() if by_hand(event) else None)
        self._strip = gui.add_html("")

    def start(self) -> None:
        """Run until it is closed."""
        Thread(target=self._run, daemon=True).start()

    def close(self) -> None:
        """Stop for good."""
        self._end.set()

    def take(self, view: View) -> None:
        """Another view is shown: its length, its peaks, its cues; the time stays."""
        end = float(view.scene.time[-1])
        self._bar.max = round(end, 2)
        self._strip.content = html.strip(view.told, end)
        offer(self._peak, ("-", *(name for name, _ in view.peaks)))

    def go(self, when: float, *, tell: bool = True) -> None:
        """Show the prop at a time, s.

        Args:
            when: s.
            tell: the bar and whoever listens; not while the bar itself is moved.
        """
        self._prop.go(when)
        if tell:
            self._bar.value = round(self._prop.time, 4)
            self.told()

    def rest(self) -> None:
        """Stand still in the start pose."""
        self.plays = False
        self.go(0.0)

    def _press(self, button: str) -> None:
        if button == "play / pause":
            self.plays = not self.plays
            return
        self.plays = False
        self.go(self._prop.time + (1 if button == "step >" else -1) / RATE)

    def _scrubbed(self, event: Any) -> None:
        if by_hand(event):
            self.plays = False
            self.go(float(self._bar.value), tell=False)

    def _to_peak(self) -> None:
        view = self._session.view
        when = None if view is None else dict(view.peaks).get(self._peak.value)
        if when is not None:
            self.plays = False
            self.go(when)

    def _run(self) -> None:
        """Go on while it plays and somebody looks."""
        last, count = time.monotonic(), 0
        while not self._end.wait(max(0.0, last + 1 / RATE - time.monotonic())):
            now = time.monotonic()
            passed, last = min(now - last, 0.25), now
            if not self.plays or self._prop.shown is None or not self._server.get_clients():
                continue
            when = self._prop.time + passed * SPEEDS[self._speed.value]
            count += 1
            self.go(when if when < self._prop.end else 0.0, tell=count % TOLD == 0)
