"""The plane of a picture in the world, and the eye that looks straight at it from far off."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, sin, tan
from typing import Literal

import numpy as np
from scipy.spatial.transform import Rotation

from simprop.errors import SimpropError
from simprop.geometry.arrays import Array

View = Literal["front", "side"]
ANGLE = 0.0035
"""Height of what is seen while it is drawn, rad (0.2 degrees): what lies a metre behind the plane is off by 2 mm at the
upper edge at most."""
AROUND = 1.12
"""How much more than the picture is seen."""


@dataclass(frozen=True)
class Plane:
    """Where a picture stands.

    Attributes:
        view: "front": x to the right, z up, seen from -y; "side": y to the right, z up, seen from +x.
        depth: how far behind the origin it stands, seen from there, m.
    """

    view: View
    depth: float


@dataclass(frozen=True)
class Look:
    """Where a client sees from: eye, what is looked at, (3,) m; height of the picture as an angle, rad."""

    place: Array
    target: Array
    angle: float


def axes(view: View) -> Array:
    """Ways to the right, up and away from the eye, as rows of (3, 3).

    Example:
        >>> axes("side")[2].tolist()
        [-1.0, 0.0, 0.0]
    """
    right, away = (
        ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)) if view == "front" else ((0.0, 1.0, 0.0), (-1.0, 0.0, 0.0))
    )
    return np.array([right, (0.0, 0.0, 1.0), away])


def place(plane: Plane, spot: Array, nearer: float = 0.0) -> Array:
    """A spot of the plane in the world, (3,) m.

    Args:
        plane: that it lies in.
        spot: its two coordinates, to the right and up, (2,) m.
        nearer: before the plane, m.

    Example:
        >>> place(Plane("side", 0.5), np.array([0.1, 0.3])).tolist()
        [-0.5, 0.1, 0.3]
    """
    found: Array = np.array([*spot, plane.depth - nearer]) @ axes(plane.view)
    return found


def spot(view: View, place: Array) -> Array:
    """The two coordinates that a view shows of a place of the world, (2,) m.

    Args:
        view: whose.
        place: (3,) m.

    Example:
        >>> spot("front", np.array([0.1, 0.2, 0.3])).tolist()
        [0.1, 0.3]
    """
    found: Array = axes(view)[:2] @ place
    return found


def hit(plane: Plane, origin: Array, way: Array) -> Array:
    """Where a ray from the eye meets a plane, (2,) m.

    Args:
        plane: that is met.
        origin: of the ray, (3,) m.
        way: of the ray, (3,).

    Raises:
        SimpropError: where the ray runs along the plane.

    Example:
        >>> hit(Plane("front", 1.0), np.array([0.0, -1.0, 0.0]), np.array([0.1, 1.0, 0.0])).tolist()
        [0.2, 0.0]
    """
    away = axes(plane.view)[2]
    along = float(away @ way)
    if abs(along) < 1e-9:
        raise SimpropError("the picture is seen from its edge: look straight at it")
    return spot(plane.view, origin + (plane.depth - float(away @ origin)) / along * way)


def facing(view: View, turned: float = 0.0) -> Array:
    """How an image lies in the plane: its own x to the right and y down; quaternion, w first, (4,).

    Args:
        view: of the plane.
        turned: counter-clockwise, rad.

    Example:
        >>> np.round(facing("front"), 3).tolist()
        [-0.707, 0.707, 0.0, 0.0]
    """
    right, up, away = axes(view)
    along, across = cos(turned) * right + sin(turned) * up, cos(turned) * up - sin(turned) * right
    x, y, z, w = Rotation.from_matrix(np.column_stack([along, -across, away])).as_quat()
    return np.array([w, x, y, z])


def straight(plane: Plane, low: Array, high: Array, ratio: float) -> Look:
    """The look straight at a part of the plane from far off.

    Args:
        plane: that is looked at.
        low, high: corners of what is to be seen, (2,) m.
        ratio: width of the screen over its height.
    """
    wide, tall = (high - low) * AROUND
    half = max(tall, wide / ratio) / 2
    target = place(plane, (low + high) / 2)
    return Look(target - half / tan(ANGLE / 2) * axes(plane.view)[2], target, ANGLE)


def height_seen(look: Look) -> float:
    """How much of the plane that is looked at is seen from top to bottom, m.

    Args:
        look: of the client.

    Example:
        >>> round(height_seen(straight(Plane("front", 1.0), np.zeros(2), np.array([0.5, 1.0]), 1.0)), 6)
        1.12
    """
    far = float(np.linalg.norm(look.target - look.place))
    return 2 * far * tan(look.angle / 2)
