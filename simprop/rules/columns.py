"""Columns between crushing and buckling."""

from __future__ import annotations

from math import sqrt

TIMBER = 0.8
"""Ylinen's c for sawn timber, AWC NDS, from memory."""


def column_load(euler: float, crush: float, timber: bool = False) -> float:
    """Push that a straight column takes, N: short ones crush, slender ones buckle, those between do both.

    Args:
        euler: push at which it would buckle if it could not crush, N.
        crush: push at which it would crush if it could not buckle, N.
        timber: of wood; else the column curve of steel, which is taken for other metals and plastics too.

    Source: AISC 360 section E3 (0.658^(Fy/Fe) Fy, beyond Fy/Fe = 2.25 0.877 Fe; L/1500 out of straight is in it);
    timber: AWC NDS column stability factor (Ylinen); both from memory.

    Example:
        >>> [round(column_load(e, 100.0)) for e in (1e6, 100.0, 20.0)], round(column_load(100.0, 100.0, timber=True))
        ([100, 66, 18], 69)
    """
    if timber:
        ratio = euler / crush
        middle = (1 + ratio) / (2 * TIMBER)
        return crush * (middle - sqrt(middle**2 - ratio / TIMBER))
    ratio = crush / euler
    return float(crush * 0.658**ratio) if ratio <= 2.25 else 0.877 * euler
