"""The variants of a study, each from the store or run, in their order."""

from __future__ import annotations

import time
from collections import Counter, deque
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count, islice
from pathlib import Path

from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.work.job import Job, Workers
from simprop.study.work.pool import Here, Pool, cores
from simprop.study.work.store import Store, key_of

LOOKED_UP = 200
"""Variants that are looked up in the store at once; so many for each process may be under way."""
KEPT_EVERY = 1.0
"""What is done is kept so often, s: a kill loses no more."""


@dataclass
class Tally:
    """What runs have taken so far.

    Attributes:
        stored: variants that came from the store.
        run: variants that were run.
        seconds: processor time of these.
    """

    stored: int = 0
    run: int = 0
    seconds: float = 0.0


class Runs:
    """Runs variants, of as many studies as come, and keeps what they give.

    Args:
        workers: who tries them.
        store: that keeps them; None: nothing is kept.
    """

    def __init__(self, workers: Workers, store: Store | None):
        self._workers, self._store = workers, store
        self.tally = Tally()
        self.numbers = count()

    def __call__(
        self, study: Study, variants: Iterable[Variant], level: Level = "draft"
    ) -> Iterator[Outcome]:
        """Outcomes of variants, in their order.

        Args:
            study: that asks.
            variants: of its prop; the same one twice is run once.
            level: down to which they are looked into.
        """
        for _, _, outcome in self.outcomes(study, variants, level):
            yield outcome

    def outcomes(
        self, study: Study, variants: Iterable[Variant], level: Level = "draft"
    ) -> Iterator[tuple[int, Variant, Outcome]]:
        """The same with the number, counted from 0, and the variant of each."""
        return _Course(self, study, iter(variants), level).told()

    def kept(self, study: Study, level: Level, found: list[tuple[bytes, Outcome]]) -> None:
        """Keep outcomes and count them."""
        if self._store is not None and found:
            self._store.keep(study, level, found)

    def known(self, study: Study, keys: list[bytes], level: Level) -> dict[bytes, Outcome]:
        """What the store has of them."""
        return {} if self._store is None else self._store.known(study, level, keys)

    @property
    def workers(self) -> Workers:
        """Who tries them."""
        return self._workers


class _Course:
    """The variants of one study on their way."""

    def __init__(self, runs: Runs, study: Study, variants: Iterator[Variant], level: Level):
        self._runs, self._study, self._variants, self._level = runs, study, variants, level
        self._waiting: deque[tuple[int, Variant, bytes]] = deque()
        """Variants taken and not told, with their numbers and keys."""
        self._ready: dict[bytes, Outcome] = {}
        """Outcomes of these by key."""
        self._users: Counter[bytes] = Counter()
        """How many of them have a key."""
        self._fresh: deque[tuple[bytes, Variant]] = deque()
        """Those that have to be run."""
        self._flying: dict[int, bytes] = {}
        """Keys of those that are, by the number of the job."""
        self._unkept: list[tuple[bytes, Outcome]] = []
        self._taken, self._last, self._more = 0, time.monotonic(), True

    def told(self) -> Iterator[tuple[int, Variant, Outcome]]:
        """Outcomes in the order of the variants."""
        try:
            while True:
                self._send()
                yield from self._told()
                if self._flying or not self._runs.workers.room:
                    self._receive()
                elif not (self._more or self._fresh):
                    return
        finally:
            self._keep()

    def _send(self) -> None:
        """Give the workers what they have room for."""
        workers = self._runs.workers
        while workers.room:
            if not self._fresh and not self._look_up():
                return
            while self._fresh and workers.room:
                key, variant = self._fresh.popleft()
                job = Job(next(self._runs.numbers), self._study, variant, self._level)
                self._flying[job.number] = key
                workers.give(job)

    def _look_up(self) -> bool:
        """Take some more variants, with what the store has of them; False where there are no more, or too many wait."""
        if not self._more or len(self._waiting) >= LOOKED_UP * (1 + self._runs.workers.width):
            return False
        batch = list(islice(self._variants, LOOKED_UP))
        self._more = len(batch) == LOOKED_UP
        self._keep()
        keys = [key_of(self._study, variant, self._level) for variant in batch]
        known = self._runs.known(self._study, list(dict.fromkeys(keys)), self._level)
        for variant, key in zip(batch, keys, strict=True):
            self._waiting.append((self._taken, variant, key))
            self._taken += 1
            self._users[key] += 1
            if key in known:
                self._ready[key] = known[key]
                self._runs.tally.stored += 1
            elif self._users[key] == 1:
                self._fresh.append((key, variant))
        return bool(batch)

    def _told(self) -> Iterator[tuple[int, Variant, Outcome]]:
        while self._waiting and self._waiting[0][2] in self._ready:
            number, variant, key = self._waiting.popleft()
            outcome = self._ready[key]
            self._users[key] -= 1
            if not self._users[key]:
                del self._users[key], self._ready[key]
            yield number, variant, outcome

    def _receive(self) -> None:
        number, outcome = self._runs.workers.take()
        key = self._flying.pop(number, None)
        if key is None:  # of a study that was left before its end
            return
        self._ready[key] = outcome
        self._unkept.append((key, outcome))
        self._runs.tally.run += 1
        self._runs.tally.seconds += outcome.seconds
        if time.monotonic() - self._last > KEPT_EVERY:
            self._keep()

    def _keep(self) -> None:
        self._runs.kept(self._study, self._level, self._unkept)
        self._unkept, self._last = [], time.monotonic()


@contextmanager
def runs(
    processes: int | None = None, cluster: str | None = None, store: str | Path | None = None
) -> Iterator[Runs]:
    """Something that runs variants, until the end of the block.

    Args:
        processes: of this machine; None: one for each core; 1: this one.
        cluster: address of a Dask scheduler whose workers run them instead.
        store: file that keeps them; None: nothing is kept.

    Raises:
        SimpropError: for a store that can't be used, and a cluster that doesn't answer.

    Example:
        >>> text = "rig: 1\\nname: Post\\nbodies: {post: {parts: [{lump: 2 kg, at: 0 0 0 mm}]}}\\nrun: {for: 1 s}"
        >>> study = Study(text, "post.yaml", asks=("mass",))
        >>> heavier = Variant((("bodies.post.parts.0.lump", "3 kg"),))
        >>> with runs(processes=1) as run:
        ...     [outcome.answers[0].value for outcome in run(study, [Variant(), heavier])]
        [2.0, 3.0]
    """
    kept = None if store is None else Store(Path(store))
    try:
        workers = _workers(processes, cluster)
        try:
            yield Runs(workers, kept)
        finally:
            workers.close()
    finally:
        if kept is not None:
            kept.close()


def _workers(processes: int | None, cluster: str | None) -> Workers:
    if cluster is not None:
        from simprop.study.work.cluster import Cluster

        return Cluster(cluster)
    width = cores() if processes is None else processes
    return Here() if width == 1 else Pool(width)
