"""What each motor did over a run, against what it could have done."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from simprop.drives.kinds import LinearPusher, Motor, Pusher, ServoMotor, figures_of
from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.acting.driving import supply_source
from simprop.engine.acting.straight import Fed, Screw
from simprop.engine.world import APPLIED
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.supply import Source
from simprop.laws.synchronous import STALLED, SynchronousLaw
from simprop.recording import Recording
from simprop.sizing.curves import at_voltage

Array = NDArray[np.float64]

STANDS = 0.05
"""Share of its highest speed under which a servo counts as standing."""
NEAR_LIMIT = 0.995
"""Share of its limit from which a supply counts as limiting."""


@dataclass(frozen=True)
class Drive:
    """One motor or pusher over the run, row by row.

    Attributes:
        name: as in the rig.
        turns: rad/s and N*m; False: m/s and N.
        spec: as in the rig.
        line: its straight line, or None.
        source: its supply with the line to it.
        pull_out: greatest load of a motor without a line, N*m or N; NaN where it has none.
        on: when it is on, (n,).
        speed: in its own sense, (n,) rad/s or m/s.
        load: what the prop asks of its shaft in its own sense, never below zero, (n,) N*m or N: without
            its own friction, without what its own rotor takes; of a synchronous motor only while it is in
            step.
        current: (n,) A; NaN where not known.
        share: part of the supply's voltage that it was told to take, 0 to 1, (n,).
        inertia: of its rotor at the output.
    """

    name: str
    turns: bool
    spec: Motor | Pusher
    line: DcLine | None
    source: Source
    pull_out: float
    on: Array
    speed: Array
    load: Array
    current: Array
    share: Array
    inertia: float


def drives(recording: Recording) -> tuple[Drive, ...]:
    """Motors and pushers of a recording, in the order of the rig (pulls and constant torques left out).

    Args:
        recording: a run.
    """
    laws = recording.laws
    found = [_motor(recording, laws, k, m) for k, m in enumerate(laws.motors) if not isinstance(m.law, float)]
    for p in laws.pushing:
        name = laws.lines[p.line].name
        spec = recording.assembly.rig.pushers.get(name)
        if spec is not None:
            found.append(_pusher(recording, laws, p.line, p.electric, spec))
    return tuple(found)


def _motor(recording: Recording, laws: Actuation, k: int, motor: MotorData) -> Drive:
    track, rig = recording.track, recording.assembly.rig
    spec = rig.motors[motor.name]
    speed = motor.sense * track.rate[:, motor.axis]
    share = _told(motor, track.time)
    turns = recording.assembly.axes[motor.axis].motion == "turn"
    current = track.current[:, k]
    if isinstance(motor.law, DcLine):
        line = motor.law
        servo = motor.control is not None and motor.control.servo is not None
        way = np.where((current if servo else share) < 0, -1.0, 1.0)
        push = line.torque_constant * current * way
        own = friction_torque(line)
        rotor = motor.reflected_inertia * way * _gradient(speed, track.time)
        load = np.maximum(0.0, np.where(share != 0, push - own - rotor, 0.0))
        rated = line.rated_voltage
        return Drive(
            motor.name,
            turns,
            spec,
            line,
            supply_source(spec.supply, rated),
            nan,
            (share != 0).astype(float),
            speed * way,
            load,
            np.abs(current),
            np.abs(share),
            motor.reflected_inertia,
        )
    assert isinstance(motor.law, SynchronousLaw)
    in_step = np.abs(speed) >= STALLED * motor.law.speed
    given = np.where(in_step, np.abs(track.applied[:, APPLIED.index("motor"), motor.axis]), 0.0)
    return Drive(
        motor.name,
        turns,
        spec,
        None,
        supply_source(spec.supply, nan),
        motor.law.pull_out_torque,
        share,
        np.abs(speed),
        given,
        current,
        share,
        0.0,
    )


def _gradient(values: Array, time: Array) -> Array:
    return np.asarray(np.gradient(values, time)) if len(time) > 1 else np.zeros(len(time))


def _told(motor: MotorData, time: Array) -> Array:
    """Share of full voltage, -1 to 1."""
    from simprop.laws.cues import read

    if motor.control is not None:
        if motor.control.servo is not None:
            return np.ones(len(time))
        signal = motor.control.signal
        return np.ones(len(time)) if signal is None else np.array([read(signal, float(t)) for t in time])
    if motor.windows is None:
        return np.ones(len(time))
    inside = [(begin <= time) & (time < end) for begin, end in motor.windows]
    return np.asarray(np.any(inside or [time < 0], axis=0), dtype=np.float64)


def _pusher(recording: Recording, laws: Actuation, line: int, column: int, spec: Pusher) -> Drive:
    from simprop.laws.cues import read

    track = recording.track
    pushing = next(p for p in laws.pushing if p.line == line)
    length = np.linalg.norm(track.line_end[:, line] - track.line_start[:, line], axis=1)
    speed = _gradient(length, track.time)
    told = (
        np.ones(len(length))
        if pushing.signal is None
        else np.array([read(pushing.signal, float(t)) for t in track.time])
    ) * pushing.sense
    way = np.where(told < 0, -1.0, 1.0)
    law = pushing.fed.law
    dc = law.line if isinstance(law, Screw) else None
    rated = dc.rated_voltage if dc is not None else getattr(law, "rated_voltage", nan)
    pull_out = nan if dc is not None else _greatest(law)
    return Drive(
        laws.lines[line].name,
        False,
        spec,
        dc,
        supply_source(spec.supply, rated),
        pull_out,
        (told != 0).astype(float),
        speed * way,
        np.where(_inside(pushing.fed, length), np.maximum(0.0, -track.line_force[:, line] * way), 0.0),
        np.abs(track.current[:, column]) if column >= 0 else np.full(len(length), nan),
        np.abs(told),
        law.mass if isinstance(law, Screw) else 0.0,
    )


def _inside(fed: Fed, length: Array) -> NDArray[np.bool_]:
    """Where a pusher is between its own ends: what its ends take isn't asked of it."""
    out = length - fed.length + fed.extension
    if isinstance(fed.law, Screw):
        return np.ones(len(length), dtype=bool)
    stroke = getattr(fed.law, "stroke", np.inf)
    return np.asarray((out >= 0.0) & (out <= stroke))


def _greatest(law: object) -> float:
    from simprop.laws import actuator, pneumatic

    if isinstance(law, actuator.PulseActuator):
        return law.force
    if isinstance(law, actuator.Solenoid):
        return law.forces[0]
    if isinstance(law, pneumatic.Cylinder):
        return pneumatic.extend_force(law.bore, law.supply - pneumatic.ATMOSPHERE)
    return nan


RUNNING = 0.9
"""A motor has run up when it first reaches this share of its usual speed."""


def running(drive: Drive) -> NDArray[np.bool_]:
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
    """A drive's run in numbers; over the time it was on and had run up, currents over all of it.

    Attributes:
        drive: the rows.
        speed: mean, of a servo while it moves, rad/s or m/s.
        peak_load: N*m or N.
        peak_time: when, s.
        mean_load: N*m or N.
        rms_load: N*m or N.
        able: what it can give at standstill from its supply at full share, N*m or N; NaN where not known.
        margin: 1 - peak load / able: 1 unloaded, 0 at its stall; NaN where not known.
        peak_current: A; NaN where not known.
        mean_current: A.
        rms_current: over the whole run, A.
    """

    drive: Drive
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


def work(drive: Drive, time: Array) -> Work:
    """A drive's run in numbers.

    Args:
        drive: its rows.
        time: of the rows, (n,) s.
    """
    on = running(drive)
    if not on.any():
        return Work(drive, 0.0, 0.0, nan, 0.0, 0.0, _able(drive), nan, nan, 0.0, 0.0)
    row = int(np.argmax(np.where(on, drive.load, -1.0)))
    load, able = drive.load[on], _able(drive)
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
        float(np.sqrt(np.mean(drive.current**2))) if known else nan,
    )


def _able(drive: Drive) -> float:
    if drive.line is None:
        return drive.pull_out
    full = float(drive.share.max()) if drive.on.any() else 1.0
    source = drive.source
    most = source.voltage / (drive.line.resistance + source.resistance)
    volts = full * (source.voltage - source.resistance * min(source.limit, most))
    stall = at_voltage(drive.line, volts, limit=source.limit).stall
    figures = figures_of(drive.spec.motor)
    return min(stall, figures.force) if isinstance(figures, LinearPusher) else stall


def _pace(drive: Drive, on: NDArray[np.bool_]) -> float:
    """Mean speed; of a servo, which mostly holds, its mean size while it moves."""
    speed = drive.speed[on]
    if isinstance(figures_of(drive.spec.motor), ServoMotor):
        speed = np.abs(speed)
        speed = speed[speed > STANDS * speed.max()] if speed.max() > 0 else speed
    return float(speed.mean())
