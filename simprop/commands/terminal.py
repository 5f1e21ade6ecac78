"""Tables and progress on a terminal; quiet in a pipe."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.console import Console

if TYPE_CHECKING:
    from rich.progress import Progress

    from simprop.run.once import Report

STOPPED = 130
"""Exit code of a command that Ctrl-C stopped."""
EVERY = 10.0
"""Seconds between two lines of progress where nobody watches."""


class _Terminal(Console):
    def on_broken_pipe(self) -> None:
        """Whoever read this has gone: the rest goes nowhere, and the exit code stays that of the work."""
        self.quiet = True
        silenced()


def silenced() -> None:
    """Whatever is still to go to standard output goes nowhere: it can't be written, and that has been said."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


console = _Terminal(highlight=False, soft_wrap=False)


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


class Lines:
    """A line of progress now and then, on standard error, for a pipe or a file.

    Args:
        now: the time, s.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic):
        self._now, self._last = now, now()

    def report(self, stage: str, done: int, total: int) -> None:
        """Tell how far a stage is where the last line was some time ago."""
        if self._now() - self._last >= EVERY:
            self._last = self._now()
            print(f"{stage}: {100 * done // max(total, 1)} %", file=sys.stderr, flush=True)


@contextmanager
def stages() -> Iterator[Report]:
    """Progress for the stages of a command: bars where a person watches, else a line now and then."""
    if not sys.stderr.isatty():
        yield Lines().report
        return
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description:<26}"),
        BarColumn(bar_width=30),
        TaskProgressColumn(),
        TimeRemainingColumn(compact=True),
    )
    with Progress(*columns, console=Console(stderr=True), transient=False) as progress:
        yield Stages(progress).report


@contextmanager
def calm() -> Iterator[Callable[[], None]]:
    """Hands out what makes a further Ctrl-C count no more until the block ends.

    A command that was stopped and tells what it has done calls it: the signal is sent again where a command doesn't end
    of it, and would stop that too.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: None
        return
    before = signal.getsignal(signal.SIGINT)

    def quiet() -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)

    try:
        yield quiet
    finally:
        signal.signal(signal.SIGINT, before)
