"""``simprop strength``: what breaks first."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.run import loads_from, write_strength
from simprop.commands.terminal import console, stages
from simprop.report.strength_report import as_text


def strength_of(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, every: bool
) -> int:
    """Check a rig (or a saved recording): 1 if a check fails, 3 if something needed could not be computed."""
    with stages() as report:
        loads, folder = loads_from(source, sets, engine, out, report)
        found = write_strength(loads, folder, report)
    console.print(Text(as_text(found, every=every)))
    console.print(Text(f"Written to {folder}/"))
    return found.exit_code
