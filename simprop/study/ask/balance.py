"""Measures of balance: how far springs and pulls carry the weight that a joint moves, at rest at each place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import nan
from typing import Any

import numpy as np

from simprop.engine.acting.lines import LineData, line_ends
from simprop.geometry.arrays import Array
from simprop.laws.forms import Mounted
from simprop.quantities import registry
from simprop.run.run import Run
from simprop.study.ask.measure import measure
from simprop.study.ask.motion import coordinate
from simprop.study.ask.names import moving

SLOW = 0.05
"""Where a joint moves less than this share of its fastest it turns back, and how much goes with it isn't told there."""


def balance(run: Run, joint: str) -> tuple[Array, Array] | None:
    """Moment (or force) about a joint of all weight that moves with it, and of the springs and pulls, at each place.

    By virtual work along the motion of the run: each weight by how much it sinks, each spring or pull by how much it
    draws together, to a small turn of the joint. Speed, friction and damping don't come in; motors, pushers and cords'
    own stretch are left out.

    Args:
        run: in which the joint moves.
        joint: that moves one way.

    Returns:
        (n,) N*m or N each, in the sense of the joint, at the rows in which it moves; None where it doesn't.

    Source: principle of virtual work, any text on statics.
    """
    place, _ = coordinate(run, joint)
    if len(place) < 3 or not np.ptp(place) > 0:
        return None
    pace = np.gradient(place)
    rows = np.abs(pace) > SLOW * np.abs(pace).max()

    def to(change: Array) -> Array:
        return np.asarray(change[rows] / pace[rows])

    pull = np.asarray(run.rig.run.gravity)
    weight = sum(
        b.mass * to(np.gradient(run.track.position[:, k] @ pull)) for k, b in enumerate(run.assembly.bodies)
    )
    held = np.zeros(int(rows.sum()))
    for tension, length in _lines(run):
        held -= tension[rows] * to(np.gradient(length))
    for axis, law in run.laws.torsion:
        angle = run.track.coordinate[:, axis]
        held += np.array([law.torque(float(v), 0.0) for v in angle[rows]]) * to(np.gradient(angle))
    return np.asarray(weight), held


def _lines(run: Run) -> Iterator[tuple[Array, Array]]:
    """Tension at rest and length of each spring and pull between two points, (n,) N and m each."""
    own = [
        k
        for k, line in enumerate(run.laws.lines)
        if line.name in run.rig.springs or line.name in run.rig.pulls
    ]
    lines = [run.laws.lines[k] for k in own]
    start, end = line_ends(lines, run.track.position, run.track.rotation)
    for k, line in enumerate(lines):
        length = np.linalg.norm(end[:, k] - start[:, k], axis=1)
        at_rest = _at_rest(line)
        yield np.array([at_rest(float(v)) for v in length]), length


def _at_rest(line: LineData) -> Callable[[float], float]:
    """What it pulls with at rest by its length; a counterweight hangs still at each."""
    law = line.law
    if not isinstance(law, Mounted):
        return lambda length: law.tension(length, 0.0)

    def pulls(length: float) -> float:
        begun = law.law.begin(replace(law.mounting, length=length))
        return begun.tension(0.0, length, 0.0, 1.0, None)

    return pulls


@measure("", "swept", joint=moving)
def imbalance(run: Run, joint: str) -> float:
    """The largest moment about a joint that its springs, gas struts and counterweights leave of the weight that moves
    with it, over the places that it passes, as a share of the weight's largest moment: 0 it stays wherever it is put,
    1 nothing holds it."""
    found = balance(run, joint)
    if found is None:
        return nan
    weight, held = found
    most = float(np.abs(weight).max())
    return float(np.abs(weight + held).max()) / most if most > 0 else nan


@measure("N*m or N", "swept", joint=moving)
def weight_moment(run: Run, joint: str) -> Any:
    """The largest moment (of what slides: force) of the weight that moves with a joint about it, springs left out."""
    found = balance(run, joint)
    if found is None:
        return nan
    return registry().Quantity(float(np.abs(found[0]).max()), "N*m" if coordinate(run, joint)[1] else "N")
