"""Motor curves with the operating points of a run, and the cue sheet beside the motion."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import degrees, isfinite, pi
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.drives.able import Curves
from simprop.drives.kinds import figures_of
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.laws.cues import read
from simprop.picture.chart.plots import DASHES, INKS, TEXT, TITLE, WIDE, figure, save, titled
from simprop.sizing.cue_sheet import Track, tracks
from simprop.sizing.sizing import operating_points

if TYPE_CHECKING:
    from simprop.loads.driving import DriveRows
    from simprop.recording import Recording


def motor_curves(
    name: str, path: str | Path, voltages: Sequence[float] = (3.3, 5.0, 12.0), used: Sequence[DriveRows] = ()
) -> Path:
    """Torque, current, power and efficiency of a class against its speed, with the operating points of a run.

    Args:
        name: of the catalogue.
        path: PNG, SVG or PDF by its ending.
        voltages: V; those at which it doesn't start, or that it doesn't stand, are named in the title.
        used: drives of a run, drawn as dots over the torque and the current.

    Returns:
        The path written.

    Raises:
        UnknownNameError: for a name the catalogue doesn't have.
        RenderError: for a class without a line (mains, air, solenoids, door locks).
    """
    figures = figures_of(name)
    scale, unit = (30 / pi, "rpm") if figures.turns else (1000.0, "mm/s")
    load = "torque, N*m" if figures.turns else "force, N"
    drawn: list[Curves] = []
    left = []
    for volts in voltages if figures.direct else (figures.rated,):
        can, curve = figures.able_at(volts) if figures.direct else figures.able(), figures.curves(volts)
        if curve is None:
            raise RenderError(f"{name!r} has no speed-torque line to draw")
        if can is None:
            left.append(f"{volts:g} V is too much for it")
        elif can.stall <= 0:
            left.append(f"{volts:g} V doesn't start it")
        else:
            drawn.append(curve)
    page, panes = figure(WIDE, 5.6, 2, 2, sharex=True)
    for k, curve in enumerate(drawn):
        _four(panes, curve, scale, k)
    if figures.limit is not None:
        panes[0, 0].axhline(
            figures.limit, color="#666666", linewidth=0.9, linestyle=(0, (1, 2)), label="rated"
        )
    for k, drive in enumerate(used):
        speed, given = operating_points(drive)
        on = np.flatnonzero(drive.on > 0)
        on = on[:: max(1, len(on) // 300)]
        ink = INKS[(k + 3) % len(INKS)]
        panes[0, 0].plot(scale * speed, given, ".", color=ink, markersize=3.5, label=drive.name)
        panes[0, 1].plot(scale * drive.speed[on], drive.current[on], ".", color=ink, markersize=3.5)
    for pane, label in zip(
        panes.flat, (load, "current, A", "power at the shaft, W", "efficiency, %"), strict=True
    ):
        pane.set_ylabel(label, fontsize=TEXT)
        pane.set_ylim(bottom=0)
        pane.set_xlim(left=0)
    for pane in panes[1]:
        pane.set_xlabel(f"speed, {unit}", fontsize=TEXT)
    panes[0, 0].legend(frameon=False, fontsize=TEXT)
    title = "\n".join(wrap("; ".join([f"{name} by voltage", *left]), TITLE))
    page.suptitle(title, fontsize=TEXT + 0.8, x=0.02, ha="left")
    path = Path(path)
    save(page, path)
    return path


def _four(panes: Any, curve: Curves, scale: float, k: int) -> None:
    look = {"color": INKS[k % len(INKS)], "linestyle": DASHES[k % len(DASHES)], "linewidth": 1.6}
    label = f"{curve.voltage:g} V" if isfinite(curve.voltage) else "at its own"
    rows = (curve.torque, curve.current, curve.power, 100 * curve.efficiency)
    for pane, values in zip(panes.flat, rows, strict=True):
        pane.plot(scale * curve.speed, values, label=label, **look)


def cue_plot(recording: Recording, path: str | Path) -> Path:
    """What each output is told, as bars and poses, over the motion of what motors and pushers drive.

    A drive that runs both ways has a row for each. Drives of one kind have one unit: turns a minute where any of them
    goes round, else degrees.

    Args:
        path: PNG, SVG or PDF by its ending.

    Returns:
        The path written.
    """
    rig = recording.assembly.rig
    assert recording.laws.script is not None
    told = tracks(recording.laws.script)
    rows = [row for output in told for row in _rows(output)]
    driven = motions(recording)
    high = 0.45 + 0.36 * max(1, len(rows))
    page, panes = figure(
        WIDE,
        high + 1.7 * len(driven) + 0.3,
        1 + len(driven),
        1,
        sharex=True,
        height_ratios=[high] + [1.7] * len(driven),
    )
    sheet = panes[0, 0]
    for place, (_, output) in enumerate(rows):
        _bars(sheet, place, output, rig.run.duration)
    sheet.set_yticks(range(len(rows)), [name for name, _ in rows], fontsize=TEXT)
    sheet.set_ylim(len(rows) - 0.4, -0.6)
    sheet.set_xlim(0, rig.run.duration)
    for pane, motion in zip(panes[1:, 0], driven, strict=True):
        pane.plot(recording.track.time, motion.values, color=INKS[1], linewidth=1.4)
        pane.set_ylabel(f"{motion.name},\n{motion.unit}", fontsize=TEXT)
        pose = next((t.pose for t in told if t.name == motion.drive), None)
        if pose is not None and motion.unit == "deg":
            wanted = [degrees(read(pose, float(t))) for t in recording.track.time]
            pane.plot(
                recording.track.time, wanted, color=INKS[2], linestyle=DASHES[2], linewidth=1.2, label="told"
            )
            pane.legend(frameon=False, fontsize=TEXT)
    panes[-1, 0].set_xlabel("time, s", fontsize=TEXT)
    titled(sheet, f"{rig.name}: cues and motion (seed {rig.run.seed})")
    path = Path(path)
    save(page, path)
    return path


@dataclass(frozen=True)
class Motion:
    """What one drive moves over a run.

    Attributes:
        drive: name of the motor or pusher.
        name: of its joint, or its own.
        unit: of the values.
        values: (n,).
    """

    drive: str
    name: str
    unit: str
    values: Array


def motions(recording: Recording) -> list[Motion]:
    """The motion of each motor's joint and of each pusher; of the first joint where nothing is driven."""
    assembly, track = recording.assembly, recording.track
    moving = [(m.axis, m.name) for m in recording.laws.motors]
    axes = moving or [(0, "")] * min(1, len(assembly.axes) - len(assembly.rig.pushers))
    kinds = {name: motor.figures.kind for name, motor in assembly.rig.motors.items()}
    rounds = {
        kinds.get(name)
        for axis, name in axes
        if assembly.axes[axis].motion == "turn" and np.ptp(track.coordinate[:, axis]) > 2 * pi
    }
    found = []
    for axis, name in axes:
        joint = assembly.joints[assembly.axes[axis].joint].name
        if assembly.axes[axis].motion != "turn":
            found.append(Motion(name, joint, "mm", 1000 * track.coordinate[:, axis]))
        elif kinds.get(name) in rounds:
            found.append(Motion(name, joint, "rpm", track.rate[:, axis] * 30 / pi))
        else:
            found.append(Motion(name, joint, "deg", np.degrees(track.coordinate[:, axis])))
    for k, (name, sort) in enumerate(assembly.rig.lines):
        if sort == "pusher":
            length = np.linalg.norm(track.line_end[:, k] - track.line_start[:, k], axis=1)
            found.append(Motion(name, name, "mm", 1000 * (length - length[0])))
    return found


def _rows(output: Track) -> list[tuple[str, Track]]:
    """An output by its name; what runs both ways by two names, each with the bars of that way."""
    ways = {
        word: tuple(b for b in output.bars if sign * b[2] > 0)
        for word, sign in (("forward", 1), ("back", -1))
    }
    if not all(ways.values()):
        return [(output.name, output)]
    rows = [(f"{output.name} {word}", replace(output, bars=bars)) for word, bars in ways.items()]
    return [rows[0], (rows[1][0], replace(rows[1][1], pose=None, sounds=()))]


def _bars(sheet: Any, row: int, output: Track, end: float) -> None:
    for begin, stop, share in output.bars:
        back = share < 0
        ink = INKS[2] if back else INKS[1]
        look: dict[str, Any] = {"hatch": "////", "edgecolor": "white"} if back else {}
        light = 0.25 + 0.6 * abs(share)
        sheet.barh(row, stop - begin, left=begin, height=0.62, color=ink, alpha=light, linewidth=0, **look)
        if stop - begin > 0.12 * end and abs(share) != 1.0:
            middle = (begin + stop) / 2
            sheet.text(middle, row, f"{100 * abs(share):.0f} %", ha="center", va="center", fontsize=TEXT)
    for begin, length, file in output.sounds:
        sheet.barh(row, length, left=begin, height=0.62, color=INKS[4], alpha=0.5, linewidth=0)
        late = begin > 0.6 * end
        at = (begin, row) if late else (begin + length, row)
        sheet.annotate(
            Path(file).name, at, xytext=(-4 if late else 4, 0), textcoords="offset points", fontsize=TEXT, va="center",
            ha="right" if late else "left", color="#444444",
        )  # fmt: skip
    if output.pose is not None:
        times = [t for t in output.pose.times if t <= end]
        values = np.array([read(output.pose, t) for t in [*times, end]])
        reach = float(np.ptp(values)) or 1.0
        sheet.plot(
            [*times, end], row + 0.25 - 0.5 * (values - values.min()) / reach, color="#006b4f", linewidth=1.4
        )
