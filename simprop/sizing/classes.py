"""The classes of the catalogue: what each can do, and which would carry a load."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simprop.catalog.motors import MotorRow, motors
from simprop.drives.able import Able, Candidate, Demand
from simprop.drives.base import Drive
from simprop.drives.kinds import figures_of


@dataclass(frozen=True)
class Listed:
    """A class of the catalogue with what it can do at several voltages (None where it has no line there)."""

    row: MotorRow
    drive: Drive
    at: tuple[Able | None, ...]


def listing() -> tuple[Listed, ...]:
    """Every class of the catalogue at the voltages of its kind; mains and air at their own.

    Example:
        >>> next(c for c in listing() if c.row.name == "wiper medium low").at[2].stall.__round__(1)
        15.0
    """
    found = []
    for row in motors():
        drive: Drive = figures_of(row.name)
        here = tuple(drive.able_at(v) for v in drive.volts)
        found.append(Listed(row, drive, here if any(here) else (drive.able(),)))
    return tuple(found)


def candidates(present: Drive, asked: Demand) -> tuple[Candidate, ...]:
    """Classes of the catalogue that would carry what a prop asked of a drive, nearest pace first.

    DC: peak load at most 60 % of the stall at that voltage (50 % at 3.3 V) and RMS load within the continuous share of
    the rated stall. Synchronous and pushers: half again the peak load, linear actuators a quarter. Each for its own
    kind; DC and synchronous for each other.
    """
    found = []
    for row in motors():
        drive: Drive = figures_of(row.name)
        if present.kind in (drive.replaces or (drive.kind,)):
            continuous = row.continuous_share or drive.continuous
            found += [replace(c, name=row.name) for c in drive.carries(asked, continuous)]
    return tuple(sorted(found, key=lambda c: abs(np.log(c.pace)) if c.pace > 0 else np.inf))
