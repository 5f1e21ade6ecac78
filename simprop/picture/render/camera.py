"""Where the picture is taken from: fixed directions, and a distance at which nothing ever leaves the frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simprop.errors import one_of
from simprop.geometry.arrays import Array

VIEWS: dict[str, tuple[float, float]] = {
    "front": (0.0, 5.0),
    "side": (90.0, 5.0),
    "three_quarter": (32.0, 14.0),
    "top": (0.0, 72.0),
}
"""Name to (degrees the viewer walks round the prop to the right, degrees the viewer looks down)."""

FIELD_OF_VIEW = 26.0
"""Height of the picture as an angle, degrees: that of a short telephoto lens, which bends shapes little."""


@dataclass(frozen=True)
class Camera:
    """A pinhole camera.

    Attributes:
        eye: where it stands, (3,) m.
        axes: rows right, up, forward, unit, (3, 3).
        focal: focal length, pixels.
        size: picture width and height, pixels.
    """

    eye: Array
    axes: Array
    focal: float
    size: tuple[int, int]

    def seen(self, points: Array) -> Array:
        """Points (..., 3) m in the world to x, y in pixels from the top left and depth in m, (..., 3).

        Example:
            >>> camera = Camera(np.array([0.0, -2, 0]), view_axes("front", 0.0), 500.0, (640, 480))
            >>> camera.seen(np.array([0.0, 0.0, 0.0])).round(6).tolist()
            [320.0, 240.0, 2.0]
        """
        local = (np.asarray(points) - self.eye) @ self.axes.T
        depth = local[..., 2]
        x = self.size[0] / 2 + self.focal * local[..., 0] / depth
        y = self.size[1] / 2 - self.focal * local[..., 1] / depth
        return np.stack([x, y, depth], axis=-1)


@dataclass(frozen=True)
class Margin:
    """Part of the picture kept free for text, as fractions of its width or height."""

    left: float = 0.06
    right: float = 0.06
    top: float = 0.07
    bottom: float = 0.13


def view_axes(view: str, down: float | None = None) -> Array:
    """Right, up and forward of a named view, rows, (3, 3).

    Args:
        view: a key of `VIEWS`.
        down: degrees the viewer looks down, or None for the view's own.

    Raises:
        RenderError: for a view that isn't one, with the nearest name.

    Example:
        >>> (view_axes("side", 0.0).round(9) + 0.0).tolist()[2]
        [-1.0, 0.0, 0.0]
    """
    one_of(view, VIEWS, "view")
    round_, tilt = np.radians(VIEWS[view][0]), np.radians(VIEWS[view][1] if down is None else down)
    forward = np.array([-np.sin(round_) * np.cos(tilt), np.cos(round_) * np.cos(tilt), -np.sin(tilt)])
    right = np.array([np.cos(round_), np.sin(round_), 0.0])
    return np.array([right, np.cross(right, forward), forward])


def framed(
    points: Array,
    axes: Array,
    size: tuple[int, int],
    margin: Margin | None = None,
    field_of_view: float = FIELD_OF_VIEW,
) -> Camera:
    """The nearest camera of a direction that sees every point inside the margins.

    For a fixed direction each edge of the free rectangle is a plane through the eye, so that the least distance
    is a maximum over the points, without search: for the right edge u - eye_u <= t (w - eye_w), and so on.

    Args:
        points: everything that must be seen, (n, 3) m, at any time.
        axes: right, up, forward, (3, 3).
        size: width, height in pixels.
        field_of_view: height of the whole picture, degrees.

    Example:
        >>> corners = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (0, 1)], float)
        >>> camera = framed(corners, view_axes("three_quarter"), (640, 480))
        >>> bool((camera.seen(corners)[:, :2] > 0).all())
        True
    """
    room = Margin() if margin is None else margin
    width, height = size
    focal = height / 2 / np.tan(np.radians(field_of_view / 2))
    local = np.asarray(points, dtype=float).reshape(-1, 3) @ axes.T
    u, v, w = local.T
    eye = np.empty(3)
    depths = []
    spans = []
    for value, extent, low_side, high_side in (
        (u, width, room.left, room.right),
        (v, height, room.bottom, room.top),
    ):
        high = extent * (0.5 - high_side) / focal
        low = extent * (0.5 - low_side) / focal
        above, below = float(np.max(value - high * w)), float(np.max(-value - low * w))
        spans.append((high, low, above, below))
        depths.append(-(above + below) / (high + low))
    eye[2] = min(*depths, float(w.min()) - 0.05)
    for axis, (high, low, above, below) in enumerate(spans):
        least, most = above + high * eye[2], -below - low * eye[2]
        eye[axis] = (least + most) / 2
    return Camera(eye @ axes, axes, float(focal), size)


def following(camera: Camera, shift: Array) -> Camera:
    """The same camera moved by (3,) m, to keep a moving point in place."""
    return replace(camera, eye=camera.eye + shift)
