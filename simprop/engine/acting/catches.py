"""Ratchets and one-way clutches over a run: stops that go along with what they let pass."""

from __future__ import annotations

from collections.abc import Sequence

from simprop.laws.stops import StopLaw, behind


class Catches:
    """The stops of a run as they stand.

    Attributes:
        laws: of all stops, in their order, at present.
        moving: indices of those that go along.

    Example:
        >>> clutch = StopLaw(0.0, None, 1000.0, 1.0, pitch=0.0)
        >>> catches = Catches([(0, clutch)])
        >>> catches.follow([0.3]), catches.follow([0.2]), catches.laws[0].below
        ([0], [], 0.3)
    """

    def __init__(self, stops: Sequence[tuple[int, StopLaw]]):
        self._axes = [axis for axis, _ in stops]
        self.laws = [law for _, law in stops]
        self.moving = [k for k, law in enumerate(self.laws) if law.pitch is not None]

    def follow(self, coordinate: Sequence[float]) -> list[int]:
        """Let them go along to where a step begins; tells which did.

        Args:
            coordinate: of each axis, rad or m.
        """
        changed = []
        for k in self.moving:
            law = behind(self.laws[k], coordinate[self._axes[k]])
            if law is not self.laws[k]:
                self.laws[k] = law
                changed.append(k)
        return changed
