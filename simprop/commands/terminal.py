"""Tables and progress on a terminal; quiet in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from simprop.loads.agreement import Pair
from simprop.loads.joints import JointLoads
from simprop.report.load_report import (
    audit_lines,
    headline,
    joint_rows,
    motor_line,
    pair_rows,
    shared_lines,
    with_band,
)
from simprop.report.touching import binding_line, margins, rubbing_lines
from simprop.run.simulate import Report

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


def show_table(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A plain table that folds within the terminal."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in titles:
        table.add_column(title, overflow="fold")
    for row in rows:
        table.add_row(*row)
    console.print(table)


def show_pairs(pairs: Sequence[Pair], engines: tuple[str, str]) -> None:
    """Peaks of two engines side by side."""
    show_table(("peak", *engines, "difference"), pair_rows(pairs))


def show_loads(loads: JointLoads) -> None:
    """The short table: highest joint first, then every joint, motors, stops, and how far to trust it."""
    console.print(Text(headline(loads), style="bold"))
    table = Table(box=None, pad_edge=False, header_style="bold", expand=False)
    for title in ("joint", "peak force", "peak moment", "at", "drive at"):
        table.add_column(title, no_wrap=False, overflow="fold")
    for row in joint_rows(loads):
        table.add_row(row.joint, row.force, row.moment, row.time, row.angle)
    console.print(table)
    for motor in loads.motors:
        console.print(Text(motor_line(motor)))
    for stop in loads.stops:
        console.print(
            Text(f"Stop {stop.name}: peak {with_band(stop, 'torque' if stop.kind == 'moment' else 'force')}")
        )
    for contact in loads.contacts:
        console.print(Text(f"Contact {contact.name}: peak {with_band(contact, 'force')}"))
    for slide in margins(loads):
        console.print(Text(binding_line(slide)))
    for line in audit_lines(loads) + shared_lines(loads) + rubbing_lines(loads):
        console.print(Text(line, style="dim"))
