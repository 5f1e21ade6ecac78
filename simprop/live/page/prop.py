"""The prop in the scene: shown at a time, under a light, with its marks; its parts tell when they are clicked."""

from __future__ import annotations

from collections.abc import Callable
from threading import RLock
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.live.page.shell import look
from simprop.live.page.types import Panel
from simprop.scene.beside import WAS, beside
from simprop.scene.scene import WIDER, lit
from simprop.scene.types import Solid
from simprop.scene.viewer import Shown, pose, show, swap


class Prop:
    """What stands in the scene.

    Args:
        panel: the server and its session.
        theme: called with the light when it changes.
        picked: called with the name of what is clicked.

    Attributes:
        shown: the scene with its handles; None before the first view.
        time: at which it is shown, s.
        seen: which marks are seen: "joints", "names", "loads", "paths".
    """

    def __init__(self, panel: Panel, theme: Callable[[str], None], picked: Callable[[str], None]):
        self._server, self._session = panel.server, panel.session
        self._theme, self._picked = theme, picked
        self.shown: Shown | None = None
        self.time = 0.0
        self.seen = {"joints": True, "names": False, "loads": True, "paths": True}
        self._lock = RLock()
        self._light: str | None = None
        self._names: list[Any] = []
        self._hidden = False
        panel.server.on_client_connect(self._comes)

    @property
    def end(self) -> float:
        """Of its motion, s; nought before there is one."""
        return 0.0 if self.shown is None else float(self.shown.data.time[-1])

    @property
    def around(self) -> tuple[Array, float]:
        """The middle of what it takes up as it moves, (3,) m, and how large that is, m; a guess before it is shown."""
        if self.shown is None:
            return np.array([0.0, 0.0, 0.3]), 1.0
        ground, eye = self.shown.data.ground, self.shown.data.eye
        return np.array([*ground.middle[:2], eye.target[2]]), ground.width / WIDER

    def hide(self, hidden: bool) -> None:
        """Take it out of sight with the ground that it stands on, or show it again."""
        self._hidden = hidden
        self.mark()

    def take(self) -> None:
        """Show the session's view, beside the held one if there is one, at the time at which the old one stands."""
        session = self._session
        if session.view is None:
            return
        data = session.view.scene
        if session.held is not None:
            data = beside(data, session.held.view.scene)
        if self._light is not None:
            data = lit(data, self._light)
        with self._lock, self._server.atomic():
            old = self.shown
            self.time = min(self.time, float(data.time[-1]))
            self.shown = show(self._server, data) if old is None else swap(self._server, old, data)
            if old is None or old.data.light != data.light:
                self._theme(data.light)
            pose(self.shown, self.time)
            known = set() if old is None else {id(h) for h in old.solids}
            for solid, handle in zip(data.solids, self.shown.solids, strict=True):
                if id(handle) not in known and kind(solid.name) in ("prop", "joints"):
                    handle.on_click(self._click(solid.name))
            self.mark()

    def go(self, when: float) -> None:
        """Show it at a time, s, or at the nearest that there is."""
        with self._lock:
            shown = self.shown
            if shown is None:
                return
            before, self.time = self.time, min(max(when, 0.0), self.end)
            with self._server.atomic():
                pose(shown, self.time, before)

    def light(self, light: str | None) -> None:
        """By day or by night; None: as the rig says."""
        with self._lock:
            self._light = light
            self.take()

    def _comes(self, client: Any) -> None:
        """Somebody opens the page: each time that his window takes up the first view, it is framed as that needs."""

        def moved(camera: Any) -> None:
            first = self._server.initial_camera.position
            if self.shown is not None and np.allclose(camera.position, first, atol=1e-4):
                look(client, self.shown.data.eye)

        client.camera.on_update(moved)

    def look(self) -> None:
        """Let everybody who looks see it from where it is framed."""
        if self.shown is None:
            return
        for client in self._server.get_clients().values():
            look(client, self.shown.data.eye)

    def _click(self, name: str) -> Callable[[Any], None]:
        whose = WAS if name.startswith(WAS) else ""
        own = "/".join(name.removeprefix(WAS).split("/")[:2])
        return lambda _: self._picked(whose + own)

    def mark(self) -> None:
        """Names, marks, forces and paths, shown or hidden as `seen` says."""
        with self._lock:
            shown = self.shown
            if shown is None:
                return
            for name in self._names:
                name.remove()
            self._names = []
            there, seen = not self._hidden, self.seen
            for solid, handle in zip(shown.data.solids, shown.solids, strict=True):
                sort = kind(solid.name)
                handle.visible = there and seen.get("paths" if sort == "points" else sort, True)
                if sort == "joints" and seen["names"] and there:
                    self._names.append(self._name(solid))
            for line, handle in zip(shown.data.lines, shown.lines, strict=True):
                handle.visible = there and (seen["paths"] or kind(line.name) != "paths")
            if shown.arrows is not None:
                shown.arrows.visible = there and seen["loads"]
            for handle in shown.skins:
                handle.visible = there
            for name in ("ground", *(w.name for w in shown.data.words)):
                handle = self._server.scene.get_handle_by_name(f"/{name}")
                if handle is not None:
                    handle.visible = there

    def _name(self, solid: Solid) -> Any:
        name = solid.name.removeprefix(WAS).removeprefix("joints/")
        middle = solid.surfaces[0].vertices.mean(axis=0)
        label = f"/{solid.name}/name"
        return self._server.scene.add_label(label, name, position=middle, anchor="bottom-left")


def kind(name: str) -> str:
    """What a thing of the scene is, by the first word of its name.

    Example:
        >>> kind("was/joints/wrist")
        'joints'
    """
    return name.removeprefix(WAS).split("/")[0]
