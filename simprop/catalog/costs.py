"""What things cost beside each other, in steps that double (common practice, no source)."""

from __future__ import annotations

from functools import cache
from math import nan

from simprop.catalog.load import material, table
from simprop.catalog.stock import is_sheet
from simprop.catalog.strengths import strength_of
from simprop.quantities import to_si, whole_literal

KINDS = {"power": "power", "torque": "torque", "force": "force", "diameter": "length"}
"""What a row may go by, and of what kind it is."""


LIGHT = 4000.0
"""A metal lighter than this is aluminium, kg/m^3."""


def cost_of(name: str, **sizes: float) -> float:
    """What one costs.

    Args:
        name: of its row: the sort and, where that has kinds, the kind, such as ``fastener bolt``.
        sizes: in the SI, what is known of `KINDS`.

    Returns:
        Times a small bolt with its nut; of stock for a kilogram. NaN where it isn't known.

    Example:
        >>> cost_of("fastener bolt", diameter=0.006), cost_of("fastener bolt", diameter=0.010), cost_of("spring")
        (1.0, 4.0, 4.0)
    """
    row = table("costs").get(name)
    if row is None:
        return nan
    if "each" in row:
        return float(row["each"])
    size = sizes.get(row["by"], nan)
    if not size >= 0.0:
        return nan
    for text, cost in row["up_to"].items():
        if size <= to_si(whole_literal(text), KINDS[row["by"]]):
            return float(cost)
    return float(row["beyond"])


@cache
def stock_cost(of: str) -> float:
    """What a kilogram of stock costs, by the sort of its material.

    Example:
        >>> stock_cost("pine"), stock_cost("PVC"), stock_cost("steel"), stock_cost("aluminium")
        (2.0, 8.0, 4.0, 16.0)
    """
    strength = strength_of(of)
    sort: str = "other" if strength is None else strength.family
    if is_sheet(of):
        sort = "sheet"
    elif sort == "metal" and material(of).density < LIGHT:
        sort = "aluminium"
    return cost_of(f"stock {sort}")
