"""Processes of this machine that try variants, one beside the other.

Each has a pipe of its own, so that it is known whose variant a process died of. `concurrent.futures` breaks its whole
pool when one process dies, and doesn't say which of its jobs that was.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from contextlib import suppress
from multiprocessing.connection import Connection, wait
from typing import Any

from simprop.compiled import is_kept
from simprop.loads.kernel import inertia_rows
from simprop.study.trial.tried import tried
from simprop.study.types import Outcome, Study
from simprop.study.work.children import alone, deaf_to_interrupts, end_with_parent
from simprop.study.work.job import DEATHS, Job, lost

AHEAD = 2
"""Variants that a process has: one that it tries, and the next."""
STUDIES = 8
"""Studies that a process keeps at hand; both ends of its pipe forget them at the same job."""
_SPAWN = multiprocessing.get_context("spawn")


def cores() -> int:
    """Cores that this process may use.

    Example:
        >>> cores() >= 1
        True
    """
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not every system tells
        return os.cpu_count() or 1


class Here:
    """This process alone."""

    width = 1

    def __init__(self) -> None:
        self._jobs: deque[Job] = deque()

    @property
    def room(self) -> bool:
        """One at a time."""
        return not self._jobs

    def give(self, job: Job) -> None:
        """It waits until its outcome is asked for."""
        self._jobs.append(job)

    def take(self) -> tuple[int, Outcome]:
        """Try it."""
        job = self._jobs.popleft()
        return job.number, tried(job.study, job.variant, job.level)

    def close(self) -> None:
        """Nothing was started."""


class Pool:
    """Processes that stay warm from one study to the next.

    A process that dies is made anew and its variant tried again; a variant that takes two with it is lost. They end by
    themselves where this process is gone, and leave Ctrl-C to it.

    Args:
        count: of the processes.
    """

    def __init__(self, count: int):
        self.width = count
        self._deaths: dict[int, int] = {}
        self._workers: list[_Worker] = []
        self._most = count if is_kept(inertia_rows) else 1
        """So many may be started yet: cold, the first compiles for all."""

    @property
    def room(self) -> bool:
        """Whether a process has none to go on with."""
        return len(self._workers) < self._most or any(len(w.jobs) < AHEAD for w in self._workers)

    def give(self, job: Job) -> None:
        """To the process that has least to do; another is started where all have something."""
        if len(self._workers) < self._most and all(w.jobs for w in self._workers):
            self._workers.append(_Worker())
        min(self._workers, key=lambda w: len(w.jobs)).give(job)

    def take(self) -> tuple[int, Outcome]:
        """The next outcome of any process."""
        while True:
            busy = {w.pipe: w for w in self._workers if w.jobs}
            for pipe in wait(list(busy)):
                worker = busy[pipe]  # type: ignore[index]
                try:
                    number, outcome = worker.pipe.recv()
                except (EOFError, OSError):
                    gone = self._died(worker)
                    if gone is not None:
                        return gone
                    break
                worker.jobs.popleft()
                if isinstance(outcome, BaseException):
                    raise outcome
                self._deaths.pop(number, None)
                self._most = self.width
                return number, outcome

    def _died(self, worker: _Worker) -> tuple[int, Outcome] | None:
        """Make a process anew that died, and give it what it had; the outcome of a variant that is lost."""
        job, *others = worker.jobs
        how = _how(worker.end())
        fresh = self._workers[self._workers.index(worker)] = _Worker()
        deaths = self._deaths[job.number] = self._deaths.get(job.number, 0) + 1
        for one in [job, *others] if deaths < DEATHS else others:
            fresh.give(one)
        if deaths < DEATHS:
            return None
        del self._deaths[job.number]
        return job.number, lost(job, f"its process died twice ({how})")

    def close(self) -> None:
        """End the processes, whatever they are at."""
        for worker in self._workers:
            worker.end()
        self._workers = []


def _how(code: int | None) -> str:
    """How a process ended, in words."""
    if code is not None and code < 0:
        with suppress(ValueError):
            return f"by {signal.Signals(-code).name}" + (": out of memory?" if code == -9 else "")
    return f"exit code {code}"


class _Worker:
    """A process, its pipe, and what it has to do in its order."""

    def __init__(self) -> None:
        self.jobs: deque[Job] = deque()
        self._studies: dict[int, Study] = {}
        self.pipe, theirs = _SPAWN.Pipe()
        self.process = _SPAWN.Process(target=_work, args=(theirs,), daemon=True)
        with alone(), deaf_to_interrupts():
            self.process.start()
        theirs.close()

    def give(self, job: Job) -> None:
        """Send it a variant, and its study where that is new to it."""
        self.jobs.append(job)
        mark = id(job.study)
        known = mark in self._studies
        if not known:
            if len(self._studies) >= STUDIES:
                self._studies.clear()
            self._studies[mark] = job.study
        study = None if known else job.study
        with suppress(OSError):  # it is dead: that is seen when it is listened to
            self.pipe.send((job.number, mark, study, job.variant, job.level))

    def end(self) -> int | None:
        """Kill it; its exit code."""
        if self.process.is_alive():
            self.process.kill()
        self.process.join()
        self.pipe.close()
        return self.process.exitcode


def _work(pipe: Connection[Any, Any]) -> None:
    """What a process does: try what it is sent until the pipe ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()
    studies: dict[int, Study] = {}
    while True:
        try:
            number, mark, study, variant, level = pipe.recv()
        except (EOFError, OSError):
            return
        if study is not None:
            if len(studies) >= STUDIES:
                studies.clear()
            studies[mark] = study
        try:
            found: Any = tried(studies[mark], variant, level)
        except Exception as error:  # a mistake in this package: it is raised where the study was begun
            found = error
        try:
            pipe.send((number, found))
        except (OSError, ValueError):
            return
