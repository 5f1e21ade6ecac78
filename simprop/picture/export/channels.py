"""Chosen channels of a run as a table of numbers (CSV) for a spreadsheet or another program."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.world import APPLIED
from simprop.errors import RenderError, meant
from simprop.geometry.arrays import Array
from simprop.picture.render.motion import between, poses_at
from simprop.picture.render.watch import follow, watched
from simprop.written import written_beside

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.loads.joints import JointLoads


def all_channels(assembly: Assembly, track: Trajectory, loads: JointLoads | None = None) -> dict[str, Array]:
    """Every channel of a run by name, its unit in brackets at the end, each (n,).

    Args:
        loads: its joint loads, or None to leave them out.

    Returns:
        ``point.neck.x [m]``, ``body.mast.vz [m/s]``, ``joint.shaft.turn [rad]``, ``joint.shaft.motor [N*m]``,
        ``joint.wrist.force [N]``, ``motor.drive.current [A]``, ``spring.lift.pull [N]`` and so on.
    """
    out = {"time [s]": track.time, **_points(assembly, track), **_bodies(assembly, track)}
    out |= {**_axes(assembly, track), **_motors(assembly, track), **_lines(assembly, track)}
    return out if loads is None else out | _loads(loads)


def _points(assembly: Assembly, track: Trajectory) -> dict[str, Array]:
    points = watched(assembly)
    paths = follow(points, poses_at(assembly, track, track.time))
    return {
        f"point.{point.name}.{axis} [m]": paths[:, k, i]
        for k, point in enumerate(points)
        for i, axis in enumerate("xyz")
    }


def _bodies(assembly: Assembly, track: Trajectory) -> dict[str, Array]:
    motions = (("", "m", track.position), ("v", "m/s", track.velocity), ("w", "rad/s", track.spin))
    return {
        f"body.{body.name}.{letter}{axis} [{unit}]": values[:, b, i]
        for b, body in enumerate(assembly.bodies)
        if not body.fixed
        for letter, unit, values in motions
        for i, axis in enumerate("xyz")
    }


def _axes(assembly: Assembly, track: Trajectory) -> dict[str, Array]:
    out = {}
    for a, axis in enumerate(assembly.axes):
        name = f"joint.{assembly.joints[axis.joint].name}.{axis.name}"
        unit, load = ("rad", "N*m") if axis.motion == "turn" else ("m", "N")
        out[f"{name} [{unit}]"] = track.coordinate[:, a]
        out[f"{name}_rate [{unit}/s]"] = track.rate[:, a]
        for k, kind in enumerate(APPLIED):
            if np.any(track.applied[:, k, a]):
                out[f"{name}_{kind} [{load}]"] = track.applied[:, k, a]
    return out


def _motors(assembly: Assembly, track: Trajectory) -> dict[str, Array]:
    return {
        f"motor.{motor}.{label} [{unit}]": values[:, m]
        for m, motor in enumerate(assembly.rig.motors)
        for label, unit, values in (("voltage", "V", track.voltage), ("current", "A", track.current))
        if np.isfinite(values[:, m]).any()
    }


def _lines(assembly: Assembly, track: Trajectory) -> dict[str, Array]:
    out = {}
    length = np.linalg.norm(track.line_end - track.line_start, axis=2)
    for k, (name, sort) in enumerate(assembly.rig.lines):
        out[f"{sort}.{name}.pull [N]"] = track.line_force[:, k]
        out[f"{sort}.{name}.length [m]"] = length[:, k]
    return out


def _loads(loads: JointLoads) -> dict[str, Array]:
    out = {}
    for j, joint in enumerate(loads.recording.assembly.joints):
        force, moment = loads.wrenches.force[:, j], loads.wrenches.moment[:, j]
        out[f"joint.{joint.name}.force [N]"] = np.linalg.norm(force, axis=1)
        for i, axis in enumerate("xyz"):
            out[f"joint.{joint.name}.f{axis} [N]"] = force[:, i]
        out[f"joint.{joint.name}.moment [N*m]"] = np.linalg.norm(moment, axis=1)
    for k, touch in enumerate(loads.recording.laws.touches):
        if touch.joint < 0:
            out[f"contact.{touch.name}.force [N]"] = np.linalg.norm(
                loads.recording.track.touch_force[:, k], axis=1
            )
    return out


def chosen(names: Sequence[str], patterns: Sequence[str]) -> list[str]:
    """Names that match any of the patterns (``joint.*.force``, ``motor.drive.*``), in the order of `names`, time first.

    Args:
        names: full names with units.
        patterns: with ``*`` and ``?``; the unit may be left out; none chooses all.

    Raises:
        RenderError: for a pattern that matches nothing, with the nearest name.

    Example:
        >>> chosen(["time [s]", "joint.a.force [N]", "joint.b.force [N]"], ["joint.b.*"])
        ['time [s]', 'joint.b.force [N]']
    """
    bare = {name: name.rsplit(" [", 1)[0] for name in names}
    for pattern in patterns:
        if not any(fnmatchcase(b, pattern) or fnmatchcase(n, pattern) for n, b in bare.items()):
            raise RenderError(f"no channel matches {pattern!r}{meant(pattern, bare.values())}")
    keep = [n for n, b in bare.items() if not patterns or any(fnmatchcase(b, p) or n == p for p in patterns)]
    return ["time [s]", *(n for n in keep if n != "time [s]")]


def write_csv(
    assembly: Assembly,
    track: Trajectory,
    path: str | Path,
    *,
    patterns: Sequence[str] = (),
    every: float | None = None,
    loads: JointLoads | None = None,
) -> Path:
    """Write chosen channels as CSV, one row an instant, values with nine figures.

    Args:
        path: file to write.
        patterns: see `chosen`; none writes all.
        every: seconds between rows, values taken straight between steps; None: every physics step.
        loads: joint loads of the run, or None.

    Returns:
        The path written. Values that aren't known are left empty.

    Raises:
        RenderError: for a pattern that matches nothing or a step that isn't above zero.
    """
    path = Path(path)
    table = all_channels(assembly, track, loads)
    names = chosen(list(table), patterns)
    columns = np.stack([table[n] for n in names], axis=1)
    if every is not None:
        if not every > 0:
            raise RenderError(f"rows every {every:g} s can't be written; allowed: above 0 s")
        last = float(track.time[-1])
        at = float(track.time[0]) + every * np.arange(int((last - float(track.time[0])) / every + 1e-9) + 1)
        columns = between(track.time, columns, np.asarray(at, dtype=np.float64))
    with (
        written_beside(path.parent) as work,
        (work / path.name).open("w", newline="", encoding="utf-8") as file,
    ):
        writer = csv.writer(file)
        writer.writerow(names)
        for row in columns.tolist():
            writer.writerow(["" if math.isnan(v) else f"{v:.9g}" for v in row])
    return path
