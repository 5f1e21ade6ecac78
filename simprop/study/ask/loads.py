"""Measures of what joints bear, drives give, and of what is left before something breaks."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isfinite, nan
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.loads.driving import DriveRows
from simprop.loads.joints import Peak, all_peaks
from simprop.quantities import registry
from simprop.run.run import Run
from simprop.sizing.heat import heat as warmed
from simprop.sizing.work import Work, work
from simprop.study.ask.measure import measure
from simprop.study.ask.names import bodies, carriers, checked, drives, kinds, names_of, slides


def _peak(run: Run, name: str, kind: str | None) -> Peak | None:
    """The largest peak of what carries load by this name; of joints their force, where nothing is said."""
    own = [p for p in all_peaks(run.loads) if p.name == name and not p.key.endswith(".start")]
    own = [p for p in own if kind is None or p.kind == kind]
    forces = [p for p in own if p.kind == "force"]
    return max(forces or own, key=lambda p: p.value, default=None)


def _over(run: Run, name: str, kind: str | None, how: Callable[[Array], float]) -> Any:
    found = _peak(run, name, kind)
    return nan if found is None else _quantity(how(run.loads.history(found)), found.unit)


def _quantity(value: float, unit: str) -> Any:
    return registry().Quantity(value, unit)


@measure("N or N*m", "loads", carries=carriers, kind=kinds)
def peak(run: Run, carries: str | None = None, kind: str | None = None) -> Any:
    """The largest force, or moment, of a joint, spring, pusher, cord, coupling, stop or contact while the prop runs,
    the starts of its drives left out; where none is named the largest force in any joint."""
    if carries is None:
        forces = [force.value for force, _ in run.loads.joints]
        return _quantity(max(forces), "N") if forces else nan
    found = _peak(run, carries, kind)
    return nan if found is None else _quantity(found.value, found.unit)


@measure("N or N*m", "loads", carries=carriers, kind=kinds)
def mean(run: Run, carries: str, kind: str | None = None) -> Any:
    """The mean size of that force or moment over the run."""
    return _over(run, carries, kind, lambda v: float(np.mean(v)))


@measure("N or N*m", "loads", carries=carriers, kind=kinds)
def rms(run: Run, carries: str, kind: str | None = None) -> Any:
    """The root mean square of that force or moment over the run."""
    return _over(run, carries, kind, lambda v: float(np.sqrt(np.mean(v**2))))


@measure("", "loads", slide=slides)
def binding(run: Run, slide: str) -> float:
    """How many times its friction a guided joint would have to rub to lock; below 1 it binds."""
    found = next(b.margin for b in run.binding if b.joint == slide)
    return nan if found is None else found


@measure("kg", "still", body=bodies)
def mass(run: Run, body: str | None = None) -> float:
    """The mass of a body; of all that moves, where none is named."""
    own = [b for b in run.assembly.bodies if (not b.fixed if body is None else b.called == body)]
    return sum(b.mass for b in own) if own else nan


def _drive(run: Run, name: str) -> DriveRows:
    return next(d for d in run.drives if d.name == name)


def _work(run: Run, name: str) -> Work:
    return work(_drive(run, name), run.track.time)


@measure("N or N*m", "loads", drive=drives)
def asked(run: Run, drive: str) -> Any:
    """The largest load that a motor or pusher is asked for while it runs."""
    did = _work(run, drive)
    return _quantity(did.peak_load, "N*m" if did.drive.turns else "N")


@measure("", "loads", drive=drives)
def stall_margin(run: Run, drive: str | None = None) -> float:
    """How many times its largest load a motor or pusher could give at standstill from its supply; 1 is its stall. Where
    none is named: the lowest of all."""
    works = [_work(run, name) for name in ([d.name for d in run.drives] if drive is None else [drive])]
    known = [did.able / did.peak_load for did in works if did.peak_load > 0 and isfinite(did.able)]
    return min(known, default=nan)


@measure("A", "loads", drive=drives)
def current(run: Run, drive: str) -> float:
    """The largest current of a motor or pusher."""
    return _work(run, drive).peak_current


@measure("A", "loads", drive=drives)
def running_current(run: Run, drive: str) -> float:
    """Its mean current while it runs."""
    return _work(run, drive).mean_current


@measure("degC", "loads", drive=drives)
def heat(run: Run, drive: str) -> Any:
    """The winding's temperature at the end of an evening of 4 h at 20 degC; of motors with thermal data."""
    found = warmed(_drive(run, drive), run.track.time)
    return nan if found is None else _quantity(found.ambient + found.evening.winding, "degC")


def _lowest(run: Run, group: str, what: str | None) -> float:
    """The lowest margin of checks of a group ("" for all) that are of this group, name or place."""
    found, unknown = inf, False
    for check in run.strength.checks:
        if (group and check.group != group) or (what is not None and what not in names_of(check)):
            continue
        unknown = unknown or check.verdict == "not computed"
        if check.margin is not None:
            found = min(found, check.margin)
    return nan if unknown and found == inf else found


@measure("", "strength", of=checked)
def strength(run: Run, of: str | None = None) -> float:
    """The lowest margin of strength: of all checks, or of those of a group, a name or a place; below 1 one fails."""
    return _lowest(run, "", of)


@measure("", "strength")
def tip_margin(run: Run) -> float:
    """The lowest margin of tipping, sliding and walking away."""
    return _lowest(run, "stability", None)


@measure("", "strength")
def reach_margin(run: Run) -> float:
    """The lowest margin of what visitors can reach: gaps, force, energy."""
    return _lowest(run, "reach", None)
