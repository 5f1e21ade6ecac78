"""Up to nine runs side by side in one clip, with one camera and one time base, a table and overlaid plots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.picture.chart.plots import Marked, Panel, loads_plot
from simprop.picture.clip.clip import ClipPaths, Progress, write_clip
from simprop.picture.render.camera import framed, view_axes
from simprop.picture.render.exaggerate import exaggerated, note_of
from simprop.picture.render.extras import given
from simprop.picture.render.film import Film, Shot, frame_margin, painters, prepare, reached, steady
from simprop.picture.render.frame import Image
from simprop.picture.render.motion import frame_times, poses_at
from simprop.picture.render.scene import lighting
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.loads.joints import JointLoads

MOST = 9
GAP = 4


@dataclass(frozen=True)
class Pane:
    """One run of a comparison, what it is called, and what isn't drawn as it is."""

    label: str
    assembly: Assembly
    track: Trajectory
    note: str = ""


@dataclass(frozen=True)
class ComparisonPaths:
    """Files of a comparison: the clip and the overlaid plots."""

    clip: ClipPaths
    plots: Path


def layout(count: int) -> tuple[int, int, tuple[int, int]]:
    """Rows, columns and the size of one pane, for 1 to 9 panes.

    Example:
        >>> layout(2), layout(4)
        ((1, 2, (560, 480)), (2, 2, (560, 420)))
    """
    few = {1: (1, 1, (640, 480)), 2: (1, 2, (560, 480)), 3: (1, 3, (420, 480)), 4: (2, 2, (560, 420))}
    return few.get(count, (2 if count <= 6 else 3, 3, (420, 360)))


def _few(panes: Sequence[Pane]) -> None:
    if not 1 <= len(panes) <= MOST:
        raise RenderError(f"{len(panes)} runs can't be put side by side; allowed: 1 to {MOST}")


def films(panes: Sequence[Pane], shot: Shot) -> list[Film]:
    """The runs ready for drawing, with one camera, one light and one time base.

    Args:
        panes: 1 to 9 runs.
        shot: how they are shown; its size is that of one pane, its title is replaced by the pane's label.

    Raises:
        RenderError: for none or more than nine runs, or a view that can't be shared.
    """
    _few(panes)
    first = panes[0].assembly.rig
    view = steady(shot, panes[0].assembly).view
    if shot.view == "follow" or view is None:
        raise RenderError(
            "a comparison has one camera for all panes; allowed: front, side, three_quarter, top"
        )
    light = first.camera.light if shot.light is None else shot.light
    all_times = [frame_times(p.track, shot.frames_per_second, shot.speed) for p in panes]
    times = max(all_times, key=len)
    shots = [replace(shot, title=p.label, view=view, light=light, note=p.note) for p in panes]
    places = [reached(p.assembly, p.track, s, times) for p, s in zip(panes, shots, strict=True)]
    points = np.concatenate([r.kept for r in places])
    camera = framed(points, view_axes(view), shot.size, frame_margin(shot))
    lit = lighting(np.concatenate([r.everything for r in places]), camera.axes, light)
    return [
        prepare(p.assembly, p.track, s, times=times, camera=camera, lit=lit)
        for p, s in zip(panes, shots, strict=True)
    ]


def render_comparison(
    panes: Sequence[Pane],
    folder: str | Path,
    *,
    shot: Shot | None = None,
    size: tuple[int, int] | None = None,
    with_gif: bool = True,
    name: str = "compare",
    progress: Progress | None = None,
) -> ClipPaths:
    """Draw runs side by side and write ``compare.mp4``, ``compare.gif`` and ``compare.png``.

    Args:
        panes: 1 to 9 runs; a run that is shorter stays in its last pose.
        size: of one pane in pixels; None: by `layout`.
        name: of the files, without their endings.

    Raises:
        RenderError: see `films`.
    """
    _few(panes)
    down, across, usual = layout(len(panes))
    base = Shot() if shot is None else shot
    base = replace(base, size=usual if size is None else size)
    ready = films(panes, base)
    makers = [painters(film) for film in ready]
    width = across * base.size[0] + (across - 1) * GAP
    height = down * base.size[1] + (down - 1) * GAP

    def make(frame: int) -> Image:
        page = np.full((height, width, 3), 20, np.uint8)
        for k, maker in enumerate(makers):
            y, x = (k // across) * (base.size[1] + GAP), (k % across) * (base.size[0] + GAP)
            page[y : y + base.size[1], x : x + base.size[0]] = maker(frame)
        return page

    count = ready[0].count
    return write_clip(
        make,
        count,
        folder,
        (width, height),
        base.frames_per_second,
        name=name,
        still_name=name,
        still_frame=(2 * (count - 1)) // 3,
        with_gif=with_gif,
        progress=progress,
    )


def write_comparison(
    names: Sequence[str],
    runs: Sequence[JointLoads],
    folder: str | Path,
    *,
    titles: Sequence[str] | None = None,
    exaggerate: float = 1.0,
    progress: Progress | None = None,
) -> ComparisonPaths:
    """The pictures of a comparison: the clip and ``compare_plots.png``.

    Args:
        names: label of each run, for the plots.
        titles: of the panes of the clip; None: the labels.
        exaggerate: bending is drawn so many times in the clip.
    """
    folder = Path(folder)
    said = names if titles is None else titles
    panes = []
    for name, run in zip(said, runs, strict=True):
        assembly, track = run.recording.assembly, run.recording.track
        note = ""
        if exaggerate > 1.0 and assembly.members:
            track, note = exaggerated(assembly, run.recording.laws, track, exaggerate), note_of(exaggerate)
        panes.append(Pane(name, assembly, track, note))
    clip = render_comparison(panes, folder, progress=progress)
    return ComparisonPaths(clip, overlaid(names, runs, folder / "compare_plots.png"))


def overlaid(names: Sequence[str], runs: Sequence[JointLoads], path: str | Path) -> Path:
    """Height of the first watched point, force in what carries most, motor load and current of all runs over time.

    Args:
        names: label of each run.
        path: PNG, SVG or PDF by its ending.
    """
    time = max((r.recording.track.time for r in runs), key=lambda t: float(t[-1]))
    forces = [{f.key: f for f, _ in r.ranked if f is not None} for r in runs]
    worst = next((f for f in forces[0].values() if all(f.key in own for own in forces)), None)
    begun = np.any(
        [_resampled(time, r.recording.track.time, r.starting.astype(np.float64)) > 0.5 for r in runs], axis=0
    )
    panels: list[Panel] = []
    points = watched(runs[0].recording.assembly)
    if points:
        heights = {n: _resampled(time, *_height(r, points[0].name)) for n, r in zip(names, runs, strict=True)}
        panels.append(Panel(f"{points[0].name}: height, mm", heights))
    if worst is not None:
        own = [(n, r, f[worst.key]) for n, r, f in zip(names, runs, forces, strict=True)]
        drawn = {n: _resampled(time, r.recording.track.time, r.history(f)) for n, r, f in own}
        top = max((Marked(n, f.time, f.value, "N") for n, _, f in own), key=lambda m: m.value)
        panels.append(Panel(f"{worst.sort} {worst.name}: force, N", drawn, [top], None, begun))
    if all(r.motors for r in runs):
        motor = runs[0].motors[0]
        unit = motor.peak.unit
        loads = {
            n: _resampled(time, r.recording.track.time, given(r)[0][1])
            for n, r in zip(names, runs, strict=True)
        }
        panels.append(Panel(f"{motor.name}: load, {unit}", loads, (), None, begun))
        currents = {
            n: _resampled(time, r.recording.track.time, r.recording.track.current[:, 0])
            for n, r in zip(names, runs, strict=True)
        }
        if any(np.isfinite(c).any() for c in currents.values()):
            panels.append(Panel(f"{motor.name}: current, A", currents))
    if not panels:
        raise RenderError("there is nothing to plot: no watched point, joint or motor")
    first = panels[0]
    return loads_plot(
        time, first.series, first.peaks, path, label=first.label, further=panels[1:], start=first.start
    )


def _height(run: JointLoads, name: str) -> tuple[Array, Array]:
    track = run.recording.track
    poses = poses_at(run.recording.assembly, track, track.time)
    point = watched(run.recording.assembly, [name])
    return track.time, 1000 * follow(point, poses)[:, 0, 2]


def _resampled(time: Array, own: Array, values: Array) -> Array:
    return np.asarray(np.interp(time, own, values, right=np.nan))
