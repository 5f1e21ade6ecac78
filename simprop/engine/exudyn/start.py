"""What dry friction that sticks bears at the very start."""

from __future__ import annotations

from dataclasses import dataclass, field

CLOSE = 1e-3
"""Loads that move by less than this share of the largest have been found."""


@dataclass(frozen=True)
class Start:
    """What friction bears at the start.

    Attributes:
        loads: of each axis at rest with friction, N*m or N.
        limits: of friction that goes with the load.
    """

    loads: dict[int, float] = field(default_factory=dict)
    limits: dict[int, float] = field(default_factory=dict)

    def close_to(self, other: Start) -> bool:
        """True if another is next to the same."""
        for own, theirs in ((self.loads, other.loads), (self.limits, other.limits)):
            most = max((abs(v) for v in own.values()), default=0.0)
            if any(abs(v - theirs.get(k, 0.0)) > CLOSE * most for k, v in own.items()):
                return False
        return True
