"""``simprop run``, ``preview`` and ``loads``."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.clip import ClipOptions, draw_clip
from simprop.commands.show import show_loads, show_pairs
from simprop.commands.source import BOTH, SAVED, folder_for, run_of, runs_of
from simprop.commands.terminal import console, stages
from simprop.loads.agreement import Pair, side_by_side
from simprop.recording import save_recording
from simprop.report.files import write_text
from simprop.report.load_report import as_json, markdown
from simprop.report.strength_report import as_json as strength_json
from simprop.report.strength_report import as_markdown as strength_markdown
from simprop.report.strength_report import brief
from simprop.run.once import Report
from simprop.run.run import Run
from simprop.strength.drawing import draw_bent, softest


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
    with stages() as report:
        run, second = runs_of(path, sets, engine, report, settle=settle)
        save_recording(run.recording, folder / "recording.npz")
        write_loads(run, folder, report, second)
        write_strength(run, folder, report)
        draw_clip(run, folder, options, report)
    show_loads(run)
    show_second(run, second)
    for line in (*warnings(run), *brief(run.strength)):
        console.print(Text(line))
    console.print(Text(f"Written to {folder}/"))
    return run.strength.exit_code


def preview_rig(
    path: Path, sets: dict[str, str], engine: str | None, out: Path | None, options: ClipOptions
) -> int:
    """The clip only."""
    folder = folder_for(path, out)
    with stages() as report:
        draw_clip(run_of(path, sets, engine, report, settle=False), folder, options, report)
    console.print(Text(f"Written to {folder}/"))
    return 0


def loads_of(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, settle: bool
) -> int:
    """The loads only, of a rig or of a saved recording."""
    folder = folder_for(source, out)
    with stages() as report:
        run, second = runs_of(source, sets, engine, report, settle=settle)
        if source.suffix != SAVED:
            save_recording(run.recording, folder / "recording.npz")
        write_loads(run, folder, report, second)
    show_loads(run)
    show_second(run, second)
    console.print(Text(f"Written to {folder}/"))
    return 0


def warnings(run: Run) -> list[str]:
    """What the supplies hold back."""
    return [f"Supply: {text}" for text in run.supply_warnings]


def pairs_of(run: Run, second: Run | None) -> list[Pair]:
    """Each peak beside that of a second opinion; none without one."""
    return [] if second is None else side_by_side(run.loads, second.loads)


def show_second(run: Run, second: Run | None) -> None:
    """Print each peak beside that of a second opinion, where there is one."""
    if second is not None:
        show_pairs(pairs_of(run, second), BOTH)


def write_loads(run: Run, folder: Path, report: Report, second: Run | None = None) -> None:
    """Write loads.md, loads.json and loads.png."""
    from simprop.picture.chart.plots import plot_loads

    report("writing the loads", 0, 3)
    write_text(folder / "loads.json", as_json(run))
    write_text(folder / "loads.md", markdown(run, pairs_of(run, second), BOTH, warnings(run)))
    report("writing the loads", 2, 3)
    plot_loads(run.loads, folder / "loads.png")
    report("writing the loads", 3, 3)


def write_strength(run: Run, folder: Path, report: Report) -> None:
    """Write strength.md, strength.json and bent.png (where a member bends)."""
    report("checking strength", 0, 1)
    write_text(folder / "strength.md", strength_markdown(run.strength))
    write_text(folder / "strength.json", strength_json(run.strength))
    if softest(run.strength, 1):
        draw_bent(run.strength, run.recording, folder / "bent.png")
    report("checking strength", 1, 1)
