"""What each motor and pusher did over a run, row by row: its load, when it starts, runs, and is held on a stop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import nan

import numpy as np
from numpy.typing import NDArray

from simprop.drives.base import Drive as Class
from simprop.drives.base import Seen
from simprop.drives.kinds import Motor, Pusher
from simprop.engine.acting.actuation import MotorData
from simprop.engine.acting.stepper import LineDrive
from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.laws.cues import Signal, read
from simprop.laws.dc import DcLine
from simprop.laws.supply import Source
from simprop.recording import Recording

Rows = NDArray[np.bool_]

SPENT = 0.1
"""A run-up is spent in half of its time when the drive gains speed by a tenth of its best rate."""
AT_SPEED = 0.5
"""A drive that is switched on with so much of its speed doesn't start (assumed)."""
BOUNCE = 0.1
"""What leaves a stop for no longer than this while it is driven at it bounces, s (assumed)."""
AROUND = 0.5
"""A stop elsewhere in the linkage belongs to a drive whose speed goes with the stop's by so much (correlation)."""


@dataclass(frozen=True)
class DriveRows:
    """One motor or pusher over the run, row by row.

    Attributes:
        name: as in the rig.
        key: of the peak of its load, see `simprop.loads.joints.Peak`.
        turns: rad/s and N*m; False: m/s and N.
        spec: as in the rig.
        able: what it can give at standstill from its supply at the largest share that it is told, N*m or N; NaN where
            not known.
        seen: its rows as recorded, in the sense of its joint.
        on: when it is on, (n,).
        speed: in its own sense, (n,) rad/s or m/s.
        load: what the prop asks of its shaft in its own sense, never below zero, (n,) N*m or N: without
            its own friction, without what its own rotor takes; of a pulsed one the mean over a pulse; of a synchronous
            motor only while it is in step.
        way: 1 or -1, the way that it drives, (n,).
        current: (n,) A; NaN where not known.
        share: part of the supply's voltage that it was told to take, 0 to 1, (n,).
        start: rows of its run-ups (see `starts`), (n,).
        held: rows in which a stop holds it, (n,).
    """

    name: str
    key: str
    turns: bool
    spec: Motor | Pusher
    able: float
    seen: Seen
    on: Array
    speed: Array
    load: Array
    way: Array
    current: Array
    share: Array
    start: Rows
    held: Rows

    @property
    def figures(self) -> Class:
        """What it is."""
        return self.spec.figures

    @property
    def line(self) -> DcLine | None:
        """Its straight line, or None."""
        return self.figures.line()

    @property
    def source(self) -> Source:
        """Its supply with the line to it."""
        return self.spec.source

    @property
    def running(self) -> Rows:
        """When it is on, has run up and isn't held, (n,); where that is never, when it is on."""
        on = self.on > 0
        for rows in (on & ~self.start & ~self.held, on & ~self.held):
            if rows.any():
                return np.asarray(rows)
        return np.asarray(on)


def driven(recording: Recording) -> tuple[DriveRows, ...]:
    """Every motor and pusher of a recording, in the order of the rig.

    Args:
        recording: a run.
    """
    laws = recording.laws
    found = [_motor(recording, k, m) for k, m in enumerate(laws.motors)]
    return (*found, *(_pusher(recording, d) for d in laws.line_drives if d.able is not None))


def starts(share: Array, speed: Array) -> Rows:
    """When a drive starts: from each switch-on (or turn to the other way) until its own transient has died.

    A drive that is switched on gains speed fast at first and less and less: a motor on a straight line by
    exp(-t / tau) of its best rate, a drive that is held to a speed not at all once it has it. Where the gain has
    fallen to a tenth of the best since the switch-on, 2.3 tau are gone; after as long again a hundredth is left, and
    what then loads the prop is its running. Taking the gain, and not the speed, keeps slow changes of speed out: an arm
    that is slow because it is heavy there is running, and its load counts in full.

    What never gets that far, or takes more than half of its stretch for it, does nothing else: then only the row of its
    switch-on is told apart, in which what sticks comes loose. Nothing is where it is already at speed, or never moves.

    Args:
        share: of full voltage that it is told, -1 to 1, (n,).
        speed: in its own sense, (n,), pulses smoothed.

    Returns:
        (n,).

    Source: first-order run-up of a DC motor with an inertia, w (1 - exp(-t / tau)), any text on electrical machines.

    Example:
        >>> time = np.arange(2000) * 1e-3
        >>> rows = starts(np.ones(2000), 1 - np.exp(-time / 0.02))  # tau of 20 ms
        >>> int(np.flatnonzero(~rows)[0])  # 2 ln 10 tau
        96
    """
    found = np.zeros(len(share), dtype=bool)
    way = np.sign(share)
    edges = np.flatnonzero(np.diff(np.concatenate([[0.0], way, [0.0]])))
    for begin, end in pairwise(edges):
        if way[begin] != 0:
            found[begin : begin + _run_up(speed[begin:end])] = True
    return found


def _run_up(speed: Array) -> int:
    """Rows of a run-up at the beginning of a stretch in which a drive is on; 0 where there is none."""
    if len(speed) < 4 or not speed.max() > 0.0 or speed[0] > AT_SPEED * speed.max():
        return 0
    gain = np.diff(speed)
    best = np.maximum.accumulate(gain)
    spent = np.flatnonzero((best > 0.0) & (gain <= SPENT * best) & (speed[1:] >= SPENT * speed.max()))
    rows = 2 * (int(spent[0]) + 1) if len(spent) else len(speed)
    return rows if 2 * rows <= len(speed) else 1


def _motor(recording: Recording, k: int, motor: MotorData) -> DriveRows:
    track, sense = recording.track, motor.sense
    seen = Seen(
        track.time,
        sense * track.rate[:, motor.axis],
        _share(motor, track.time),
        track.current[:, k],
        sense * track.applied[:, APPLIED.index("motor"), motor.axis],
        np.zeros(len(track.time)),
        sense * _gain(recording, motor.axis),
    )
    turns = recording.assembly.axes[motor.axis].motion == "turn"
    able = nan if motor.able is None else motor.able.stall
    spec = recording.assembly.rig.motors[motor.name]
    rows = _rows(motor.name, turns, spec, able, seen, motor.reflected_inertia, motor=True)
    held = _against(recording, rows, motor)
    travel = None if motor.control is None else motor.control.travel
    if travel is not None:
        at = track.coordinate[:, motor.axis]
        pushes = sense * rows.way
        held |= ((at >= travel.high) & (pushes > 0)) | ((at <= travel.low) & (pushes < 0))
    return replace(rows, held=held & (rows.on > 0))


def _pusher(recording: Recording, drive: LineDrive) -> DriveRows:
    track, line = recording.track, drive.line
    length = np.linalg.norm(track.line_end[:, line] - track.line_start[:, line], axis=1)
    rate = np.gradient(length, track.time) if len(length) > 1 else np.zeros(len(length))
    seen = Seen(
        track.time,
        rate,
        _told(drive.signal, track.time) * drive.sense,
        track.current[:, drive.column] if drive.column >= 0 else np.full(len(length), nan),
        -track.line_force[:, line],
        drive.mounted.mounting.extension + length - drive.mounted.mounting.length,
        np.gradient(rate, track.time) if len(length) > 1 else np.zeros(len(length)),
    )
    able = nan if drive.able is None else drive.able.stall
    rows = _rows(drive.name, False, recording.assembly.rig.pushers[drive.name], able, seen, 0.0)
    return replace(rows, held=_against(recording, rows, None) & (rows.on > 0))


def _rows(
    name: str,
    turns: bool,
    spec: Motor | Pusher,
    able: float,
    seen: Seen,
    inertia: float,
    *,
    motor: bool = False,
) -> DriveRows:
    period = 0.0 if spec.pwm is None else 1.0 / spec.pwm.frequency
    smooth = seen
    if period > 0.0 and len(seen.time) > 1:
        width = round(period / float(seen.time[1] - seen.time[0]))
        named = ("speed", "current", "given", "gain")
        smooth = replace(seen, **{key: averaged(getattr(seen, key), width) for key in named})
    way, load = spec.figures.asked(smooth, inertia)
    on = (seen.share != 0).astype(float)
    none = np.zeros(len(on), dtype=bool)
    begun = starts(seen.share, smooth.speed * way) if spec.figures.runs_up else none
    return DriveRows(
        name,
        f"motor.{name}.load" if motor else f"pusher.{name}.push",
        turns,
        spec,
        able,
        seen,
        on,
        seen.speed * way,
        load,
        way,
        np.abs(seen.current),
        np.abs(seen.share),
        begun,
        none,
    )


def averaged(values: Array, width: int) -> Array:
    """Mean of each value and its neighbours in a window of so many rows, less at the ends, (n,).

    Example:
        >>> averaged(np.array([0.0, 3.0, 0.0, 3.0]), 2).tolist()
        [0.0, 1.5, 1.5, 1.5]
    """
    if width < 2:
        return values
    total = np.concatenate([[0.0], np.cumsum(values)])
    row = np.arange(len(values))
    low, high = np.maximum(row - width // 2, 0), np.minimum(row + (width + 1) // 2, len(values))
    return np.asarray((total[high] - total[low]) / (high - low))


def _gain(recording: Recording, axis: int) -> Array:
    """Acceleration of an axis, (n,): of a turn that of its bodies, at the very row; of a slide by its speeds."""
    track, data = recording.track, recording.assembly.axes[axis]
    if data.motion == "turn":
        joint = recording.assembly.joints[data.joint]
        way = matrices(track.rotation[:, joint.first]) @ data.way
        apart = track.spin_acceleration[:, joint.second] - track.spin_acceleration[:, joint.first]
        return np.asarray(np.einsum("ni,ni->n", way, apart))
    if len(track.time) < 2:
        return np.zeros(len(track.time))
    return np.asarray(np.gradient(track.rate[:, axis], track.time))


def _against(recording: Recording, rows: DriveRows, motor: MotorData | None) -> Rows:
    """When a stop holds a drive: it bears load the other way than the drive would take it, bounces counted in, (n,).

    A stop of the drive's own joint always belongs to it; one elsewhere in the linkage where the two move together.
    """
    track, held = recording.track, np.zeros(len(rows.on), dtype=bool)
    for axis in {a for a, law in recording.laws.stops if law.pitch is None}:
        load, with_it = track.applied[:, APPLIED.index("stop"), axis], 0.0
        if motor is not None and axis == motor.axis:
            with_it = motor.sense
        else:
            rate = track.rate[:, axis]
            size = float(np.linalg.norm(rate) * np.linalg.norm(rows.seen.speed))
            alike = 0.0 if size == 0.0 else float(rate @ rows.seen.speed) / size
            with_it = np.sign(alike) if abs(alike) >= AROUND else 0.0
        held |= load * with_it * rows.way < 0.0
    parts = list(stretches(held))
    for (_, end), (begin, _) in pairwise(parts):
        bounce = float(track.time[begin] - track.time[end - 1]) <= BOUNCE
        if bounce and (rows.on[end:begin] > 0).all() and np.ptp(rows.way[end - 1 : begin + 1]) == 0.0:
            held[end:begin] = True
    return held


def stretches(rows: Rows) -> Iterator[tuple[int, int]]:
    """First row and the row after the last of each stretch of rows.

    Example:
        >>> list(stretches(np.array([True, False, True, True])))
        [(0, 1), (2, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], rows, [False]])))
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        yield int(begin), int(end)


def _told(signal: Signal | None, time: Array) -> Array:
    """Share of full voltage that a signal tells, -1 to 1, (n,)."""
    return np.ones(len(time)) if signal is None else np.array([read(signal, float(t)) for t in time])


def _share(motor: MotorData, time: Array) -> Array:
    """Share of full voltage that a motor is told, -1 to 1, (n,)."""
    if motor.control is not None:
        return _told(None if motor.control.follower is not None else motor.control.signal, time)
    if motor.windows is None:
        return np.ones(len(time))
    inside = [(begin <= time) & (time < end) for begin, end in motor.windows]
    return np.asarray(np.any(inside or [time < 0], axis=0), dtype=np.float64)
