"""What a fastener in wood meets: the bearing strength of each of the two parts, by the load's angle to the grain."""

from __future__ import annotations

import numpy as np

from simprop.checking.context import Context
from simprop.geometry.arrays import Array
from simprop.rules import wood_joints

STEEL_BEARING = 61.85e3 * wood_joints.PSI
"""Dowel bearing of a steel side plate, Pa; AWC NDS (ASTM A653 grade 33), from memory; A36 is given more."""


def is_wood(ctx: Context, which: int) -> bool:
    """Whether a part of a held joint is of wood with a known specific gravity.

    Args:
        which: 0 for the part on the first body, 1 for that on the second.
    """
    part = ctx.parts[which]
    return part is not None and part.strength is not None and part.strength.gravity is not None


def bearing(ctx: Context, which: int, nominal: float) -> Array | None:
    """Bearing strength of one of the two parts at each step, Pa (n,); None where it isn't known.

    Args:
        which: 0 for the part on the first body, 1 for that on the second.
        nominal: diameter of the fastener, m.
    """
    part = ctx.parts[which]
    if part is None or part.strength is None:
        return None
    s = part.strength
    if s.gravity is not None:
        return wood_joints.dowel_bearing(s.gravity, nominal, ctx.grain_angle(which))
    steel = s.family == "metal" and "Al" not in part.material
    known = STEEL_BEARING if steel else (s.ultimate if s.family == "metal" else s.yield_strength)
    return None if known is None else np.full(len(ctx.time), known)


def angle(ctx: Context) -> Array:
    """Largest angle of the load to the grain of either part of wood, rad (n,)."""
    angles = [ctx.grain_angle(k) for k in (0, 1) if is_wood(ctx, k)]
    return np.max(angles, axis=0) if angles else np.zeros(len(ctx.time))
