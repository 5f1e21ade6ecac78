"""Processes that work a state out beside the page: one a draft, at once; one until its peaks stand still."""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from multiprocessing.connection import Connection
from threading import Condition, Thread

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
BEHIND = 10
"""By how much what settles stands behind a draft where both want the same core."""
DEATHS = 2
"""Processes that may die of one state before it is given up."""
FIRST = 0.6
"""Seconds after a change in which the draft and the page have the cores for themselves, before it is settled."""


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
    if settled and hasattr(os, "nice"):
        os.nice(BEHIND)
    while True:
        try:
            job = pipe.recv()
            while pipe.poll():
                job = pipe.recv()
            if settled and pipe.poll(FIRST):
                continue
            for told in told_of(job, settled=settled, newer=pipe.poll):
                pipe.send(told)
        except NewerError:
            continue
        except (EOFError, OSError):
            return


class Worker:
    """A process that works states out.

    Where it dies it is made anew, and what it was at is tried once more; where it dies of that too, the next state is.

    Args:
        settled: whether it settles what it runs.
        hear: called with what comes of a state, from a thread of its own.
    """

    def __init__(self, hear: Callable[[Told], None], *, settled: bool):
        self._settled, self._hear = settled, hear
        self._turn = Condition()
        self._closed = False
        self._last: Job | None = None
        self._sent, self._done, self._deaths = 0, 0, 0
        self._start()

    def _start(self) -> None:
        self._pipe, theirs = _SPAWN.Pipe()
        self._process = _SPAWN.Process(target=_serve, args=(theirs, self._settled), daemon=True)
        with alone(), deaf_to_interrupts():
            self._process.start()
        theirs.close()
        self._alive = True
        for do in (self._send, self._listen):
            Thread(target=do, args=(self._pipe,), daemon=True).start()

    def give(self, job: Job) -> None:
        """Hand it a newer state; the older one is dropped. It never waits, however busy the process is."""
        with self._turn:
            self._last, self._deaths = job, 0
            if not self._alive and not self._closed:
                self._start()
            self._turn.notify_all()

    def _send(self, pipe: Connection) -> None:
        """Send the newest state whenever there is one that isn't done."""
        while True:
            with self._turn:
                self._turn.wait_for(lambda: self._pipe is not pipe or self._closed or self._due())
                job = self._last
                if self._pipe is not pipe or self._closed or job is None:
                    return
                self._sent = job.number
            try:
                pipe.send(job)
            except (OSError, ValueError):
                return  # it is dead, or closed: that is seen where it is listened to

    def _due(self) -> bool:
        job = self._last
        return job is not None and job.number > max(self._sent, self._done) and self._deaths < DEATHS

    def _listen(self, pipe: Connection) -> None:
        while True:
            try:
                told = pipe.recv()
            except (EOFError, OSError):
                break
            if told.view is None or told.view.stage == "strength":
                self._done = told.number
            self._hear(told)
        with self._turn:
            if self._closed:
                return
            self._process.join()
            self._alive, self._sent, job = False, 0, self._last
            self._deaths += 1
            again = self._due()
            if again:
                self._start()
            self._turn.notify_all()
        if job is not None and job.number > self._done:
            then = "it is tried once more" if again else "that was the second time, so it waits for a change"
            self._hear(Told(job.number, self._settled, None, f"the process that ran it died; {then}"))

    def close(self) -> None:
        """End it, whatever it is at."""
        with self._turn:
            self._closed = True
            self._process.kill()
            self._process.join()
            self._pipe.close()
            self._turn.notify_all()
