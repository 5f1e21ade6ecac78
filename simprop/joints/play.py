"""Play between a round thing and its hole, as a joint's record says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from simprop.catalog.friction import Surfaces
from simprop.reading.fields import fault


@dataclass(frozen=True)
class Play:
    """How a joint is loose: rings of a round thing in a round hole, along the joint's axis.

    Attributes:
        clearance: bore less diameter, m.
        diameter: of what is in the hole, m; 0 where it isn't known.
        length: over which the two can touch, m.
        rings: places of the rings along the axis from the joint's point, m.
        stiffness: of each ring, N/m; None: from the materials.
        loss: damping ratio of a ring; None: from the materials.
        friction: of the surfaces; None: they don't rub.
    """

    clearance: float
    diameter: float
    length: float
    rings: tuple[float, ...]
    stiffness: float | None
    loss: float | None
    friction: Surfaces | None


def check_play(
    clearance: float | None,
    stiffness: float | None,
    loss: float | None,
    friction: float | Surfaces,
    thick: float | None,
    loosened: str = "clearance: 0.3 mm",
) -> None:
    """Raises a fault where the figures of play in a joint's record contradict each other; `loosened` makes it loose."""
    if clearance is None and (stiffness is not None or loss is not None):
        raise fault("stiffness and loss belong to a joint with play", loosened)
    if clearance is not None and isinstance(friction, float) and friction > 0.0:
        raise fault("friction of a joint with play is a coefficient or a pair of surfaces", "friction: 0.35")
    if clearance is not None and thick is not None and clearance > thick:
        raise fault("the play is wider than what is in the hole is thick", "clearance: 0.3 mm")
    if loss is not None and not 0.0 <= loss < 1.0:
        raise fault("a damping ratio lies from 0 to below 1", "loss: 0.08")


def check_guided(length: float | None, friction: float | Surfaces, clearance: float | None) -> None:
    """Raises a fault where a guide that rubs by a coefficient, or is loose, doesn't say how long it is."""
    if length is None and (isinstance(friction, Surfaces) or clearance is not None):
        why = "friction by a coefficient" if clearance is None else "a loose guide"
        raise fault(f"{why} needs the guided length", "bearing: 40 mm")


class Loose(Protocol):
    """What the record of a guide says of its play."""

    bearing: float | None
    friction: float | Surfaces
    diameter: float | None
    clearance: float | None
    stiffness: float | None
    loss: float | None


def guide_play(guide: Loose) -> Play | None:
    """Two rings, one at each end of a loose guide; None where it fits closely."""
    if guide.clearance is None:
        return None
    length = guide.bearing or 0.0
    rub = guide.friction if isinstance(guide.friction, Surfaces) else None
    rings = (-0.5 * length, 0.5 * length)
    return Play(guide.clearance, guide.diameter or 0.0, length, rings, guide.stiffness, guide.loss, rub)
