"""The tab of what is drawn: a picture laid at its scale, points dragged on it, new points, pins and bars."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import RLock, Thread
from typing import Any, Literal

from simprop.errors import SimpropError
from simprop.geometry.arrays import Array
from simprop.live import html
from simprop.live.drawing.board import LEVELS, MARKS, Board
from simprop.live.drawing.eyes import Eyes
from simprop.live.drawing.plane import Plane, axes
from simprop.live.drawing.sheet import Sheet
from simprop.live.drawing.steps import Steps
from simprop.live.page.clock import Clock
from simprop.live.page.prop import Prop
from simprop.live.page.types import Panel, by_hand, offer

Mode = Literal["", "marks", "point", "pin", "bar"]
ASKS = {
    "marks": "Click the two marks on the picture.",
    "point": "Click where the new point is.",
    "pin": "Click a point, or where the pin is.",
    "bar": "Click the two points that the bar joins.",
}
BEGINS = {"marks": "Set two marks", "point": "New point", "pin": "New pin", "bar": "New bar"}
LEAVES = "Leave it (Esc)"
STOCK = "bar: 25 x 3 mm, of: steel"


class Drawing:
    """What is drawn on a picture.

    Args:
        panel: where its controls are put.
        prop: that stands before the picture.
        clock: which stands at nought meanwhile.
        picture: that is laid at the start; None: the one that is kept beside the rig, if any.
    """

    def __init__(self, panel: Panel, prop: Prop, clock: Clock, picture: Path | None = None):
        self._gui, self._session, self._prop, self._clock = panel.gui, panel.session, prop, clock
        self._lock = RLock()
        self._steps = Steps(panel.session)
        self._board = Board(panel.session)
        self._scene = panel.server.scene
        self._eyes = Eyes(panel.server)
        self._sheet = Sheet(panel.server, self._eyes.pan)
        self._eyes.sized = self._sheet.sized
        self._mode: Mode = ""
        self._joined: list[str] = []
        self._set = 0
        self._build()
        self._try(lambda: self._found(picture))

    # ---- its controls

    def _build(self) -> None:
        gui = self._gui
        self._said = gui.add_html("")
        self._on = gui.add_checkbox("draw on it", False)
        self._on.on_update(lambda event: self._try(self._switched) if by_hand(event) else None)
        self._through = gui.add_checkbox(
            "prop through it", False, hint="the prop is seen through the picture"
        )
        self._through.on_update(lambda event: self._try(self._show) if by_hand(event) else None)
        gui.add_button("Take back").on_click(lambda _: self._try(self._back))
        tabs = gui.add_tab_group()
        with tabs.add_tab("Picture"):
            self._build_picture()
        with tabs.add_tab("New"):
            self._name = gui.add_text("name", "")
            self._deep = gui.add_text("how deep", "0 mm", hint="the coordinate that this view doesn't show")
            self._begin["point"] = self._beginner("point")
            self._bodies = [gui.add_dropdown(f"{which} body", ("-",)) for which in ("first", "second")]
            self._begin["pin"] = self._beginner("pin")
            self._stock = gui.add_text("stock", STOCK)
            self._fixed = gui.add_checkbox("fixed", False)
            self._begin["bar"] = self._beginner("bar")
        leave = gui.add_command("Leave what was begun", hotkey="escape")
        leave.on_trigger(lambda _: self._try(lambda: self._into("")))

    def _build_picture(self) -> None:
        gui = self._gui
        self._told = gui.add_html("")
        self._upload = gui.add_upload_button("Take a picture ...", mime_type="image/png,image/jpeg")
        self._upload.on_upload(lambda _: self._try(self._uploaded))
        self._view = gui.add_dropdown("seen from the", ("front", "side"))
        self._view.on_update(lambda event: self._try(self._turned) if by_hand(event) else None)
        self._begin: dict[str, Any] = {"marks": self._beginner("marks")}
        self._apart = gui.add_text("marks apart", "500 mm", hint="with its unit, such as 500 mm or 20 in")
        self._level = gui.add_dropdown("the marks are", LEVELS)
        self._first = gui.add_text("mark 1 is at", "0 0 mm", hint="across and up, or a point of the rig")
        gui.add_button("Lay it").on_click(lambda _: self._try(self._lay))

    def _beginner(self, mode: Mode) -> Any:
        button = self._gui.add_button(BEGINS[mode])
        button.on_click(lambda _: self._try(lambda: self._into("" if self._mode == mode else mode)))
        return button

    # ---- modes

    def _try(self, act: Callable[[], str | None]) -> None:
        """Do something; what it says, or why it can't be, is told."""
        with self._lock:
            try:
                said = act()
            except SimpropError as error:
                said = str(error)
                self._renew()
            if said is not None:
                self._said.content = html.note(said) if said else ""

    def _into(self, mode: Mode) -> str:
        """Begin something that waits for clicks, or leave it."""
        if mode:
            self._board.known()
        if mode and not self._on.value:
            self._on.value = True
            self._show()
        if bool(mode) != bool(self._mode):
            if mode:
                self._scene.on_click()(self._clicked)
            else:
                self._scene.remove_click_callback(self._clicked)
        self._mode, self._joined, self._set = mode, [], 0
        for name, button in self._begin.items():
            button.label = LEAVES if name == mode else BEGINS[name]
        self._renew()
        return ASKS.get(mode, "")

    def _clicked(self, event: Any) -> None:
        at = self._sheet.under(event)
        act = {"marks": self._mark, "point": self._point, "pin": self._pin, "bar": self._bar}.get(self._mode)
        if act is not None:
            self._try(lambda: act(at))

    # ---- the picture

    def _found(self, picture: Path | None) -> None:
        """The picture of the start, if there is one."""
        if self._board.find(picture, self._prop.around[1]):
            self._filled()
        self._show()

    def _uploaded(self) -> str:
        file = self._upload.value
        said = self._board.upload(file.name, file.content, self._prop.around[1])
        self._filled()
        self._show()
        return said

    def _filled(self) -> None:
        """The fields as the picture was laid before."""
        self._view.value, self._apart.value, self._level.value, self._first.value = self._board.form()

    def _turned(self) -> None:
        self._board.turn(self._view.value)
        self._show()

    def _lay(self) -> str:
        said = self._board.lay(self._apart.value, self._level.value, self._first.value)
        self._show()
        return said

    def _mark(self, at: Array) -> str:
        self._board.mark(self._set, at)
        self._set += 1
        if self._set < 2:
            self._renew()
            return "Now the second mark."
        self._into("")
        return "Drag the crosses where they should be, write how far apart they are, then lay it."

    # ---- seeing

    def _switched(self) -> None:
        if self._on.value and self._board.laid is None:
            self._on.value = False
            raise SimpropError("take a picture first")
        if not self._on.value:
            self._into("")
        self._show()
        if not self._on.value:
            self._prop.look()  # it may have grown

    def _show(self) -> None:
        """The picture, the prop and the eyes as the boxes say."""
        board, on, through = self._board, self._on.value, self._through.value
        self._told.content = html.note(board.told())
        self._prop.hide(on and not through)
        if on:
            self._clock.rest()
        middle, size = self._prop.around
        deep = float(axes(board.view)[2] @ middle)
        plane = Plane(board.view, deep - size if on else deep + size / 2)
        self._sheet.lay(board.laid, plane, veiled=on and through)
        self._sheet.table(on, 3 * size)
        self._renew()
        if on:
            self._eyes.straighten(plane, *board.reach())
        else:
            self._eyes.give_back()

    # ---- what is drawn

    def renew(self) -> None:
        """The file was saved: its points and bodies anew."""
        with self._lock:
            self._renew()

    def _renew(self) -> None:
        board = self._board
        board.read()
        for drop in self._bodies:
            offer(drop, board.bodies or ("-",))
        spots = board.spots(marks=self._mode == "marks") if self._on.value else ()
        self._sheet.spots(spots, self._over, self._dropped)

    def _over(self, name: str, at: Array) -> None:
        self._said.content = html.note(self._board.read_out(name, at))

    def _dropped(self, name: str, at: Array) -> None:
        Thread(target=lambda: self._try(lambda: self._moved(name, at)), daemon=True).start()

    def _moved(self, name: str, at: Array) -> str:
        if name in MARKS:
            self._board.mark(MARKS.index(name), at)
            self._renew()
            return "Lay it anew where the crosses are right."
        text, said = self._board.moved(name, at)
        return self._step(text, said)

    def _step(self, text: str, said: str = "") -> str:
        told = self._steps.take(text)
        self._renew()
        return " ".join(s for s in (f"{told}." if told else "Nothing changed.", said) if s)

    def _back(self) -> str:
        told = self._steps.back()
        self._renew()
        return f"Taken back: {told}."

    def _point(self, at: Array) -> str:
        said = self._step(self._board.with_point(self._name.value, at, self._deep.value))
        self._into("")
        return said

    def _pin(self, at: Array) -> str:
        first, second = (drop.value for drop in self._bodies)
        point = self._sheet.near(at)
        said = self._step(
            self._board.with_pin(self._name.value, (first, second), point, at, self._deep.value)
        )
        self._into("")
        return said

    def _bar(self, at: Array) -> str:
        point = self._sheet.near(at)
        if point is None:
            raise SimpropError("there is no point there: make it first, then click it")
        self._joined.append(point)
        if len(self._joined) < 2:
            return f"From {point}: now the point at its other end."
        first, second = self._joined
        self._joined = []
        said = self._step(
            self._board.with_bar(
                self._name.value, (first, second), self._stock.value, fixed=self._fixed.value
            )
        )
        self._into("")
        return said
