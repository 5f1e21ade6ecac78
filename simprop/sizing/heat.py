"""How hot the motors get over an evening of the run repeated, and what would keep them cool."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

import numpy as np

from simprop.catalog.motors import motor as catalogue_motor
from simprop.engine.acting.stepper import SLOW
from simprop.laws.duty import Evening, duty_type, evening, longest_run, rest_needed
from simprop.laws.thermal import Phase, time_constants
from simprop.loads.driving import DriveRows
from simprop.sizing.remarks import pulse_heat
from simprop.sizing.work import Work

PHASES = 200
"""Into so many stretches of even heating a run is cut."""


@dataclass(frozen=True)
class Heat:
    """A motor's heat over an evening.

    Attributes:
        name: of the motor.
        hours: length of the evening.
        ambient: air, degC.
        limit: of the winding, degC.
        evening: rises and when the limit is passed.
        longest: longest run without a pause at its mean heating while on, s; inf for ever.
        rest: pause needed after each on stretch of its mean length, s; inf: even one is too long.
        duty: named as in IEC 60034-1.
        assumed: figures that no publication gives.
    """

    name: str
    hours: float
    ambient: float
    limit: float
    evening: Evening
    longest: float
    rest: float
    duty: str
    assumed: tuple[str, ...]

    @property
    def hot(self) -> bool:
        """True if the winding passes its limit within the evening."""
        return isfinite(self.evening.time_to_limit)


def heat(drive: DriveRows, time: np.ndarray, hours: float = 4.0, ambient: float = 20.0) -> Heat | None:
    """A motor's heat over hours of its run repeated; None for a drive without thermal data.

    Copper heats the winding; what the gears lose heats the case. Heating is averaged over stretches of a
    two-hundredth of the run.

    Args:
        time: of the rows, s.
        hours: how long the run is repeated.
        ambient: air, degC.
    """
    data, line = drive.figures.thermal_data(), drive.line
    if data is None or line is None:
        return None
    motor, limit = data
    step = float(time[1] - time[0])
    square = drive.current**2 * (1.0 if _followed(drive, step) else pulse_heat(drive))
    turned = np.abs(drive.speed)
    gears = np.maximum(0.0, (line.speed_constant * drive.current - drive.load) * turned)
    cycle = []
    for rows in np.array_split(np.arange(len(time)), min(PHASES, len(time))):
        cycle.append(Phase(len(rows) * step, float(square[rows].mean()), case=float(gears[rows].mean())))
    on = drive.on > 0
    run = Phase(
        0.0, float(square[on].mean()) if on.any() else 0.0, case=float(gears[on].mean()) if on.any() else 0.0
    )
    begins = np.flatnonzero(np.diff(np.concatenate([[0.0], drive.on])) > 0)
    stretch = float(on.sum()) * step / max(1, len(begins))
    total = len(time) * step
    name = drive.spec.motor if isinstance(drive.spec.motor, str) else None
    assumed = () if name is None else catalogue_motor(name).assumed
    whole = Phase(stretch, run.square_current, case=run.case)
    pause = (total - float(on.sum()) * step) / max(1, len(begins))
    return Heat(
        drive.name,
        hours,
        ambient,
        limit,
        evening(motor, cycle, hours, limit, ambient),
        longest_run(motor, run, limit, ambient),
        rest_needed(motor, whole, limit, ambient) if on.any() else 0.0,
        duty_type(stretch if pause > 0 else inf, pause, time_constants(motor)[1]),
        tuple(a for a in assumed if a in ("thermal", "stall_current", "no_load_current", "stall_torque")),
    )


def continuous(did: Work) -> str | None:
    """How the load compares with what a class without thermal data may give for ever; None where that isn't known."""
    figures, name = did.drive.figures, did.drive.spec.motor
    said = catalogue_motor(name).continuous_share if isinstance(name, str) else None
    share, can = said or figures.continuous, figures.able()
    if share is None or not can.stall > 0:
        return None
    asked = did.rms_load / can.stall
    verdict = "stays cool" if asked <= share else "TOO HOT in the long run"
    return (
        f"no thermal data; RMS load {100 * asked:.2g} % of its rated stall, {100 * share:.0f} % may go on for ever: "
        f"{verdict} (assumed)"
    )


def _followed(drive: DriveRows, step: float) -> bool:
    """True if the run followed each pulse of the motor, so that its ripple is in the recorded current."""
    spec = drive.spec
    return spec.pwm is not None and spec.pwm.frequency * step <= SLOW


def span(seconds: float) -> str:
    """A stretch of time as people say it.

    Example:
        >>> span(42.0), span(600.0), span(9000.0), span(inf)
        ('42 s', '10 min', '2.5 h', 'for ever')
    """
    if not isfinite(seconds):
        return "for ever"
    if seconds < 100:
        return f"{seconds:.0f} s"
    if seconds < 5400:
        return f"{seconds / 60:.0f} min"
    return f"{seconds / 3600:.2g} h"


def verdict(found: Heat) -> str:
    """One or two sentences on the heat.

    Example:
        >>> cool = Evening(31.2, 18.0, inf, 33.0)
        >>> verdict(Heat("drive", 4.0, 20.0, 130.0, cool, inf, 0.0, "S1 continuous", ("thermal",)))
        '51 degC in the winding after 4 h (limit 130): stays cool; S1 continuous (assumed: thermal)'
    """
    top = found.ambient + found.evening.winding
    text = f"{top:.0f} degC in the winding after {found.hours:g} h (limit {found.limit:.0f})"
    if not isfinite(top) or top > 1000:
        text = f"winding past {found.limit:.0f} degC"
    if found.hot:
        text += f": TOO HOT after {span(found.evening.time_to_limit)}"
        text += f"; longest run {span(found.longest)}"
        if isfinite(found.rest):
            text += f", or rest {span(found.rest)} after each run"
        else:
            text += "; even one run is too long"
    else:
        text += ": stays cool"
    text += f"; {found.duty}"
    return text + (f" (assumed: {', '.join(found.assumed)})" if found.assumed else "")
