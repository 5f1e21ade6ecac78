"""From drawn coordinates to the start pose and to the frame of a body."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.assembly.types import BodyData, Placement
from simprop.geometry.arrays import Array
from simprop.reading.fields import Point


def stretched(placement: Placement, drawn: Sequence[float] | Point) -> Array:
    """A drawn point after the held length of its body is put in: (3,) m."""
    point = np.asarray(drawn[:3], dtype=float)
    return np.asarray(
        point + placement.unit * (placement.scale * float((point - placement.start) @ placement.unit))
    )


def world_point(body: BodyData, drawn: Sequence[float] | Point) -> Array:
    """Where a drawn point of a body stands in the start pose.

    Args:
        body: the body that carries the point.
        drawn: x, y, z as drawn, m.

    Returns:
        (3,) m, world frame.
    """
    placement = body.placement
    return np.asarray(placement.turn @ stretched(placement, drawn) + placement.shift)


def local_point(body: BodyData, drawn: Sequence[float] | Point) -> Array:
    """A drawn point of a body in the body's frame (origin at the centre of mass, world axes at the start): (3,) m."""
    return np.asarray(world_point(body, drawn) - body.com)
