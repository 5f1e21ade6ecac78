"""Processes that work a state out beside the page: one a draft, at once; one until its peaks stand still."""

from __future__ import annotations

import multiprocessing
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from multiprocessing.connection import Connection
from threading import Lock, Thread

from simprop.errors import EngineError, SimpropError
from simprop.live.answers import view_of
from simprop.live.change import study_of, variant_of
from simprop.live.types import Job, Stage, Told
from simprop.run.assembled import assembled
from simprop.run.simulate import simulate
from simprop.study.trial.tried import rig_in
from simprop.study.work.children import alone, deaf_to_interrupts, end_with_parent

_SPAWN = multiprocessing.get_context("spawn")
PATIENCE = 1.5
"""A draft that takes longer than this many seconds gives way to a newer change; a quicker one is shown first, so that
the prop moves while a slider is moved."""


class NewerError(Exception):
    """There is a newer change: what is worked out now isn't wanted any more."""


def told_of(job: Job, *, settled: bool, newer: Callable[[], bool] = lambda: False) -> Iterator[Told]:
    """What comes of a state: a draft in three stages, motion first, or all at once when it has settled.

    Args:
        job: the state.
        settled: halve the step until the peaks stand still.
        newer: asked now and then; true where the state isn't wanted any more.

    Raises:
        NewerError: where it isn't.
    """
    begin, start, scene = time.monotonic(), time.process_time(), None

    def report(stage: str, done: int, total: int) -> None:
        moves = settled or scene is not None or time.monotonic() - begin > PATIENCE
        if moves and newer():
            raise NewerError

    try:
        run = simulate(
            assembled(rig_in(study_of(job.state), variant_of(job.state))),
            job.state.engine,
            settle=settled,
            report=report,
        )
        stages: tuple[Stage, ...] = ("strength",) if settled else ("motion", "loads", "strength")
        run = replace(run, report=report)
        for stage in stages:
            view = view_of(run, stage, settled=settled, before=scene)
            scene = view.scene
            yield Told(job.number, settled, view, seconds=time.process_time() - start)
            start = time.process_time()
            if newer():
                raise NewerError
    except EngineError as error:
        yield Told(job.number, settled, None, f"the run goes wrong: {error}")
    except SimpropError as error:
        yield Told(job.number, settled, None, str(error))


def _serve(pipe: Connection, settled: bool) -> None:
    """Work out the newest state that is sent, until the other end is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()
    while True:
        try:
            job = pipe.recv()
            while pipe.poll():
                job = pipe.recv()
            for told in told_of(job, settled=settled, newer=pipe.poll):
                pipe.send(told)
        except NewerError:
            continue
        except (EOFError, OSError):
            return


class Worker:
    """A process that works states out, made anew where it dies.

    Args:
        settled: whether it settles what it runs.
        hear: called with what comes of a state, from a thread of its own.
    """

    def __init__(self, hear: Callable[[Told], None], *, settled: bool):
        self._settled, self._hear = settled, hear
        self._lock = Lock()
        self._closed = False
        self._last: Job | None = None
        self._start()

    def _start(self) -> None:
        self._pipe, theirs = _SPAWN.Pipe()
        self._process = _SPAWN.Process(target=_serve, args=(theirs, self._settled), daemon=True)
        with alone(), deaf_to_interrupts():
            self._process.start()
        theirs.close()
        Thread(target=self._listen, args=(self._pipe,), daemon=True).start()

    def give(self, job: Job) -> None:
        """Hand it a newer state; the older one is dropped."""
        with self._lock, suppress(OSError):
            self._last = job
            self._pipe.send(job)

    def _listen(self, pipe: Connection) -> None:
        while True:
            try:
                told = pipe.recv()
            except (EOFError, OSError):
                break
            self._hear(told)
        with self._lock:
            if self._closed:
                return
            self._process.join()
            self._start()
            job = self._last
        if job is not None:
            self._hear(Told(job.number, self._settled, None, "the process that ran it died of it"))

    def close(self) -> None:
        """End it, whatever it is at."""
        with self._lock:
            self._closed = True
            self._process.kill()
            self._process.join()
            self._pipe.close()
