"""For each motor of a run: margin, operating point, classes that would carry it, supply, fuse and heat."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, nan

import numpy as np

from simprop.catalog.motors import motors
from simprop.drives.kinds import (
    DcMotor,
    LinearPusher,
    ServoMotor,
    SynchronousMotor,
    figures_of,
)
from simprop.recording import Recording
from simprop.sizing.curves import able, speed_at, straight_line
from simprop.sizing.heat import Heat, heat
from simprop.sizing.remarks import remarks
from simprop.sizing.supplies import SupplyUse
from simprop.sizing.work import Drive, Work, work

PEAK_SHARE = 0.6
"""A DC class carries a load whose peak is at most this share of its stall (assumed; at 3.3 V one half:
cold grease)."""
LOW_VOLTAGE, LOW_SHARE = 3.5, 0.5
CONTINUOUS = 0.3
"""Share of the rated stall torque that a DC class may give for ever where its row says none (25 to 35 %)."""
SPARE = 1.5
"""Pull-out torque of a synchronous class, and the force of a magnet or cylinder, over the peak load
(assumed)."""
RATED_SPARE = 1.25
"""Rated force of a linear actuator, which it may give for long, over the peak load (assumed)."""
TRIED = (3.3, 5.0, 6.0, 12.0)
"""Voltages at which DC classes are tried, V."""


@dataclass(frozen=True)
class Candidate:
    """A class that would carry the load.

    Attributes:
        name: of the catalogue.
        voltage: V; NaN for mains and air.
        speed: at the mean load, rad/s or m/s; NaN where it has no line.
        pace: that over the speed of the run; NaN where not known, and for servos, which follow their cues.
        margin: 1 - peak load / what it can give at standstill.
        current: at the peak load, A; NaN where not known.
    """

    name: str
    voltage: float
    speed: float
    pace: float
    margin: float
    current: float


@dataclass(frozen=True)
class MotorSize:
    """All that is said about one motor.

    Attributes:
        work: what it did.
        candidates: classes that would carry it, the pace nearest to the run's first.
        supply: its supply; None for mains without data, air and pulls.
        heat: over the evening; None without thermal data.
        assumed: figures of its own class that no publication gives.
        remarks: what else a builder should know, one sentence each.
    """

    work: Work
    candidates: tuple[Candidate, ...]
    supply: SupplyUse | None
    heat: Heat | None
    assumed: tuple[str, ...]
    remarks: tuple[str, ...] = ()


def size_motors(
    recording: Recording,
    rows: tuple[Drive, ...],
    supplies: tuple[SupplyUse, ...],
    free: tuple[Drive, ...] | None,
    hours: float = 4.0,
    ambient: float = 20.0,
) -> tuple[MotorSize, ...]:
    """Margins, classes, supply and heat of every motor and pusher of a run.

    Args:
        recording: a run of at least one whole cycle of the prop.
        rows: what its drives did.
        supplies: what its supplies gave.
        free: what the drives did from supplies without limit; None where no supply limits, or it isn't known.
        hours: length of the evening over which it is repeated.
        ambient: air, degC.

    Returns:
        One row a motor, in the order of the rig.
    """
    time = recording.track.time
    uses = {user: use for use in supplies for user in use.users}
    asked = {d.name: work(d, time) for d in free or ()}
    found = []
    for drive in rows:
        did = work(drive, time)
        name = drive.spec.motor if isinstance(drive.spec.motor, str) else None
        assumed = next((m.assumed for m in motors() if m.name == name), ())
        found.append(
            MotorSize(
                did,
                candidates(asked.get(drive.name, did)),
                uses.get(drive.name),
                heat(drive, time, hours, ambient),
                tuple(assumed),
                remarks(recording, did),
            )
        )
    return tuple(found)


def candidates(did: Work) -> tuple[Candidate, ...]:
    """Classes of the catalogue that would carry what a drive did, nearest pace first.

    DC: peak load at most 60 % of the stall at that voltage (50 % at 3.3 V) and RMS load within the
        continuous share
    of the rated stall. Synchronous and pushers: half again the peak load. Servos only for servos.

    Args:
        did: what it did.
    """
    kind = type(figures_of(did.drive.spec.motor))
    found: list[Candidate] = []
    for row in motors():
        figures = figures_of(row.name)
        if isinstance(figures, DcMotor) and kind in (DcMotor, SynchronousMotor):
            if figures.travel is None:
                found += _dc(did, row.name, figures, row.continuous_share or CONTINUOUS)
        elif type(figures) is kind or (isinstance(figures, SynchronousMotor) and kind is DcMotor):
            found += _other(did, row.name, figures)
    return tuple(sorted(found, key=lambda c: abs(np.log(c.pace)) if c.pace > 0 else np.inf))


def _dc(did: Work, name: str, figures: DcMotor, continuous: float) -> list[Candidate]:
    line = straight_line(figures)
    found: list[Candidate] = []
    if line is None:
        return found
    for volts in TRIED:
        if volts > 1.05 * figures.rated_voltage:
            continue
        can = able(figures, volts)
        share = LOW_SHARE if volts < LOW_VOLTAGE else PEAK_SHARE
        if can is None or can.stall <= 0 or did.peak_load > share * can.stall:
            continue
        if did.rms_load > continuous * figures.stall_torque:
            continue
        speed = speed_at(line, volts, did.mean_load)
        current = did.peak_load / line.torque_constant + line.friction_current
        pace = speed / did.speed if did.speed > 0 else nan
        found.append(Candidate(name, volts, speed, pace, 1 - did.peak_load / can.stall, current))
    return found


def _other(did: Work, name: str, figures: object) -> list[Candidate]:
    can = able(figures)
    if can is None or did.peak_load <= 0:
        return []
    short = did.peak_load * SPARE > can.stall
    if isinstance(figures, LinearPusher):
        short = did.peak_load * RATED_SPARE > figures.force
    if short:
        return []
    line = straight_line(figures)
    speed = can.speed
    current = nan
    if line is not None:
        speed = speed_at(line, can.voltage, did.mean_load)
        current = did.peak_load / line.torque_constant + line.friction_current
    comparable = did.speed > 0 and isfinite(speed) and not isinstance(figures, ServoMotor)
    pace = speed / did.speed if comparable else nan
    return [Candidate(name, can.voltage, speed, pace, 1 - did.peak_load / can.stall, current)]


def operating_points(drive: Drive, points: int = 300) -> tuple[np.ndarray, np.ndarray]:
    """Speed and load of a drive while it is on, thinned to so many points, to draw over its line.

    Args:
        drive: rows of a run.
        points: at most.

    Returns:
        (speed, rad/s or m/s; load, N*m or N).
    """
    rows = np.flatnonzero(drive.on > 0)
    rows = rows[:: max(1, len(rows) // points)]
    return drive.speed[rows], drive.load[rows]
