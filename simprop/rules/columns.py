"""Columns between crushing and buckling."""

from __future__ import annotations

from math import sqrt

import numpy as np

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


def twisting_load(
    about_u: float, about_v: float, twist: float, square: float, off: tuple[float, float]
) -> float:
    """Push at which a column bends and twists at once, N; the least of the three loads where nothing is off.

    Args:
        about_u, about_v: pushes at which it would buckle about its principal axes alone, N.
        twist: G J of its section, N*m^2; its ends may warp (on the safe side).
        square: polar moment about the shear centre over the area, m^2.
        off: the shear centre along u and v from the centre of area, m.

    Source: AISC 360 section E4 (the general cubic; Timoshenko and Gere, Theory of Elastic Stability), warping left out.

    Example:
        >>> round(twisting_load(50.0, 100.0, 30.0, 0.5, (0.0, 0.0)), 6)
        50.0
        >>> round(twisting_load(100.0, 1e9, 30.0, 0.5, (0.5, 0.0)), 1)  # (160 - sqrt(160^2 - 2 x 6000)) / (2 x 0.5)
        43.4
    """
    p, q, r = about_u, about_v, twist / square
    s, t = off[0] ** 2 / square, off[1] ** 2 / square
    terms = [
        1 - s - t,
        -(p + q + r) + s * q + t * p,
        p * q + q * r + r * p,
        -p * q * r,
    ]
    found = np.roots(terms)
    real = found.real[np.abs(found.imag) <= 1e-6 * np.abs(found.real)]
    return float(real[real > 0].min())
