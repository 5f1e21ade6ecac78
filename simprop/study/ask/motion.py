"""Measures of motion."""

from __future__ import annotations

from math import asin, nan, pi
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.turning import rotate
from simprop.loads.cycles import cycle_marks, cycle_rate, goes_round
from simprop.picture.render.watch import watched
from simprop.quantities import registry
from simprop.run.run import Run
from simprop.study.ask.measure import measure
from simprop.study.ask.names import axes, bodies, joints, moving, places, points, spot

STILL = 0.01
"""What stays within this share of its whole motion dwells."""


def path(run: Run, point: str) -> Array:
    """Where a point is at each physics step, (n, 3) m."""
    (own,) = watched(run.assembly, [point])
    track = run.track
    return np.asarray(track.position[:, own.body] + rotate(track.rotation[:, own.body], own.local))


def coordinate(run: Run, joint: str) -> tuple[Array, bool]:
    """Coordinate of a joint that moves one way, (n,) rad or m, and whether it turns."""
    for k, axis in enumerate(run.assembly.axes):
        if run.assembly.joints[axis.joint].name == joint:
            return run.track.coordinate[:, k], axis.motion == "turn"
    return np.full(len(run.track.time), nan), True


def _told(value: float, turns: bool) -> Any:
    return registry().Quantity(value, "rad" if turns else "m")


def _along(run: Run, point: str, axis: str) -> Array:
    return np.asarray(path(run, point)[:, "xyz".index(axis)])


def turning_point(values: Array, row: int) -> tuple[float, float]:
    """Where between its samples a value turns back, and what it is there: of the parabola through three of them.

    Args:
        values: (n,), evenly sampled.
        row: of the greatest or least sample; at either end of `values` that one is taken.

    Returns:
        Row, with its fraction, and value.

    Example:
        >>> row, value = turning_point(np.sin(0.1 * np.arange(40)), 16)
        >>> round(0.1 * row, 4), round(value, 5)
        (1.5708, 1.0)
    """
    if not 0 < row < len(values) - 1:
        return float(row), float(values[row])
    before, here, after = (float(v) for v in values[row - 1 : row + 2])
    bend = before - 2 * here + after
    if bend == 0.0:
        return float(row), here
    slope = (after - before) / 2
    off = min(0.5, max(-0.5, -slope / bend))
    return row + off, here + slope * off + bend * off**2 / 2


def _greatest(values: Array) -> float:
    return turning_point(values, int(np.argmax(values)))[1]


def _extent(values: Array) -> float:
    return _greatest(values) + _greatest(-values)


def _instant(run: Run, rows: Array, time: Any) -> Array | None:
    """Rows (n,) or (n, 3) at an instant, on straight lines between and half a step beyond; None outside of the run."""
    track, at = run.track, float(time.to("s").magnitude)
    if len(rows) < 2 or not 0.0 <= at <= float(track.time[-1]) + track.step:
        return None
    k = min(max(int(np.searchsorted(track.time, at)) - 1, 0), len(rows) - 2)
    share = (at - track.time[k]) / (track.time[k + 1] - track.time[k])
    return np.asarray(rows[k] + share * (rows[k + 1] - rows[k]))


@measure("m", "swept", point=points, axis=axes)
def travel(run: Run, point: str, axis: str) -> float:
    """How far a point moves along an axis over the run, from its least to its greatest place: a side of the box that
    its path fills."""
    return _extent(_along(run, point, axis))


@measure("m", "swept", point=points, axis=axes)
def most(run: Run, point: str, axis: str) -> float:
    """The greatest place of a point along an axis: with z how high it comes."""
    return _greatest(_along(run, point, axis))


@measure("m", "swept", point=points, axis=axes)
def least(run: Run, point: str, axis: str) -> float:
    """The least place of a point along an axis: with z how far above the floor, z = 0, it stays."""
    return -_greatest(-_along(run, point, axis))


@measure("m", "run", point=points, axis=axes, time=None)
def place(run: Run, point: str, axis: str, time: Any) -> float:
    """Where a point is along an axis at an instant of the run."""
    found = _instant(run, _along(run, point, axis), time)
    return nan if found is None else float(found)


@measure("m", "run", point=points, place=places, time=None)
def miss(run: Run, point: str, place: str, time: Any) -> float:
    """How far a point is from a place at an instant of the run; the place is a point of the rig as drawn, or in quotes:
    "0 0 620 mm". Of several the greatest miss is max(miss(...), miss(...))."""
    found = _instant(run, path(run, point) - spot(run, place), time)
    return nan if found is None else float(np.linalg.norm(found))


@measure("m", "swept", point=points, place=places)
def nearest(run: Run, point: str, place: str) -> float:
    """How near a point comes to a place at all, at any time; the place as for miss. A path through several has
    max(nearest(...), nearest(...)) of 0 mm."""
    away = path(run, point) - spot(run, place)
    if len(away) < 2:
        return nan
    steps = np.diff(away, axis=0)
    along = -np.sum(away[:-1] * steps, axis=1) / np.maximum(np.sum(steps**2, axis=1), 1e-300)
    ways = away[:-1] + np.clip(along, 0.0, 1.0)[:, None] * steps
    return float(np.linalg.norm(ways, axis=1).min())


@measure("m", "run", point=points)
def path_length(run: Run, point: str) -> float:
    """How far a point goes along its path over the run, there and back."""
    return float(np.linalg.norm(np.diff(path(run, point), axis=0), axis=1).sum())


@measure("m/s", "run", point=points)
def speed(run: Run, point: str) -> float:
    """The greatest speed of a point."""
    (own,), track = watched(run.assembly, [point]), run.track
    arm = rotate(track.rotation[:, own.body], own.local)
    return float(
        np.linalg.norm(track.velocity[:, own.body] + np.cross(track.spin[:, own.body], arm), axis=1).max()
    )


@measure("m/s^2", "run", point=points)
def acceleration(run: Run, point: str) -> float:
    """The greatest acceleration of a point while the prop runs, the starts of its drives left out."""
    (own,), track = watched(run.assembly, [point]), run.track
    arm, spin = rotate(track.rotation[:, own.body], own.local), track.spin[:, own.body]
    inward = np.cross(spin, np.cross(spin, arm))
    whole = track.acceleration[:, own.body] + np.cross(track.spin_acceleration[:, own.body], arm) + inward
    size, starting = np.linalg.norm(whole, axis=1), run.loads.starting
    return float((size if starting.all() else size[~starting]).max())


@measure("as the joint moves", "run", joint=moving, time=None)
def position(run: Run, joint: str, time: Any) -> Any:
    """How far a joint has turned or slid from the start pose at an instant of the run."""
    values, turns = coordinate(run, joint)
    found = _instant(run, values, time)
    return nan if found is None else _told(float(found), turns)


def _last_cycle(run: Run, values: Array, turns: bool) -> slice | None:
    """Rows of the last whole cycle of a joint that goes to and fro; None where it makes none, or goes round."""
    marks = cycle_marks(values, run.track.time, turns)
    if goes_round(values, turns) or len(marks) < 2:
        return None
    first, last = np.searchsorted(run.track.time, marks[-2:])
    return slice(int(first), int(last) + 1)


@measure("as the joint moves", "swept", joint=moving)
def swing(run: Run, joint: str) -> Any:
    """How far a joint turns or slides, from its least to its greatest coordinate: in its last whole cycle where it goes
    to and fro, else over the run."""
    values, turns = coordinate(run, joint)
    own = _last_cycle(run, values, turns)
    return _told(_extent(values if own is None else values[own]), turns)


@measure("rpm", "run", joint=moving)
def cycles(run: Run, joint: str) -> Any:
    """How often a joint goes round, or to and fro, in a minute; needs a whole cycle in the run."""
    values, turns = coordinate(run, joint)
    rate = cycle_rate(values, run.track.time, turns)
    return nan if rate is None else registry().Quantity(rate, "rpm")


@measure("s", "run", joint=moving)
def cycle_time(run: Run, joint: str) -> float:
    """The time of the last whole cycle of a joint that goes round, or to and fro."""
    values, turns = coordinate(run, joint)
    marks = cycle_marks(values, run.track.time, turns)
    return float(marks[-1] - marks[-2]) if len(marks) > 1 else nan


@measure("", "swept", joint=moving)
def time_ratio(run: Run, joint: str) -> float:
    """Time of the slower way of a joint that goes to and fro over that of the quicker, between the places where it
    turns back in its last whole cycle."""
    values, turns = coordinate(run, joint)
    own = _last_cycle(run, values, turns)
    if own is None:
        return nan
    marks = cycle_marks(values, run.track.time, turns)[-2:]
    first, second = (
        turning_point(values, own.start + int(np.argmax(way * values[own])))[0] for way in (1.0, -1.0)
    )
    one = abs(second - first) * run.track.step
    other = float(marks[1] - marks[0]) - one
    return max(one, other) / min(one, other) if min(one, other) > 0 else nan


@measure("s", "run", joint=moving)
def dwell(run: Run, joint: str) -> float:
    """The longest time in which a joint stays within 1 % of its whole motion of one place; where it has whole cycles,
    from the first of them on."""
    values, turns = coordinate(run, joint)
    marks = cycle_marks(values, run.track.time, turns)
    begin = int(np.searchsorted(run.track.time, marks[0])) if len(marks) > 1 else 0
    values, time = values[begin:], run.track.time[begin:]
    width, first, longest = STILL * float(np.ptp(values)), 0, (0, 0)
    for last in range(len(values)):
        while float(np.ptp(values[first : last + 1])) > width:
            first += 1
        if last - first > longest[1] - longest[0]:
            longest = first, last
    first, last = longest
    beyond = _beyond(values, first, last, width)
    return float(time[last] - time[first]) + beyond * run.track.step


def _beyond(values: Array, first: int, last: int, width: float) -> float:
    """How much longer than from one row to another a value stays within a width, in rows, at both ends together."""
    low, high, more = float(values[first : last + 1].min()), float(values[first : last + 1].max()), 0.0
    for here, there in ((first, first - 1), (last, last + 1)):
        if 0 <= there < len(values) and values[there] != values[here]:
            end = low + width if values[there] > values[here] else high - width
            share = min(1.0, max(0.0, float((end - values[here]) / (values[there] - values[here]))))
            more += share
            reached = float(values[here] + share * (values[there] - values[here]))
            low, high = min(low, reached), max(high, reached)
    return more


@measure("deg", "swept", rod=bodies, end=joints)
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
