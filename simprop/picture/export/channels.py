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
from simprop.errors import RenderError, nearest
from simprop.geometry.arrays import Array
from simprop.picture.encode import written_beside
from simprop.picture.render.lines import line_names
from simprop.picture.render.motion import between, poses_at
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.loads.joints import JointLoads


def all_channels(assembly: Assembly, track: Trajectory, loads: JointLoads | None = None) -> dict[str, Array]:
    """Every channel of a run by name, its unit in brackets at the end, each (n,).

    Args:
        assembly, track: the run.
        loads: its joint loads, or None to leave them out.

    Returns:
        ``point.neck.x [m]``, ``body.mast.vz [m/s]``, ``joint.shaft.turn [rad]``, ``joint.shaft.motor [N*m]``,
        ``joint.wrist.force [N]``, ``motor.drive.current [A]``, ``spring.lift.pull [N]`` and so on.
    """
    out: dict[str, Array] = {"time [s]": track.time}
    points = watched(assembly)
    paths = follow(points, poses_at(assembly, track, track.time))
    for k, point in enumerate(points):
        for i, axis in enumerate("xyz"):
            out[f"point.{point.name}.{axis} [m]"] = paths[:, k, i]
    for b, body in enumerate(assembly.bodies):
        if body.fixed:
            continue
        for i, axis in enumerate("xyz"):
            out[f"body.{body.name}.{axis} [m]"] = track.position[:, b, i]
        for i, axis in enumerate("xyz"):
            out[f"body.{body.name}.v{axis} [m/s]"] = track.velocity[:, b, i]
        for i, axis in enumerate("xyz"):
            out[f"body.{body.name}.w{axis} [rad/s]"] = track.spin[:, b, i]
    for a, axis_ in enumerate(assembly.axes):
        name = f"joint.{assembly.joints[axis_.joint].name}"
        unit, load = ("rad", "N*m") if axis_.motion == "turn" else ("m", "N")
        out[f"{name}.{axis_.name} [{unit}]"] = track.coordinate[:, a]
        out[f"{name}.{axis_.name}_rate [{unit}/s]"] = track.rate[:, a]
        for k, kind in enumerate(APPLIED):
            if np.any(track.applied[:, k, a]):
                out[f"{name}.{axis_.name}_{kind} [{load}]"] = track.applied[:, k, a]
    for m, motor in enumerate(assembly.rig.motors):
        for label, unit, values in (("voltage", "V", track.voltage), ("current", "A", track.current)):
            if np.isfinite(values[:, m]).any():
                out[f"motor.{motor}.{label} [{unit}]"] = values[:, m]
    for k, (name, kind) in enumerate(line_names(assembly)):
        room = kind if kind == "pusher" else "spring" if name in assembly.rig.springs else "pull"
        out[f"{room}.{name}.pull [N]"] = track.line_force[:, k]
        out[f"{room}.{name}.length [m]"] = np.linalg.norm(
            track.line_end[:, k] - track.line_start[:, k], axis=1
        )
    if loads is not None:
        for j, joint in enumerate(assembly.joints):
            force, moment = loads.wrenches.sure_force[:, j], loads.wrenches.sure_moment[:, j]
            out[f"joint.{joint.name}.force [N]"] = np.linalg.norm(force, axis=1)
            for i, axis in enumerate("xyz"):
                out[f"joint.{joint.name}.f{axis} [N]"] = force[:, i]
            out[f"joint.{joint.name}.moment [N*m]"] = np.linalg.norm(moment, axis=1)
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
            hint = nearest(pattern, bare.values())
            raise RenderError(
                f"no channel matches {pattern!r}" + (f"; did you mean {hint!r}?" if hint else "")
            )
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
        assembly, track: the run.
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
