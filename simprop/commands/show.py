"""``simprop show``: several props on shared supplies, by one clock."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.rig import elsewhere
from simprop.commands.terminal import console, stages
from simprop.report.files import write_report
from simprop.report.show import exit_code, show_report
from simprop.report.writers import show as print_report
from simprop.show.cues import cues_csv
from simprop.show.load import load_show
from simprop.show.play import play
from simprop.written import write_text, written_beside


def play_show(
    path: Path, engine: str | None, out: Path | None, size: tuple[int, int], *, settle: bool, gif: bool
) -> int:
    """Play a show: clip, report, supply plot and the cue sheet of all; 1 if a check of some prop fails."""
    from simprop.picture.clip.show import plot_supplies, render_show

    folder = Path("renders") / path.stem if out is None else out
    with stages() as report, written_beside(folder) as work:
        shown, props = load_show(path, files_elsewhere=elsewhere.get())
        played = play(shown, props, engine, settle=settle, report=report)
        found = show_report(played)
        write_report(found, work / "show")
        write_text(work / "cues.csv", cues_csv(played))
        if played.lines:
            plot_supplies(played.lines, work / "supplies.png")
        render_show(
            played, work, size=size, with_gif=gif,
            progress=lambda done, total: report("drawing the clip", done, total),
        )  # fmt: skip
        code = exit_code(played)
    print_report(found, console)
    console.print(Text(f"Written to {folder}/"))
    return code
