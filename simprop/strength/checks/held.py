"""What the checks of different fasteners share: a load history against a limit, rows of fasteners."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.geometry.arrays import Array
from simprop.strength.context import Context, Part, group_arm, peak, sideways
from simprop.strength.margins import Check, judge


def against(
    ctx: Context,
    name: str,
    values: Array,
    limit: float,
    *,
    unit: str,
    factor: float,
    assumed: Sequence[str] = (),
    source: str = "",
) -> Check:
    """The peak of a load history against a limit.

    Args:
        ctx: the joint.
        name: what is checked.
        values: (n,) in `unit`.
        limit: in `unit`.
        unit: SI unit.
        factor: least factor.
        assumed: what was assumed.
        source: of formula and figures.
    """
    most, row = peak(values)
    time = float(ctx.time[row])
    return judge(
        "fastener",
        name,
        ctx.joint,
        most,
        limit,
        unit=unit,
        factor=factor,
        assumed=assumed,
        source=source,
        time=time,
    )


def pull_and_twist(
    ctx: Context,
    name: str,
    limits: tuple[float, float],
    *,
    factor: float,
    assumed: Sequence[str] = (),
    source: str = "",
) -> Check:
    """Pull along the fastener (limit N) and twist about it (limit N*m) together, linear; no limit, no load.

    Args:
        ctx: the held joint with its loads.
        name: what is checked.
        limits: of pull N and of twist N*m.
        factor: least factor.
        assumed: what was assumed.
        source: where formula and figures come from.
    """
    pull, twist = np.abs(ctx.along), np.abs(ctx.torque)
    force, torque = limits
    for values, limit, unit, least in ((pull, force, "N", 1e-3), (twist, torque, "N*m", 1e-4)):
        if limit <= 0 and peak(values)[0] > least:
            return against(ctx, name, values, 0.0, unit=unit, factor=factor, assumed=assumed, source=source)
    use = (pull / force if force > 0 else 0 * pull) + (twist / torque if torque > 0 else 0 * twist)
    unit = "of its strength"
    return against(ctx, name, use, 1.0, unit=unit, factor=factor, assumed=assumed, source=source)


def row_loads(ctx: Context, count: int, spacing: float | None) -> tuple[Array, Array] | None:
    """Load across and along the worst of a row of fasteners, (n,) N each; None where one can't stop turning.

    Args:
        ctx: the held joint with its loads.
        count: how many.
        spacing: between two of them, m; None: not known.
    """
    shear, pull = sideways(ctx) / count, np.abs(ctx.along) / count
    if ctx.moving:
        return shear, pull
    arm = group_arm(count, spacing)
    if arm is None:
        return (shear, pull) if max(peak(ctx.torque)[0], peak(ctx.tilt)[0]) < 1e-3 else None
    return shear + np.abs(ctx.torque) * arm[0] / arm[1], pull + ctx.tilt * arm[0] / arm[1]


def tube_of(ctx: Context) -> Part | None:
    """The tube at the joint: of the second body, else of the first.

    Args:
        ctx: the held joint with its loads.
    """
    return next((p for p in reversed(ctx.parts) if p is not None and p.kind == "tube"), None)


def step_of(ctx: Context) -> float:
    """Time between two steps of the recording, s.

    Args:
        ctx: the held joint with its loads.
    """
    return float(ctx.time[1] - ctx.time[0]) if len(ctx.time) > 1 else 0.0
