"""For each motor of a run: margin, operating point, classes that would carry it, supply, fuse and heat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.catalog.motors import motors
from simprop.drives.able import Candidate
from simprop.loads.driving import DriveRows
from simprop.recording import Recording
from simprop.sizing.classes import candidates
from simprop.sizing.cue_sheet import jaws
from simprop.sizing.heat import Heat, continuous, heat
from simprop.sizing.remarks import remarks
from simprop.sizing.supplies import SupplyUse
from simprop.sizing.work import Work, work


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
        continuous: how the load compares with what it may give for ever, where its heat isn't computed; None where
            that isn't known.
    """

    work: Work
    candidates: tuple[Candidate, ...]
    supply: SupplyUse | None
    heat: Heat | None
    assumed: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    continuous: str | None = None


def size_motors(
    recording: Recording,
    rows: tuple[DriveRows, ...],
    supplies: tuple[SupplyUse, ...],
    free: tuple[DriveRows, ...] | None,
    hours: float = 4.0,
    ambient: float = 20.0,
) -> tuple[MotorSize, ...]:
    """Margins, classes, supply and heat of every motor and pusher of a run.

    Args:
        recording: a run of at least one whole cycle of the prop.
        free: what the drives did from supplies without limit; None where no supply limits, or it isn't known.
        hours: length of the evening over which it is repeated.
        ambient: air, degC.

    Returns:
        One row a motor, in the order of the rig.
    """
    script = recording.laws.script
    time = recording.track.time
    uses = {user: use for use in supplies for user in use.users}
    asked = {d.name: work(d, time) for d in free or ()}
    heard = () if script is None else jaws(script)
    found = []
    for drive in rows:
        did = work(drive, time)
        name = drive.spec.motor if isinstance(drive.spec.motor, str) else None
        assumed = next((m.assumed for m in motors() if m.name == name), ())
        warm = heat(drive, time, hours, ambient)
        found.append(
            MotorSize(
                did,
                candidates(drive.figures, asked.get(drive.name, did).demand),
                uses.get(drive.name),
                warm,
                tuple(assumed),
                () if script is None else remarks(script, heard, did),
                continuous(did) if warm is None else None,
            )
        )
    return tuple(found)


def operating_points(drive: DriveRows, points: int = 300) -> tuple[np.ndarray, np.ndarray]:
    """Speed and load of a drive while it is on, thinned to so many points, to draw over its line.

    Args:
        points: at most.

    Returns:
        (speed, rad/s or m/s; load, N*m or N).
    """
    rows = np.flatnonzero(drive.on > 0)
    rows = rows[:: max(1, len(rows) // points)]
    return drive.speed[rows], drive.load[rows]
