"""Measures of motion."""

from __future__ import annotations

from math import asin, nan, pi
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.turning import rotate
from simprop.loads.cycles import cycle_rate
from simprop.picture.render.watch import watched
from simprop.quantities import registry
from simprop.run.run import Run
from simprop.study.ask.measure import measure
from simprop.study.ask.names import axes, bodies, joints, moving, points

STILL = 0.01
"""What stays within this share of its whole motion dwells."""


def path(run: Run, point: str) -> Array:
    """Where a point is at each physics step, (n, 3) m."""
    (own,) = watched(run.assembly, [point])
    track = run.track
    return np.asarray(track.position[:, own.body] + rotate(track.rotation[:, own.body], own.local))


def coordinate(run: Run, joint: str) -> tuple[Array, str]:
    """Coordinate of a joint that moves one way, (n,), and its unit."""
    for k, axis in enumerate(run.assembly.axes):
        if run.assembly.joints[axis.joint].name == joint:
            return run.track.coordinate[:, k], "rad" if axis.motion == "turn" else "m"
    return np.full(len(run.track.time), nan), "rad"


@measure("m", point=points, axis=axes)
def travel(run: Run, point: str, axis: str) -> float:
    """How far a point moves along an axis over the run, from its least to its greatest place."""
    return float(np.ptp(path(run, point)[:, "xyz".index(axis)]))


@measure("m", point=points, axis=axes)
def most(run: Run, point: str, axis: str) -> float:
    """The greatest place of a point along an axis: with z how high it comes."""
    return float(path(run, point)[:, "xyz".index(axis)].max())


@measure("m", point=points, axis=axes)
def least(run: Run, point: str, axis: str) -> float:
    """The least place of a point along an axis."""
    return float(path(run, point)[:, "xyz".index(axis)].min())


@measure("m", point=points, axis=axes, time=None)
def place(run: Run, point: str, axis: str, time: Any) -> float:
    """Where a point is along an axis at an instant of the run."""
    at = float(time.to("s").magnitude)
    last = float(run.track.time[-1])
    if not 0.0 <= at <= last + run.track.step:
        return nan
    return float(np.interp(at, run.track.time, path(run, point)[:, "xyz".index(axis)]))


@measure("m/s", point=points)
def speed(run: Run, point: str) -> float:
    """The greatest speed of a point."""
    where = path(run, point)
    if len(where) < 2:
        return nan
    steps = np.linalg.norm(np.diff(where, axis=0), axis=1)
    return float((steps / np.diff(run.track.time)).max())


@measure("as the joint moves", joint=moving)
def swing(run: Run, joint: str) -> Any:
    """How far a joint turns or slides over the run, from its least to its greatest coordinate."""
    values, unit = coordinate(run, joint)
    return registry().Quantity(float(np.ptp(values)), unit)


@measure("rpm", joint=moving)
def cycles(run: Run, joint: str) -> Any:
    """How often a joint goes round, or to and fro, in a minute; needs a whole cycle in the run."""
    values, unit = coordinate(run, joint)
    rate = cycle_rate(values, run.track.time, unit == "rad")
    return nan if rate is None else registry().Quantity(rate, "rpm")


@measure("", joint=moving)
def time_ratio(run: Run, joint: str) -> float:
    """Time of the slower way of a joint that goes to and fro over that of the quicker; needs both in the run whole."""
    values, _ = coordinate(run, joint)
    turns = _turning_points(values)
    if len(turns) < 3:
        return nan
    one, two = np.diff(run.track.time[turns[-3:]])
    return float(max(one, two) / min(one, two))


@measure("s", joint=moving)
def dwell(run: Run, joint: str) -> float:
    """The longest time in which a joint stays within 1 % of its whole motion of one place."""
    values, _ = coordinate(run, joint)
    width = STILL * float(np.ptp(values))
    time, first, best = run.track.time, 0, 0.0
    for k in range(len(values)):
        while float(np.ptp(values[first : k + 1])) > width:
            first += 1
        best = max(best, float(time[k] - time[first]))
    return best


@measure("deg", rod=bodies, end=joints)
def transmission(run: Run, rod: str, end: str) -> Any:
    """The least angle between a rod with two joints and the square to the way of the joint that it drives, while that
    moves: 90 deg where it pushes straight along the way, 0 where it can't move it."""
    own = [j for j in run.assembly.joints if rod in (_called(run, j.first), _called(run, j.second))]
    if len(own) != 2 or end not in [j.name for j in own]:
        return nan
    here, there = path(run, end), path(run, next(j.name for j in own if j.name != end))
    line, way = here - there, np.gradient(here, run.track.time, axis=0)
    pace = np.linalg.norm(way, axis=1)
    moves = pace > 0.05 * pace.max()
    if not moves.any():
        return nan
    along = np.abs(np.sum(line[moves] * way[moves], axis=1))
    share = along / (np.linalg.norm(line[moves], axis=1) * pace[moves])
    return registry().Quantity(asin(min(1.0, float(share.min()))) * 180 / pi, "deg")


def _called(run: Run, body: int) -> str:
    return run.assembly.bodies[body].called


def _turning_points(values: Array) -> Array:
    """Rows in which what goes to and fro turns back, (k,), the ends of the run left out."""
    rate = np.diff(values)
    way = np.sign(np.where(np.abs(rate) > 1e-6 * np.abs(rate).max(), rate, 0.0))
    rows = np.flatnonzero(way)
    return np.asarray(rows[1:][way[rows][1:] != way[rows][:-1]])
