"""Processes of a Dask cluster that try variants, wherever its workers run."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from simprop.errors import SimpropError
from simprop.study.trial.tried import tried
from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.work.job import Job, lost
from simprop.study.work.store import code

ANSWERS = 5.0
"""A scheduler that doesn't answer in so long isn't there, s."""
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
        self._studies: dict[int, tuple[Study, Any]] = {}
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
        told = self._client.run(_fingerprint, on_error="return")
        wrong = [worker for worker, found in told.items() if found != code()]
        if wrong:
            why = next(told[w] for w in wrong)
            lacks = (
                f"lacks simprop ({why})" if isinstance(why, Exception) else "has another version of simprop"
            )
            raise SimpropError(
                f"--cluster {address}: the worker {wrong[0]} {lacks}; install the same as here"
            )

    @property
    def room(self) -> bool:
        """Whether its threads may soon have none to go on with."""
        return len(self._flying) < AHEAD * self.width

    def give(self, job: Job) -> None:
        """Send it off, with its study where that is new there."""
        mark = id(job.study)
        if mark not in self._studies:
            self._studies[mark] = job.study, self._client.scatter(job.study, broadcast=True, hash=True)
        study = self._studies[mark][1]
        future = self._client.submit(_tried, study, job.variant, job.level, pure=False)
        self._flying[future] = job
        self._done.add(future)

    def take(self) -> tuple[int, Outcome]:
        """The next outcome of any worker."""
        future = next(self._done)
        return self._got(future, self._flying.pop(future))

    def _got(self, future: Any, job: Job) -> tuple[int, Outcome]:
        try:
            found: Outcome = future.result()
        except self._killed:
            found = lost(job, "its process died again and again")
        future.release()
        return job.number, found

    def close(self) -> None:
        """Let go of the cluster; what is still there is dropped."""
        self._client.close(timeout=ANSWERS)


def _tried(study: Study, variant: Variant, level: Level) -> Outcome:
    return tried(study, variant, level)


def _fingerprint() -> str:
    return code()
