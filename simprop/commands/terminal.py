"""Tables and progress on a terminal; quiet in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer
from rich.console import Console

if TYPE_CHECKING:
    from rich.progress import Progress

    from simprop.run.once import Report

console = Console(highlight=False, soft_wrap=False)


class Stages:
    """One progress bar a stage, on standard error, only when a person watches."""

    def __init__(self, progress: Progress):
        self._progress = progress
        self._task: dict[str, int] = {}

    def report(self, stage: str, done: int, total: int) -> None:
        """Show that `done` of `total` of a stage are done."""
        if stage not in self._task:
            self._task[stage] = int(self._progress.add_task(stage, total=total))
        self._progress.update(self._task[stage], completed=done, total=total)  # type: ignore[arg-type]


@contextmanager
def stages() -> Iterator[Report]:
    """Progress bars for the stages of a command; Ctrl-C ends it with a word and exit code 130."""
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    watched = sys.stderr.isatty()
    columns = (
        TextColumn("{task.description:<26}"),
        BarColumn(bar_width=30),
        TaskProgressColumn(),
        TimeRemainingColumn(compact=True),
    )
    try:
        with Progress(
            *columns, console=Console(stderr=True), disable=not watched, transient=False
        ) as progress:
            yield Stages(progress).report
    except KeyboardInterrupt:
        print("Stopped; nothing half-written was left.", file=sys.stderr)
        raise typer.Exit(130) from None
