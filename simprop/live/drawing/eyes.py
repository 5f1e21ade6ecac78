"""The eyes of all who look on while a picture is drawn on: straight at it, from far off, and back where they were."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from threading import RLock
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.live.drawing.plane import ANGLE, Look, Plane, axes, height_seen, straight

NEAREST, FARTHEST = 0.02, 8.0
"""Where what is seen begins and ends, in distances from the eye to the picture; and how near the eye can go."""


@dataclass
class _Eye:
    """What is known of a client: where it saw from before, width over height of its screen, a drag of the picture."""

    before: tuple[Array, Array, float]
    ratio: float = 0.0
    look: Look | None = None
    begun: tuple[Array, Array] | None = None


class Eyes:
    """The cameras of the clients of a server.

    Args:
        server: see `simprop.scene.viewer.serving`.

    Attributes:
        sized: called with how much is seen from top to bottom, m, when that changes.
    """

    def __init__(self, server: Any):
        self._server = server
        self.sized: Callable[[float], None] = lambda height: None
        self._lock = RLock()
        self._eyes: dict[int, _Eye] = {}
        self._wanted: tuple[Plane, Array, Array] | None = None
        server.on_client_connect(self._came)
        server.on_client_disconnect(self._went)

    def straighten(self, plane: Plane, low: Array, high: Array) -> None:
        """Have all look straight at a part of a plane.

        Args:
            plane: that is looked at.
            low, high: corners of what is to be seen, (2,) m.
        """
        with self._lock:
            self._wanted = (plane, low, high)
            for client in self._server.get_clients().values():
                self._aim(client)

    def give_back(self) -> None:
        """Have all look as they did before."""
        with self._lock:
            self._wanted = None
            for number, client in self._server.get_clients().items():
                eye = self._eyes.pop(number, None)
                if eye is None:
                    continue
                camera = client.camera
                with suppress(ValueError), client.atomic():
                    place, target, angle = eye.before
                    camera.min_orbit_distance, camera.near, camera.far = 0.01, 0.01, 1000.0
                    camera.fov = angle
                    camera.position = place
                    camera.look_at = target

    def pan(self, event: Any) -> None:
        """The picture is dragged: the eye goes the other way.

        Args:
            event: of the drag, of viser.
        """
        with self._lock:
            eye = self._eyes.get(event.client.client_id)
            if eye is None or self._wanted is None:
                return
            camera = event.client.camera
            if event.phase == "start" or eye.begun is None:
                eye.begun = np.array(event.start_screen_pos), np.array(camera.look_at)
            way = np.array(event.end_screen_pos) - eye.begun[0]
            far = float(np.linalg.norm(camera.look_at - camera.position))
            right, up, away = axes(self._wanted[0].view)
            x, y = way * (_ratio(camera), 1.0) * height_seen(_look(camera))
            target = eye.begun[1] - x * right + y * up
            with event.client.atomic():
                camera.position = target - far * away
                camera.look_at = target
            if event.phase == "end":
                eye.begun = None

    def _came(self, client: Any) -> None:
        client.camera.on_update(lambda _: self._moved(client))
        with self._lock:
            if self._wanted is not None:
                self._aim(client)

    def _went(self, client: Any) -> None:
        with self._lock:
            self._eyes.pop(client.client_id, None)

    def _aim(self, client: Any) -> None:
        """Let a client look straight at what is wanted."""
        assert self._wanted is not None
        plane, low, high = self._wanted
        camera = client.camera
        eye = self._eyes.get(client.client_id)
        if eye is None:
            before = np.array(camera.position), np.array(camera.look_at), float(camera.fov)
            eye = self._eyes[client.client_id] = _Eye(before)
        eye.ratio = _ratio(camera)
        eye.look = straight(plane, low, high, eye.ratio)
        _put(client, eye.look)
        self.sized(height_seen(eye.look))

    def _moved(self, client: Any) -> None:
        """A client went nearer, or its screen has another size."""
        with self._lock:
            eye, camera = self._eyes.get(client.client_id), client.camera
            if eye is None or self._wanted is None:
                return
            look, away = _look(camera), axes(self._wanted[0].view)[2]
            ahead = (look.target - look.place) / max(float(np.linalg.norm(look.target - look.place)), 1e-9)
            if abs(_ratio(camera) - eye.ratio) > 0.02 * eye.ratio:
                self._aim(client)
            elif eye.look is not None and (ahead @ away < 1 - 1e-7 or abs(look.angle - ANGLE) > 1e-3 * ANGLE):
                _put(client, eye.look)  # turned aside, by hand or by a scene that came anew
            else:
                eye.look = look
                self.sized(height_seen(look))


def _put(client: Any, look: Look) -> None:
    """Let a client see from a place far off."""
    camera, far = client.camera, float(np.linalg.norm(look.target - look.place))
    with client.atomic():
        camera.near, camera.far = NEAREST * far / 2, FARTHEST * far
        camera.min_orbit_distance = NEAREST * far
        camera.fov = look.angle
        camera.position = look.place
        camera.look_at = look.target


def _look(camera: Any) -> Look:
    return Look(np.array(camera.position), np.array(camera.look_at), float(camera.fov))


def _ratio(camera: Any) -> float:
    """Width of a client's screen over its height; its pixels change with how busy it is."""
    return float(camera.image_width) / max(float(camera.image_height), 1.0)
