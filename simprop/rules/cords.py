"""Strength of a cord: what it breaks at with knots and over wheels."""

from __future__ import annotations

from math import sqrt

FACTOR = 5.0
"""Least factor of a cord's breaking load (a rigger's working load is a fifth of it; common practice, from memory)."""
OVERHEAD = 10.0
"""And over people (common practice of the stage, from memory)."""
ROUND = 8.0
"""Diameter of a wheel over that of a cord below which bending takes strength (rope makers' 8 to 1, from memory)."""


def left(knot: float, thin: float, narrowest: float | None) -> float:
    """Share of the breaking load that knots at the ends and the narrowest wheel leave, the worse of the two.

    A wheel of D over a cord of d leaves 1 - 0.5 / sqrt(D / d), for D / d of 1 to 40, where it is narrower than 8 d.

    Args:
        knot: share that a knot leaves, above 0 to 1.
        thin: diameter of the cord, m.
        narrowest: of the round things that it passes, m; None without any.

    Source: bending of wire rope over sheaves, efficiency 1 - 0.5 / sqrt(D / d) (Wire Rope Users Manual; from memory).

    Example:
        >>> left(0.5, 0.003, None), round(left(0.9, 0.003, 0.012), 3)
        (0.5, 0.75)
    """
    if narrowest is None or narrowest >= ROUND * thin:
        return knot
    return min(knot, 1.0 - 0.5 / sqrt(max(1.0, narrowest / thin)))
