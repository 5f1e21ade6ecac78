"""Glue on wood, by the kind of surface."""

from __future__ import annotations

from typing import Literal

Grain = Literal["side to side", "end to side", "end to end"]
SIDE_STRENGTH = 900 * 6894.757
"""A sound side-grain glue line is as strong as softwood in shear, Pa: USDA Wood Handbook, white pine, from memory."""
SHARE = {"side to side": 1.0, "end to side": 0.1, "end to end": 0.1}
"""Share of the side-grain strength; end grain drinks the glue. Assumed, textbooks on woodwork give none to a quarter.
"""


def glue_load(area: float, grain: Grain, wet: bool = False) -> float:
    """Shear load at which a glue line on wood fails, N; a least factor of 3 belongs on it.

    Args:
        area: m^2.
        wet: gets wet in service with a glue that isn't weatherproof: nothing counts then but a half.

    Example:
        >>> round(glue_load(1e-3, "side to side"))
        6205
    """
    return area * SIDE_STRENGTH * SHARE[grain] * (0.5 if wet else 1.0)
