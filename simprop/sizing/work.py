"""What each motor did over a run, against what it could have done."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from simprop.drives.able import Demand
from simprop.drives.base import Drive as Class
from simprop.drives.base import Seen
from simprop.drives.kinds import Motor, Pusher
from simprop.engine.acting.actuation import MotorData
from simprop.engine.acting.stepper import LineDrive
from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.laws.cues import Signal, read
from simprop.laws.dc import DcLine
from simprop.laws.supply import Source
from simprop.recording import Recording

STANDS = 0.05
"""Share of its highest speed under which what follows commands of place counts as standing."""
NEAR_LIMIT = 0.995
"""Share of its limit from which a supply counts as limiting."""


@dataclass(frozen=True)
class DriveRows:
    """One motor or pusher over the run, row by row.

    Attributes:
        name: as in the rig.
        turns: rad/s and N*m; False: m/s and N.
        spec: as in the rig.
        able: what it can give at standstill from its supply at the largest share that it is told, N*m or N; NaN where
            not known.
        seen: its rows as recorded, in the sense of its joint.
        on: when it is on, (n,).
        speed: in its own sense, (n,) rad/s or m/s.
        load: what the prop asks of its shaft in its own sense, never below zero, (n,) N*m or N: without
            its own friction, without what its own rotor takes; of a synchronous motor only while it is in
            step.
        current: (n,) A; NaN where not known.
        share: part of the supply's voltage that it was told to take, 0 to 1, (n,).
    """

    name: str
    turns: bool
    spec: Motor | Pusher
    able: float
    seen: Seen
    on: Array
    speed: Array
    load: Array
    current: Array
    share: Array

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


def drives(recording: Recording) -> tuple[DriveRows, ...]:
    """Motors and pushers of a recording, in the order of the rig (pulls and constant torques left out)."""
    rig, laws = recording.assembly.rig, recording.laws
    found = [_motor(recording, k, m) for k, m in enumerate(laws.motors) if rig.motors[m.name].figures.sized]
    return (*found, *(_pusher(recording, d) for d in laws.line_drives if d.able is not None))


def _motor(recording: Recording, k: int, motor: MotorData) -> DriveRows:
    track = recording.track
    seen = Seen(
        track.time,
        motor.sense * track.rate[:, motor.axis],
        _share(motor, track.time),
        track.current[:, k],
        motor.sense * track.applied[:, APPLIED.index("motor"), motor.axis],
        np.zeros(len(track.time)),
    )
    turns = recording.assembly.axes[motor.axis].motion == "turn"
    able = nan if motor.able is None else motor.able.stall
    spec = recording.assembly.rig.motors[motor.name]
    return _rows(motor.name, turns, spec, able, seen, motor.reflected_inertia)


def _pusher(recording: Recording, drive: LineDrive) -> DriveRows:
    track, line = recording.track, drive.line
    length = np.linalg.norm(track.line_end[:, line] - track.line_start[:, line], axis=1)
    seen = Seen(
        track.time,
        np.gradient(length, track.time) if len(length) > 1 else np.zeros(len(length)),
        _told(drive.signal, track.time) * drive.sense,
        track.current[:, drive.column] if drive.column >= 0 else np.full(len(length), nan),
        -track.line_force[:, line],
        drive.mounted.mounting.extension + length - drive.mounted.mounting.length,
    )
    able = nan if drive.able is None else drive.able.stall
    return _rows(drive.name, False, recording.assembly.rig.pushers[drive.name], able, seen, 0.0)


def _rows(name: str, turns: bool, spec: Motor | Pusher, able: float, seen: Seen, inertia: float) -> DriveRows:
    way, load = spec.figures.asked(seen, inertia)
    on = (seen.share != 0).astype(float)
    return DriveRows(
        name, turns, spec, able, seen, on, seen.speed * way, load, np.abs(seen.current), np.abs(seen.share)
    )


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


RUNNING = 0.9
"""A motor has run up when it first reaches this share of its usual speed."""


def running(drive: DriveRows) -> NDArray[np.bool_]:
    """When a drive is on and has run up, (n,): the beginning of each stretch is left out until it first
    reaches nine
    tenths of its median speed in it. A stretch in which it stands still is not cut.
    """
    on = drive.on > 0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]])))
    found = on.copy()
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        speed = np.abs(drive.speed[begin:end])
        up = np.flatnonzero(speed >= RUNNING * np.median(speed))
        found[begin : begin + int(up[0])] = False
    return found


@dataclass(frozen=True)
class Work:
    """A drive's run in numbers, over the time that it was on and had run up; its peak current over all of it.

    Attributes:
        drive: the rows.
        speed: mean, of what follows commands of place while it moves, rad/s or m/s.
        peak_load: N*m or N.
        peak_time: when, s.
        mean_load: N*m or N.
        rms_load: N*m or N.
        able: what it can give at standstill from its supply at full share, N*m or N; NaN where not known.
        margin: 1 - peak load / able: 1 unloaded, 0 at its stall; NaN where not known.
        peak_current: A; NaN where not known.
        mean_current: A.
        rms_current: A.
    """

    drive: DriveRows
    speed: float
    peak_load: float
    peak_time: float
    mean_load: float
    rms_load: float
    able: float
    margin: float
    peak_current: float
    mean_current: float
    rms_current: float

    @property
    def demand(self) -> Demand:
        """What the prop asked of the drive."""
        return Demand(self.peak_load, self.mean_load, self.rms_load, self.speed)


def work(drive: DriveRows, time: Array) -> Work:
    """A drive's run in numbers.

    Args:
        time: of the rows, (n,) s.
    """
    on = running(drive)
    if not on.any():
        return Work(drive, 0.0, 0.0, nan, 0.0, 0.0, drive.able, nan, nan, 0.0, 0.0)
    row = int(np.argmax(np.where(on, drive.load, -1.0)))
    load, able = drive.load[on], drive.able
    known = np.isfinite(drive.current).all()
    return Work(
        drive,
        _pace(drive, on),
        float(drive.load[row]),
        float(time[row]),
        float(load.mean()),
        float(np.sqrt(np.mean(load**2))),
        able,
        1 - float(drive.load[row]) / able if able > 0 else nan,
        float(drive.current.max()) if known else nan,
        float(drive.current[on].mean()) if known else nan,
        float(np.sqrt(np.mean(drive.current[on] ** 2))) if known else nan,
    )


def _pace(drive: DriveRows, on: NDArray[np.bool_]) -> float:
    """Mean speed; of what follows commands of place, and mostly holds, its mean size while it moves."""
    speed = drive.speed[on]
    if drive.figures.follows:
        speed = np.abs(speed)
        speed = speed[speed > STANDS * speed.max()] if speed.max() > 0 else speed
    return float(speed.mean())
