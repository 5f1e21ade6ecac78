"""Lengths in which stock is sold, and what it is called by its material."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from simprop.catalog.load import material, needed, table
from simprop.catalog.strengths import strength_of

SHEETS = frozenset(
    {"plywood", "birch plywood", "hardboard", "MDF", "acrylic", "polycarbonate", "foam board"}
    | {"corrugated plastic", "EVA foam", "rigid foam", "leather"}
)
"""Materials that are sold as sheets, whatever is cut from them."""


@dataclass(frozen=True)
class StockLength:
    """How a sort of stock is sold.

    Attributes:
        sort: such as ``pipe``.
        metric: length as sold where people measure in millimetres, m.
        inch: length as sold where they measure in inches, m.
        kerf: what a saw takes with each cut, m.
        source: where the figures come from.
    """

    sort: str
    metric: float
    inch: float
    kerf: float
    source: str


@cache
def stock_length(sort: str) -> StockLength:
    """How a sort of stock is sold.

    Example:
        >>> stock_length("pipe").metric
        3.0
    """
    row = table("stock")[sort]
    metric, inch, kerf = (needed(row, field, "length") for field in ("metric", "inch", "kerf"))
    return StockLength(sort, metric, inch, kerf, str(row["source"]))


def is_wood(of: str) -> bool:
    """Whether a material is solid wood.

    Example:
        >>> is_wood("pine"), is_wood("plywood"), is_wood("steel")
        (True, False, False)
    """
    strength = strength_of(of) if of else None
    return strength is not None and strength.family == "wood" and not is_sheet(of)


def is_sheet(of: str) -> bool:
    """Whether a material is sold as sheets, whatever is cut from them.

    Example:
        >>> is_sheet("ply"), is_sheet("oak")
        (True, False)
    """
    return bool(of) and material(of).name in SHEETS


def is_stiff(of: str) -> bool:
    """Whether a material is sawn rather than stuffed or shaped: wood, metal or a plastic of known strength."""
    return bool(of) and (is_sheet(of) or strength_of(of) is not None)
