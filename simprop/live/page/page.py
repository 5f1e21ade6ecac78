"""The page of a session as a whole, shared by all who open it."""

from __future__ import annotations

from pathlib import Path
from threading import RLock
from typing import Any

from simprop.live import html
from simprop.live.drawing.tab import Drawing
from simprop.live.page.clock import Clock
from simprop.live.page.looks import Looks
from simprop.live.page.plotted import Plotted
from simprop.live.page.prop import Prop
from simprop.live.page.shell import shell
from simprop.live.page.types import Panel
from simprop.live.page.values import Values
from simprop.live.session import Session
from simprop.live.types import Told, View
from simprop.scene.beside import WAS
from simprop.scene.viewer import BRAND

HOLD, LET_GO = "Hold this state", "Let the held state go"


class Page:
    """A session on a server.

    Args:
        server: see `simprop.scene.viewer.serving`.
        session: whose rig it shows; it is asked for its first view.
        picture: to draw on; None: the one that is kept beside the rig, if any.
    """

    def __init__(self, server: Any, session: Session, picture: Path | None = None):
        self._session, gui = session, server.gui
        self._panel = panel = Panel(server, session)
        self._lock = RLock()
        gui.set_panel_label(session.file.stem.replace("_", " "))
        gui.add_html(shell(session.file.stem.replace("_", " ")))
        self._theme("day")
        gui.main_panel.dock_right()
        self._status = gui.add_html(html.status(None, "", busy=True))
        self._prop = Prop(panel, self._theme, self._pick)
        self._clock = Clock(panel, self._prop)
        self._hold = gui.add_button(HOLD)
        self._hold.on_click(lambda _: self._held())
        gui.add_command("Hold this state, or let it go", hotkey="H").on_trigger(lambda _: self._held())
        self._two = gui.add_html("")
        self._picked = gui.add_html(html.picked(None, ""))
        tabs = gui.add_tab_group()
        with tabs.add_tab("Change"):
            self._values = Values(panel)
        with tabs.add_tab("Draw"):
            self._drawing = Drawing(panel, self._prop, self._clock, picture)
        with tabs.add_tab("Answers"):
            self._answers = gui.add_html("")
        with tabs.add_tab("Over time"):
            self._plotted = Plotted(panel, self._prop)
            self._clock.told = self._plotted.needle
        with tabs.add_tab("Seen"):
            self._looks = Looks(panel, self._prop)
        with tabs.add_tab("Beware"):
            self._beware = gui.add_html("")
        session.told, session.followed = self._told, self._followed
        session.ask()
        self._clock.start()

    def close(self) -> None:
        """Stop the clock."""
        self._clock.close()

    def _followed(self) -> None:
        """The file was saved."""
        self._values.renew()
        self._drawing.renew()

    def _theme(self, light: str) -> None:
        self._panel.gui.configure_theme(
            control_width="large",
            show_logo=False,
            show_share_button=False,
            dark_mode=light == "night",
            brand_color=BRAND,
        )

    def _pick(self, name: str) -> None:
        """Tell of a thing that was clicked."""
        held = self._session.held
        view = self._session.view if not name.startswith(WAS) else None if held is None else held.view
        fact = None if view is None else view.facts.get(name.removeprefix(WAS))
        self._picked.content = html.picked(fact, self._session.file.name)

    def _held(self) -> None:
        """Keep the state that is shown beside what comes, or let it go."""
        session = self._session
        with self._lock:
            if session.held is None:
                session.hold()
            else:
                session.release()
            self._hold.label = HOLD if session.held is None else LET_GO
            if session.view is not None:
                self._take(session.view)
            self._prop.look()

    def _told(self, told: Told) -> None:
        with self._lock:
            session = self._session
            if told.view is not None and session.view is told.view:
                self._take(told.view)
            shown = session.view
            busy = shown is not None and not shown.settled and not session.fault
            self._status.content = html.status(shown, session.fault, busy=busy)

    def _take(self, view: View) -> None:
        """Show a view; the clock goes on where it stands."""
        session = self._session
        self._prop.take()
        self._clock.take(view)
        before, said = session.as_filed, "in the file" if session.state.sets else ""
        if session.held is not None:
            before, said = {(f.group, f.name): f for f in session.held.view.figures}, "as it was"
        self._two.content = html.two(session.held, session.state)
        self._answers.content = html.tables(view.figures, before, said)
        self._beware.content = html.words(view.sections)
        self._plotted.take(view)
        self._looks.take(view)
