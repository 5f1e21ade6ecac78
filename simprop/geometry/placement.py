"""From drawn coordinates to the start pose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array


@dataclass(frozen=True)
class Placement:
    """How a body got from where it was drawn to the start pose.

    A drawn point p is first stretched along a held length, ``p + unit * ((p - start) . unit) * scale``, then turned and
    shifted: ``turn @ p + shift``.

    Attributes:
        turn: rotation, (3, 3).
        shift: translation, (3,) m.
        start: drawn start of the held length, (3,) m.
        unit: its drawn direction, (3,).
        scale: relative change of length, 0 where nothing is held.
    """

    turn: Array
    shift: Array
    start: Array
    unit: Array
    scale: float

    def stretched(self, drawn: Sequence[Any] | Array) -> Array:
        """A drawn point after the held length is put in: (3,) m."""
        point = np.asarray(drawn[:3], dtype=float)
        return np.asarray(point + self.unit * (self.scale * float((point - self.start) @ self.unit)))

    def world(self, drawn: Sequence[Any] | Array) -> Array:
        """Where a drawn point stands in the start pose, world frame: (3,) m."""
        return np.asarray(self.turn @ self.stretched(drawn) + self.shift)


AS_DRAWN = Placement(np.eye(3), np.zeros(3), np.zeros(3), np.zeros(3), 0.0)
"""A body that stands where it was drawn."""
