"""``simprop strength``: what breaks first."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.run import show_second, write_strength
from simprop.commands.source import folder_for, runs_of
from simprop.commands.terminal import console, stages
from simprop.report.strength_report import as_text


def strength_of(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, every: bool
) -> int:
    """Check a rig (or a saved recording): 1 if a check fails, 3 if something needed could not be computed."""
    folder = folder_for(source, out)
    with stages() as report:
        run, second = runs_of(source, sets, engine, report)
        write_strength(run, folder, report)
    console.print(Text(as_text(run.strength, every=every)))
    show_second(run, second)
    console.print(Text(f"Written to {folder}/"))
    return run.strength.exit_code
