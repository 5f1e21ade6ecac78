"""``simprop tune``: the prop measured back."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.rig import read_rig
from simprop.commands.source import folder_for
from simprop.commands.terminal import console, stages
from simprop.errors import WriteError
from simprop.report.files import write_report
from simprop.report.structure import Report
from simprop.report.tune_sheet import tune_up
from simprop.report.tuned import tuned_report
from simprop.report.writers import show
from simprop.run.run import Run
from simprop.tuning.figures import texts
from simprop.tuning.measured import load_measured
from simprop.tuning.rewrite import rewritten
from simprop.tuning.sheet import blank
from simprop.tuning.tune import Tuned, base_run, tune
from simprop.written import written_beside

SHEET = "measured.yaml"


def tune_rig(path: Path, measured: Path | None, out: Path | None) -> int:
    """Tune a rig by a filled-in sheet; without one, write the blank sheet.

    Args:
        path: of the rig.
        measured: the sheet.
        out: folder for the files.

    Returns:
        0; with a sheet 1 or 3 as the strength of the tuned rig has it.
    """
    folder = folder_for(path, out)
    if measured is None:
        return _blank(path, folder)
    filled = load_measured(measured)
    with stages() as report, written_beside(folder) as work:
        tuned = tune(read_rig(path, {}), filled, report)
        found = tuned_report(tuned)
        write_report(found, work / "tuned")
        name = f"{path.stem}_tuned.yaml"
        _write_rig(path, tuned, work / name)
    show(found, console)
    console.print(Text(f"\nWritten to {folder}/: {name}, the rig with these figures, and tuned.md"))
    return tuned.after.strength.exit_code


def _blank(path: Path, folder: Path) -> int:
    """Print the tune-up sheet, and write the file that takes the readings.

    Raises:
        WriteError: where one is there already, which may be filled in.
    """
    with stages() as report, written_beside(folder) as work:
        report("running the rig", 0, 1)
        run = base_run(read_rig(path, {}))
        if write_sheet(run, path, folder, work):
            there = folder / SHEET
            raise WriteError(
                f"{there} is there already, and was left; to use it: simprop tune {path} {there}"
            )
        report("running the rig", 1, 1)
    section = tune_up(run)
    show(Report(run.rig.name, [section] if section else []), console)
    console.print(
        Text(f"\nWritten {folder / SHEET}. Next: fill it in, then simprop tune {path} {folder / SHEET}")
    )
    return 0


def write_sheet(run: Run, source: Path, folder: Path, work: Path) -> bool:
    """Write the blank sheet of a rig, unless one is there already, which may be filled in: then True.

    Args:
        run: of the rig.
        source: its file.
        folder: where the sheet will stand.
        work: where it is written meanwhile.
    """
    if (folder / SHEET).exists():
        return True
    (work / SHEET).write_text(blank(run, str(source)), encoding="utf-8")
    return False


def _write_rig(path: Path, tuned: Tuned, target: Path) -> None:
    """Write the tuned rig, with the files that it names beside it."""
    rig, chosen = tuned.before.rig, tuned.changed
    places = texts(rig, [tuned.figures[j] for j in chosen], [tuned.values[j] for j in chosen])
    text = path.read_bytes().decode("utf-8")  # with the line ends that it has
    target.write_bytes(rewritten(text, places).encode("utf-8"))
    for file in rig.file_names:
        copied = target.parent / file
        copied.parent.mkdir(parents=True, exist_ok=True)
        copied.write_bytes(rig.source.read(file))
