"""What of a run is measured on the built prop: a cycle, the most current in it, the speed of a stroke."""

from __future__ import annotations

from math import isfinite, isnan, nan, pi

import numpy as np

from simprop.geometry.arrays import Array
from simprop.loads.cycles import cycle_rate
from simprop.loads.driving import Rows
from simprop.run.run import Run

LEAST_TURNS = 2.0
"""Turns of a run from which a steady one can be read."""
LEAST_STROKE = 5e-3
"""Way of a pusher from which it can be timed, m."""
ENDS = 0.05
"""Share of a stroke at each end that its time leaves out."""


def column(run: Run, motor: str) -> int:
    """Place of a motor among those of a run."""
    return [m.name for m in run.laws.motors].index(motor)


def turned(run: Run, motor: str) -> Array:
    """Coordinate of the joint that a motor moves, (n,) rad or m."""
    found: Array = run.track.coordinate[:, run.laws.motors[column(run, motor)].axis]
    return found


def cycles(run: Run, motor: str) -> float:
    """Turns that a motor makes in a run, or times to and fro where it makes none; 0 where neither is known."""
    coordinate = turned(run, motor)
    turns = abs(float(coordinate[-1] - coordinate[0])) / (2 * pi)
    lasts = cycle_time(run, motor)
    swings = 0.0 if isnan(lasts) else float(run.track.time[-1]) / lasts
    return turns if turns >= 0.5 and _turns(run, motor) else swings


def _turns(run: Run, motor: str) -> bool:
    return run.assembly.axes[run.laws.motors[column(run, motor)].axis].motion == "turn"


def cycle_time(run: Run, motor: str) -> float:
    """Time of a steady turn, or of once to and fro, s; NaN where the run has none.

    Args:
        run: with at least two turns, or two times to and fro.
        motor: its name.
    """
    coordinate, turning = turned(run, motor), _turns(run, motor)
    turns = abs(float(coordinate[-1] - coordinate[0])) / (2 * pi)
    if turning and 1.0 <= turns < LEAST_TURNS:
        return nan
    rate = cycle_rate(coordinate, run.track.time, turning)
    return nan if rate is None else 60.0 / rate


def last_cycle(run: Run, motor: str) -> Rows:
    """The rows of a run's last cycle, (n,); none where it has no steady one."""
    time, lasts = run.track.time, cycle_time(run, motor)
    return np.asarray(time >= time[-1] - lasts)  # NaN: none


def peak_current(run: Run, motor: str) -> tuple[float, float]:
    """Largest current of a steady cycle, A, and where the motor's joint stands then, rad or m; NaN where not known."""
    rows, amperes = last_cycle(run, motor), np.abs(run.track.current[:, column(run, motor)])
    if not rows.any() or not np.isfinite(amperes[rows]).all():
        return nan, nan
    worst = int(np.argmax(np.where(rows, amperes, -1.0)))
    return float(amperes[worst]), float(turned(run, motor)[worst])


def loaded_voltage(run: Run, motor: str) -> float:
    """Lowest voltage at a motor in a steady cycle, V; NaN where not known."""
    rows, volts = last_cycle(run, motor), np.abs(run.track.voltage[:, column(run, motor)])
    return float(volts[rows].min()) if rows.any() and np.isfinite(volts[rows]).all() else nan


def lengths(run: Run, line: str) -> Array:
    """Distance of the two points of a spring or pusher over the run, (n,) m."""
    k = [name for name, _ in run.rig.lines].index(line)
    return np.asarray(np.linalg.norm(run.track.line_end[:, k] - run.track.line_start[:, k], axis=1))


def stroke(run: Run, pusher: str) -> tuple[float, Rows]:
    """Mean speed of a pusher in its first stroke, from 5 to 95 % of its way, m/s, and its rows, (n,); NaN for none.

    The speed and not the time: a stroke that a cue ends takes its time however slow the pusher is.
    """
    length, time = lengths(run, pusher), run.track.time
    way, rows = float(np.ptp(length)), np.zeros(len(time), dtype=bool)
    share = (length - length.min()) / max(way, 1e-12)
    share = 1.0 - share if share[0] > 0.5 else share
    ended = np.flatnonzero(share >= 1.0 - ENDS)
    if way < LEAST_STROKE or not len(ended) or share[0] > ENDS:
        return nan, rows
    start = int(np.flatnonzero(share[: ended[0]] <= ENDS)[-1])
    rows[start : ended[0] + 1] = True
    left, reached = np.interp((ENDS, 1.0 - ENDS), share[rows], time[rows])
    return (1.0 - 2 * ENDS) * way / float(reached - left), rows


def stroke_current(run: Run, pusher: str) -> float:
    """Largest current of a pusher in its first stroke, A; NaN where not known."""
    speed, rows = stroke(run, pusher)
    drive = next(d for d in run.laws.line_drives if run.rig.lines[d.line][0] == pusher)
    if drive.column < 0 or not isfinite(speed):
        return nan
    amperes = np.abs(run.track.current[rows, drive.column])
    return float(amperes.max()) if np.isfinite(amperes).all() else nan
