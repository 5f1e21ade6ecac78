"""What stands in the scene while a picture is drawn on: it, a table behind it, rings and crosses to be dragged."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from threading import RLock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.live.drawing.icons import HIGH, SIDE, Icon, icon
from simprop.live.drawing.plane import Plane, facing, hit, place
from simprop.scene.things import node

Dragged = Callable[[str, Array], None]
TABLE = (214, 216, 218)
"""Colour of what lies behind the picture while it is drawn on (by eye)."""
LAYERS = 1e-3
"""From one layer of the sheet to the next, m: so little that it isn't seen from far off."""
VEIL = 0.55
"""How much a picture covers of a prop that is shown behind it."""


@dataclass(frozen=True)
class Laid:
    """A picture as it lies in its plane.

    Attributes:
        pixels: (h, w, 3), sRGB.
        middle: its two coordinates, (2,) m.
        size: its width and height, m.
        turned: counter-clockwise, rad.
    """

    pixels: NDArray[np.uint8]
    middle: Array
    size: tuple[float, float]
    turned: float


@dataclass(frozen=True)
class Spot:
    """Something on the sheet that can be dragged, or could.

    Attributes:
        name: of it, unique among its kind.
        at: its two coordinates, (2,) m.
        icon: how it is drawn.
        word: beside it.
    """

    name: str
    at: Array
    icon: Icon
    word: str


class Sheet:
    """A picture and what is drawn on it, in the scene of a server.

    Args:
        server: see `simprop.scene.viewer.serving`.
        panned: called with each event of a drag of the picture itself, or of the table.

    Attributes:
        plane: in which it stands.
        laid: the picture; None: there is none.
    """

    def __init__(self, server: Any, panned: Callable[[Any], None]):
        self._scene, self._panned = server.scene, panned
        self._atomic = server.atomic
        self.plane = Plane("front", 0.0)
        self.laid: Laid | None = None
        self._lock = RLock()
        self._picture: Any = None
        self._table: Any = None
        self._spots: dict[str, tuple[Spot, Any, Any]] = {}
        self._side = 0.05
        self._veiled = False

    # ---- the picture

    def lay(self, laid: Laid | None, plane: Plane, *, veiled: bool = False) -> None:
        """Put a picture into a plane; what lies on it is put anew by `spots`.

        Args:
            laid: the picture; None: none.
            plane: where it stands.
            veiled: what stands behind it is seen through it.
        """
        with self._lock, self._atomic():
            old = self.laid
            same = (
                laid
                and old
                and laid.pixels is old.pixels
                and laid.size == old.size
                and veiled == self._veiled
            )
            if self._picture is not None and not same:
                self._picture.remove()
                self._picture = None
            self.laid, self.plane, self._veiled = laid, plane, veiled
            if laid is None:
                return
            if self._picture is None:
                self._picture = self._scene.add_image(
                    "/sheet/picture",
                    _veiled(laid.pixels) if veiled else laid.pixels,
                    *laid.size,
                    format="png" if veiled else "jpeg",
                    jpeg_quality=None if veiled else 90,
                    cast_shadow=False,
                    receive_shadow=False,
                )
                self._picture.on_drag(self._pan)
            self._picture.wxyz = facing(plane.view, laid.turned)
            self._picture.position = place(plane, laid.middle)

    def table(self, on: bool, behind: float = 1.0) -> None:
        """A plain table behind it all, so that a drag beside the picture moves it too.

        Args:
            on: whether it is there.
            behind: how far behind the picture, m.
        """
        with self._lock:
            if self._table is not None:
                self._table.remove()
                self._table = None
            if on:
                middle = np.zeros(2) if self.laid is None else self.laid.middle
                side = 60.0 * (1.0 if self.laid is None else max(self.laid.size))
                self._table = self._scene.add_image(
                    "/sheet/table",
                    np.full((4, 4, 3), TABLE, dtype=np.uint8),
                    side,
                    side,
                    format="png",
                    wxyz=facing(self.plane.view),
                    position=place(self.plane, middle, -behind),
                    cast_shadow=False,
                    receive_shadow=False,
                )
                self._table.on_drag(self._pan)

    async def _pan(self, event: Any) -> None:  # viser keeps the order of such calls alone
        self._panned(event)

    # ---- what is dragged on it

    def spots(self, spots: Iterable[Spot], dragged: Dragged, dropped: Dragged) -> None:
        """Rings, squares and crosses on the picture; those that were there and aren't among them go.

        Args:
            spots: what is to be there.
            dragged: called with the name and where it is, while it is dragged.
            dropped: called so when it is let go.
        """
        with self._lock, self._atomic():
            wanted = {s.name: s for s in spots}
            for name in [n for n in self._spots if n not in wanted]:
                self._drop(name)
            for one in wanted.values():
                old = self._spots.get(one.name)
                if old is not None and (old[0].icon, old[0].word) != (one.icon, one.word):
                    self._drop(one.name)
                    old = None
                if old is None:
                    old = self._made(one, dragged, dropped)
                self._spots[one.name] = (one, *old[1:])
                self._put(one)

    def _made(self, one: Spot, dragged: Dragged, dropped: Dragged) -> tuple[Spot, Any, Any]:
        name = f"/sheet/spots/{node(one.name)}"
        ring = self._scene.add_image(
            name,
            icon(one.icon),
            1.0,
            1.0,
            format="png",
            wxyz=facing(self.plane.view),
            cast_shadow=False,
            receive_shadow=False,
        )
        word = self._scene.add_label(f"{name}/word", one.word, anchor="bottom-left")
        if one.icon != "held":
            ring.on_drag(self._drag(one.name, dragged, dropped))
        return one, ring, word

    def _drop(self, name: str) -> None:
        _, ring, word = self._spots.pop(name)
        word.remove()
        ring.remove()

    def _put(self, one: Spot) -> None:
        _, ring, word = self._spots[one.name]
        side = self._side
        ring.position = place(self.plane, one.at, (3 if one.icon == "mark" else 2) * LAYERS)
        ring.wxyz = facing(self.plane.view)
        ring.scale = side
        word.position = (0.3 * side, -0.3 * side, -LAYERS)

    def sized(self, height: float) -> None:
        """Draw rings as large on the screen as ever.

        Args:
            height: how much of the plane is seen from top to bottom, m.
        """
        side = height * SIDE / HIGH
        if abs(side - self._side) < 0.04 * self._side:
            return
        with self._lock, self._atomic():
            self._side = side
            for one, _, _ in list(self._spots.values()):
                self._put(one)

    def near(self, at: Array, reach: float = 0.5) -> str | None:
        """The name of the ring that is nearest to a place; None where none is under it.

        Args:
            at: (2,) m.
            reach: how near, in rings.
        """
        far = {
            name: float(np.linalg.norm(s.at - at))
            for name, (s, _, _) in self._spots.items()
            if s.icon != "mark"
        }
        best = min(far, key=lambda name: far[name], default=None)
        return best if best is not None and far[best] < reach * self._side else None

    def _drag(self, name: str, dragged: Dragged, dropped: Dragged) -> Callable[[Any], Any]:
        grip: list[Array] = []

        async def drag(event: Any) -> None:  # viser keeps the order of such calls alone
            held = self._spots.get(name)
            if held is None:
                return
            now = self.under(event)
            if event.phase == "start" or not grip:
                started = hit(self.plane, *_ray(event, event.start_position))
                grip[:] = [held[0].at - started]
            at = now + grip[0]
            one = replace(held[0], at=at)
            self._spots[name] = (one, *held[1:])
            self._put(one)
            if event.phase == "end":
                grip.clear()
                dropped(name, at)
            else:
                dragged(name, at)

        return drag

    def under(self, event: Any) -> Array:
        """The place of the plane under a pointer, (2,) m.

        Args:
            event: of a drag or a click, of viser.
        """
        if hasattr(event, "ray_origin"):
            return hit(self.plane, np.array(event.ray_origin), np.array(event.ray_direction))
        return hit(self.plane, *_ray(event, event.end_position))


def _ray(event: Any, through: tuple[float, float, float]) -> tuple[Array, Array]:
    """From the eye of the client of a drag through a place."""
    eye = np.array(event.client.camera.position, dtype=float)
    return eye, np.array(through) - eye


def _veiled(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A picture through which the prop is seen; coarser, since it is sent as it is."""
    step = max(1, max(pixels.shape[:2]) // 1024)
    thin = pixels[::step, ::step]
    veil = np.full((*thin.shape[:2], 1), round(255 * VEIL), dtype=np.uint8)
    return np.concatenate([thin, veil], axis=2)
