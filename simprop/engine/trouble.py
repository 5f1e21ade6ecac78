"""Tells when a run has gone wrong, where, and the likely cause."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.mobility import pace
from simprop.errors import EngineError
from simprop.geometry.arrays import Array
from simprop.quantities import show

BODY = 19
"""Sensor numbers of a body: place 3, rotation 4, velocity 3, spin 3, acceleration 3, spin acceleration 3."""
FASTEST = 1e4
"""A body that is faster than this has run away, m/s."""
FASTEST_SPIN = 1e5
"""The same for turning, rad/s."""
GAP = 1e-3
"""A loop that is further apart than this has come apart, m (or rad)."""
PAST_STOP = {"turn": 1.0, "slide": 0.1}
"""Deeper than this in a stop, the stop has failed, rad and m."""


@dataclass(frozen=True)
class Looked:
    """What is looked at.

    Attributes:
        first: number of the step of the first row.
        rows: sensor rows as `simprop.engine.mujoco.model_text` lays them out, (m, S).
        moving: bodies in the order of their sensors.
        gap: index of the joint whose loop is furthest apart, and by how much, m; None without loops.
    """

    first: int
    rows: Array
    moving: tuple[int, ...]
    gap: tuple[int, float] | None


def check(assembly: Assembly, actuation: Actuation, step: float, looked: Looked) -> None:
    """Look at some recorded rows.

    Args:
        step: s.

    Raises:
        EngineError: with the time, the body or joint and the likely cause.
    """
    rows, moving, first, gap = looked.rows, looked.moving, looked.first, looked.gap
    moves = rows[:, : BODY * len(moving)].reshape(len(rows), len(moving), BODY)
    if not np.abs(moves[..., 7:13]).max(initial=0.0) < FASTEST / 2:  # true of NaN too
        _runaway(assembly, actuation, step, looked, moves)
    if gap is not None and not gap[1] < GAP:
        raise EngineError(
            f"the loop through joint {assembly.joints[gap[0]].name!r} is {gap[1] * 1000:.2g} mm apart at "
            f"{(first + len(rows)) * step:.4g} s; " + likely(assembly, actuation, step)
        )
    _stops(assembly, actuation, step, looked)


def _runaway(assembly: Assembly, actuation: Actuation, step: float, looked: Looked, moves: Array) -> None:
    """Tell of a body that has run away; `moves` are the sensors of each, (m, bodies, `BODY`)."""
    with np.errstate(invalid="ignore", over="ignore"):
        speed, spin = (np.linalg.norm(moves[..., at : at + 3], axis=2) for at in (7, 10))
        bad = ~(speed < FASTEST) | ~(spin < FASTEST_SPIN)
    if bad.any():
        row = int(np.flatnonzero(bad.any(axis=1))[0])
        before = max(row - 1, 0)
        at = bad[row] & (np.isfinite(speed[row]) | np.isnan(speed[row]))
        fast = np.where(np.isfinite(spin[before]), spin[before], np.inf) * at
        body = assembly.bodies[looked.moving[int(np.argmax(fast))]].name
        raise EngineError(
            f"the motion runs away at {(looked.first + row) * step:.4g} s, first at body {body!r}; "
            + likely(assembly, actuation, step)
        )


def _stops(assembly: Assembly, actuation: Actuation, step: float, looked: Looked) -> None:
    for axis, law in actuation.stops:
        if law.pitch is not None:
            continue  # it goes along
        motion = assembly.axes[axis].motion
        values = looked.rows[:, BODY * len(looked.moving) + axis]
        deep = np.zeros(len(values), dtype=bool)
        for bound, sign in ((law.above, 1.0), (law.below, -1.0)):
            if bound is not None:
                deep |= sign * (values - bound) > PAST_STOP[motion]
        if deep.any():
            name, turns = assembly.joints[assembly.axes[axis].joint].name, motion == "turn"
            depth = show(PAST_STOP[motion], "angle" if turns else "length")
            stiffness = show(law.stiffness, "turning_stiffness" if turns else "stiffness")
            raise EngineError(
                f"joint {name!r} is more than {depth} past its stop at "
                f"{(looked.first + int(np.argmax(deep))) * step:.4g} s; likely cause: a stop of {stiffness} "
                "is too soft for what runs onto it"
            )


def likely(assembly: Assembly, actuation: Actuation, step: float) -> str:
    """What most likely went wrong: the stiffest law, or the strongest damper, against what it moves."""
    fastest, what = 0.0, ""
    for law in pace(assembly, actuation):
        if law.natural > fastest:
            fastest, what = law.natural, law.what
        if law.decay > fastest:
            fastest, what = law.decay, f"damping of the {law.what}" if law.natural else law.what
    if fastest * step > 0.5:
        wants = f"{0.2 / fastest:.1g} s"
        return f"likely cause: a step of {step:.3g} s is too coarse for the {what}, which wants {wants}"
    lightest = min((b for b in assembly.bodies if not b.fixed), key=lambda b: b.mass)
    return (
        f"likely cause: a drive without a load, a step of {step:.3g} s that is too coarse, or a body of next "
        f"to no mass (the lightest is {lightest.name!r}, {lightest.mass * 1000:.3g} g)"
    )
