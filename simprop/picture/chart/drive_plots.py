"""Motor curves with the operating points of a run, and the cue sheet beside the motion."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, isfinite, pi
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.drives.able import Curves
from simprop.drives.kinds import figures_of
from simprop.errors import RenderError
from simprop.laws.cues import read
from simprop.picture.chart.plots import DASHES, INKS, figure, save
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
    page, panes = figure(9.0, 6.4, 2, 2, sharex=True)
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
        pane.set_ylabel(label, fontsize=10)
        pane.set_ylim(bottom=0)
        pane.set_xlim(left=0)
    for pane in panes[1]:
        pane.set_xlabel(f"speed, {unit}", fontsize=10)
    panes[0, 0].legend(frameon=False, fontsize=9)
    page.suptitle("; ".join([f"{name} by voltage", *left]), fontsize=11, x=0.02, ha="left")
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
    """What each output is told, as bars and poses, over the motion of the joints that motors turn.

    Args:
        path: PNG, SVG or PDF by its ending.

    Returns:
        The path written.
    """
    rig, track = recording.assembly.rig, recording.track
    assert recording.laws.script is not None
    told = tracks(recording.laws.script)
    moving = {m.axis: m.name for m in recording.laws.motors}
    axes_ = list(moving) or list(range(min(1, len(recording.assembly.axes))))
    high = 0.5 + 0.42 * max(1, len(told))
    page, panes = figure(
        9.0,
        high + 1.9 * len(axes_),
        1 + len(axes_),
        1,
        sharex=True,
        height_ratios=[high] + [1.9] * len(axes_),
    )
    sheet = panes[0, 0]
    for row, output in enumerate(told):
        _bars(sheet, row, output, rig.run.duration)
    sheet.set_yticks(range(len(told)), [t.name for t in told], fontsize=9.5)
    sheet.set_ylim(len(told) - 0.4, -0.6)
    sheet.set_xlim(0, rig.run.duration)
    for pane, axis in zip(panes[1:, 0], axes_, strict=True):
        turns = recording.assembly.axes[axis].motion == "turn"
        name = recording.assembly.joints[recording.assembly.axes[axis].joint].name
        scale = 180 / pi if turns else 1000.0
        rate = np.abs(track.rate[:, axis]).max() * rig.run.duration if len(track.time) else 0.0
        spins = turns and rate > 6 * pi
        values = track.rate[:, axis] * 30 / pi if spins else track.coordinate[:, axis] * scale
        pane.plot(track.time, values, color=INKS[1], linewidth=1.4)
        pane.set_ylabel(f"{name}, {'rpm' if spins else 'deg' if turns else 'mm'}", fontsize=10)
        pose = next((t.pose for t in told if t.name == moving.get(axis)), None)
        if pose is not None and not spins:
            wanted = [degrees(read(pose, float(t))) for t in track.time]
            pane.plot(track.time, wanted, color=INKS[2], linestyle=DASHES[2], linewidth=1.0, label="told")
            pane.legend(frameon=False, fontsize=9)
    panes[-1, 0].set_xlabel("time, s", fontsize=10)
    sheet.set_title(f"{rig.name}: cues and motion (seed {rig.run.seed})", fontsize=11, loc="left")
    path = Path(path)
    save(page, path)
    return path


def _bars(sheet: Any, row: int, output: Track, end: float) -> None:
    for begin, stop, share in output.bars:
        ink = INKS[1] if share > 0 else INKS[2]
        sheet.barh(row, stop - begin, left=begin, height=0.62, color=ink, alpha=0.25 + 0.6 * abs(share))
        if stop - begin > 0.06 * end and share != 1.0:
            sheet.text(
                (begin + stop) / 2, row, f"{100 * share:.0f} %", ha="center", va="center", fontsize=8.5
            )
    for begin, length, file in output.sounds:
        sheet.barh(row, length, left=begin, height=0.3, color=INKS[4], alpha=0.8)
        sheet.text(begin, row + 0.42, Path(file).name, fontsize=8, va="center", color="#555555")
    if output.pose is not None:
        times = [t for t in output.pose.times if t <= end]
        values = np.array([read(output.pose, t) for t in [*times, end]])
        reach = float(np.ptp(values)) or 1.0
        sheet.plot(
            [*times, end], row + 0.25 - 0.5 * (values - values.min()) / reach, color=INKS[3], linewidth=1.4
        )
