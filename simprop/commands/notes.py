"""``simprop notes``: build notes to take to the bench."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.clip import ClipOptions, draw_clip
from simprop.commands.source import folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.commands.tune import SHEET, write_sheet
from simprop.report.files import write_notes
from simprop.report.notes import NOTES
from simprop.written import written_beside


def notes_of(
    source: Path,
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
    *,
    size: tuple[int, int],
    settle: bool,
) -> int:
    """Write the build notes of a rig or of a saved recording: 1 if a strength check fails, 3 if one is open.

    Args:
        source: a rig file or a recording.
        sets: values put over the rig's.
        engine: name of the engine; None: the usual one.
        out: folder for the files; None: ``notes`` beside the recording or in the folder of the rig's pictures.
        size: width and height of the clip, pixels.
        settle: halve the step until the peaks stand still.
    """
    folder = out or folder_for(source, None) / "notes"
    with stages() as report, written_beside(folder) as work:
        run = run_of(source, sets, engine, report, settle=settle)
        draw_clip(run, work, ClipOptions(size, gif=False), report)
        report("writing the notes", 0, 1)
        write_notes(NOTES.of(run), work)
        kept = write_sheet(run, source, folder, work)
        report("writing the notes", 1, 1)
    console.print(
        Text(f"Written to {folder}/: notes.html, one page that needs nothing beside it, and notes.md")
    )
    if kept:
        console.print(Text(f"{SHEET} is there already, and was left as it is"))
    return run.strength.exit_code
