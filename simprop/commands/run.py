"""``simprop run``, ``preview``, ``loads`` and ``strength``."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from rich.text import Text

from simprop.commands.clip import ClipOptions, draw_clip
from simprop.commands.source import SAVED, folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.recording import save_recording
from simprop.report import loads
from simprop.report.files import write_report
from simprop.report.loads import ringing_section, second
from simprop.report.strength import STRENGTH, brief, first, open_points, verdict
from simprop.report.structure import Picture, Report, Section
from simprop.report.writers import show
from simprop.run.once import Report as Progress
from simprop.run.run import Run
from simprop.strength.drawing import draw_bent, softest
from simprop.written import written_beside


def run_rig(
    path: Path,
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
    options: ClipOptions,
    *,
    settle: bool,
) -> int:
    """The whole job: 1 if a strength check fails, 3 if one that is needed could not be computed."""
    folder = folder_for(path, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(path, sets, engine, report, settle=settle, exaggerate=options.exaggerate)
        save_recording(run.recording, work / "recording.npz")
        write_loads(run, work, report, plot=True)
        write_strength(run, work, report)
        draw_clip(run, work, options, report)
    makers = (
        loads.motion,
        loads.drives,
        loads.carrying,
        loads.slides,
        loads.stops,
        ringing_section,
        loads.second,
    )
    parts = [Section("brief", "", brief(run)), *(make(run) for make in makers)]
    show(Report(run.rig.name, [s for s in parts if s is not None]), console)
    console.print(Text(f"Written to {folder}/; what the figures rest on stands in loads.md and strength.md"))
    return run.strength.exit_code


def preview_rig(
    path: Path, sets: dict[str, str], engine: str | None, out: Path | None, options: ClipOptions
) -> int:
    """The clip only."""
    folder = folder_for(path, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(path, sets, engine, report, settle=False, exaggerate=options.exaggerate)
        draw_clip(run, work, options, report)
    console.print(Text(f"Written to {folder}/"))
    return 0


def loads_of(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, settle: bool, plot: bool
) -> int:
    """The loads only, of a rig or of a saved recording."""
    folder = folder_for(source, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(source, sets, engine, report, settle=settle)
        if source.suffix != SAVED:
            save_recording(run.recording, work / "recording.npz")
        write_loads(run, work, report, plot=plot)
    show(loads.LOADS.of(run), console)
    console.print(Text(f"Written to {folder}/"))
    return 0


def strength_of(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, every: bool
) -> int:
    """Check a rig (or a saved recording): 1 if a check fails, 3 if something needed could not be computed."""
    folder = folder_for(source, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(source, sets, engine, report)
        write_strength(run, work, report)
    short = [s for s in (verdict(run), first(run), open_points(run), second(run)) if s is not None]
    show(STRENGTH.of(run) if every else Report(run.rig.name, short), console)
    console.print(Text(f"Written to {folder}/"))
    return run.strength.exit_code


def write_loads(run: Run, folder: Path, report: Progress, *, plot: bool) -> None:
    """Write loads.md, loads.json and, if asked for, loads.png."""
    report("writing the loads", 0, 1)
    found = loads.LOADS.of(run)
    if plot:
        from simprop.picture.chart.plots import plot_loads

        plot_loads(run.loads, folder / "loads.png")
        picture = Section("picture", "", [Picture("loads.png", "loads over time")], data={})
        found = replace(found, sections=[*found.sections, picture])
    write_report(found, folder / "loads")
    report("writing the loads", 1, 1)


def write_strength(run: Run, folder: Path, report: Progress) -> None:
    """Write strength.md, strength.json and bent.png (where a member bends)."""
    report("checking strength", 0, 1)
    write_report(STRENGTH.of(run), folder / "strength")
    if softest(run.strength, 1):
        draw_bent(run.strength, run.recording, folder / "bent.png")
    report("checking strength", 1, 1)
