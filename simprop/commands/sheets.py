"""``simprop sheets``: stills and drawings of a run."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.text import Text

from simprop.commands.source import folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.written import written_beside


def sheets(
    source: Path,
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
    joints: Sequence[str],
    *,
    pdf: bool,
    exaggerate: float = 1.0,
) -> int:
    """Contact sheet, motion ghost, dimensioned drawing, paths, motor torque against angle, load roses."""
    from simprop.picture.sheet_set import write_sheets

    folder = folder_for(source, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(source, sets, engine, report, exaggerate=exaggerate)
        written = write_sheets(
            run.loads,
            work / "sheets",
            joints=joints or None,
            vector="pdf" if pdf else "svg",
            exaggerate=exaggerate,
            progress=lambda done, total: report("drawing the sheets", done, total),
        )
    console.print(Text(f"Written to {folder}/sheets/: {', '.join(p.name for p in written)}"))
    return 0
