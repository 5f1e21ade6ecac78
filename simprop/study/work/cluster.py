"""Processes of a Dask cluster that try variants, wherever its workers run."""

from __future__ import annotations

from collections import deque
from importlib import import_module
from threading import Lock
from typing import Any

from simprop.errors import SimpropError
from simprop.study.trial.tried import tried
from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.work.job import Job, lost
from simprop.study.work.store import tools

ANSWERS = 5.0
"""A scheduler that doesn't answer in so long isn't there, s."""
_ALONE = Lock()
"""A worker of several threads tries one variant after the other all the same."""
AHEAD = 3
"""Variants at the cluster for each of its threads: on their way, tried, and on their way back."""


class Cluster:
    """A Dask cluster.

    Args:
        address: of its scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises:
        SimpropError: where distributed isn't installed, the scheduler doesn't answer, it has no workers, or these have
            other code than is here.
    """

    def __init__(self, address: str):
        try:
            distributed: Any = import_module("distributed")
        except ModuleNotFoundError:
            raise SimpropError("--cluster needs Dask: pip install 'simprop[cluster]'") from None
        try:
            self._client: Any = distributed.Client(address, timeout=ANSWERS, set_as_default=False)
        except (OSError, ValueError, TimeoutError) as error:
            raise SimpropError(
                f"--cluster {address}: no scheduler answers there ({error}); start one by: dask scheduler"
            ) from None
        self._done: Any = distributed.as_completed(loop=self._client.loop)
        self._killed: type[Exception] = distributed.KilledWorker
        self._flying: dict[Any, Job] = {}
        self._gone: type[BaseException] = distributed.CancelledError
        self._address = address
        self._studies: deque[tuple[Study, Any]] = deque(maxlen=8)
        try:
            self._look(address)
        except SimpropError:
            self._client.close()
            raise

    def _look(self, address: str) -> None:
        """Refuse a cluster that can't do it, or would do something else."""
        threads = self._client.nthreads()
        if not threads:
            raise SimpropError(
                f"--cluster {address}: it has no workers; start them by: dask worker {address} --nthreads 1"
            )
        self.width = int(sum(threads.values()))
        for worker, found in self._client.run(_tools, on_error="return").items():
            why = f"lacks simprop ({found})" if isinstance(found, Exception) else _other(found, tools())
            if why:
                raise SimpropError(
                    f"--cluster {address}: the worker {worker} {why}; install the same as here"
                )

    @property
    def room(self) -> bool:
        """Whether its threads may soon have none to go on with."""
        return len(self._flying) < AHEAD * self.width

    def give(self, job: Job) -> None:
        """Send it off, with its study where that is new there."""
        known = next((future for study, future in self._studies if study == job.study), None)
        if known is None:
            known = self._client.submit(
                _same, job.study, pure=False
            )  # a task: workers that come later get it too
            self._studies.append((job.study, known))
        future = self._client.submit(_tried, known, job.variant, job.level, tools(), pure=False)
        self._flying[future] = job
        self._done.add(future)

    def take(self) -> tuple[int, Outcome]:
        """The next outcome of any worker.

        Raises:
            SimpropError: where the cluster has gone, or a worker that came later has other code.
        """
        future = next(self._done)
        job = self._flying.pop(future)
        try:
            found: Outcome = future.result()
        except self._killed:
            found = lost(job, "its process died again and again")
        except self._gone:
            raise SimpropError(
                f"--cluster {self._address}: the scheduler has gone; what is done is kept, so start it and this again"
            ) from None
        future.release()
        return job.number, found

    def close(self) -> None:
        """Let go of the cluster; what is still there is dropped."""
        self._client.close(timeout=ANSWERS)


def _same(study: Study) -> Study:
    return study


def _tools() -> dict[str, str]:
    return tools()


def _tried(study: Study, variant: Variant, level: Level, wanted: dict[str, str]) -> Outcome:
    why = _other(tools(), wanted)
    if why:
        raise SimpropError(f"a worker that came to the cluster later {why}; install the same as here")
    with _ALONE:
        return tried(study, variant, level)


def _other(theirs: dict[str, str], ours: dict[str, str]) -> str:
    """In what the versions of a worker differ from those here, in words; "" where they don't."""
    return ", ".join(
        f"has {name} {theirs.get(name, 'not at all')} where here is {ours.get(name, 'none')}"
        for name in {**ours, **theirs}
        if theirs.get(name) != ours.get(name)
    )
