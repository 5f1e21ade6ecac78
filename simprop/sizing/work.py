"""What each motor did over a run, against what it could have done."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from simprop.drives.able import Demand
from simprop.geometry.arrays import Array
from simprop.loads.driving import DriveRows

STANDS = 0.05
"""Share of its highest speed under which what follows commands of place counts as standing."""
NEAR_LIMIT = 0.995
"""Share of its limit from which a supply counts as limiting."""


@dataclass(frozen=True)
class Work:
    """A drive's run in numbers, over the time that it ran (on, run up, not held on a stop); its peak current over all.

    Attributes:
        drive: the rows.
        speed: mean, of what follows commands of place while it moves, rad/s or m/s.
        peak_load: N*m or N.
        peak_time: when, s.
        start_load: largest while it starts, N*m or N; None where no start is told apart.
        held: how long a stop holds it, s.
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
    start_load: float | None
    held: float
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
    on = drive.running
    if not on.any():
        return Work(drive, 0.0, 0.0, nan, None, 0.0, 0.0, 0.0, drive.able, nan, nan, 0.0, 0.0)
    row = int(np.argmax(np.where(on, drive.load, -1.0)))
    load, able = drive.load[on], drive.able
    known = np.isfinite(drive.current).all()
    step = float(time[1] - time[0]) if len(time) > 1 else 0.0
    return Work(
        drive,
        _pace(drive, on),
        float(drive.load[row]),
        float(time[row]),
        float(drive.load[drive.start].max()) if drive.start.any() else None,
        float(drive.held.sum()) * step,
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
