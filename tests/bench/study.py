"""Variants of a four-bar, one turn of its crank each: cost over the bare calls, speed-up of processes, memory.

    python -m tests.bench study [COUNT]

The ways take turns by blocks of variants, so that what else the machine does meets all of them.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from simprop.rig.model import Rig
from simprop.run.simulate import simulate
from simprop.study.trial.tried import rig_in
from simprop.study.types import Study, Variant
from simprop.study.work.pool import Pool
from simprop.study.work.run import Runs, runs
from tests.study.test_measures import four_bar

COUNT = 2000
BLOCKS = 10
ASKS = ("swing(rocker_pivot)", "peak(knuckle)")


@dataclass
class Way:
    """One way to run them, and what it took.

    Attributes:
        name: of it.
        run: runs variants.
        pids: of the processes that try them.
        wall: of all blocks, s.
        seconds: processor time of the tries, s.
        resident: memory of the largest of the processes after each block, MB.
    """

    name: str
    run: Runs | None
    pids: list[int]
    wall: float = 0.0
    seconds: float = 0.0
    resident: list[float] = field(default_factory=list)


def study() -> Study:
    """The four-bar for one turn of its crank."""
    text = four_bar().rig.source.text.replace("run: {for: 3 s", "run: {for: 1 s")
    return Study(text, "four_bar.yaml", asks=ASKS)


def variants(first: int, count: int) -> list[Variant]:
    """Four-bars with ever wider cranks."""
    return [
        Variant((("bodies.crank.parts.0.bar", f"{12 + k / 1000:.3f} x 3 mm"),))
        for k in range(first, first + count)
    ]


def lines(count: int = COUNT) -> Iterator[str]:
    """The table, a line at a time; the first tells what all others are measured against."""
    asked, size = study(), max(1, count // BLOCKS)
    with ExitStack() as open_:
        folder = Path(open_.enter_context(tempfile.TemporaryDirectory()))
        ways = [Way("bare simulate and loads", None, [])]
        for name, processes in (("1 process", 1), ("2 processes", 2)):
            run = open_.enter_context(runs(processes=processes, store=folder / f"{processes}.sqlite"))
            ways.append(Way(name, run, []))
        address, pids = open_.enter_context(dask(2))
        run = open_.enter_context(runs(cluster=address, store=folder / "dask.sqlite"))
        ways.append(Way("Dask, 2 workers", run, pids))
        for way in ways:
            _block(way, asked, variants(10 * count, 8))  # everything is imported and compiled
            if way.run is not None and isinstance(way.run.workers, Pool):
                way.pids = [worker.process.pid or 0 for worker in way.run.workers._workers]
            way.wall = way.seconds = 0.0
            way.resident.clear()
        for k in range(BLOCKS):
            for way in ways:
                _block(way, asked, variants(k * size, size))
        yield from _table(ways, BLOCKS * size)


def _block(way: Way, asked: Study, block: list[Variant]) -> None:
    if way.run is None:
        rigs = [rig_in(asked, one) for one in block]
        begun, start = time.process_time(), time.perf_counter()
        for rig in rigs:
            _bare(rig)
        way.seconds += time.process_time() - begun
    else:
        start = time.perf_counter()
        found = list(way.run(asked, block))
        assert all(one.ended == "done" for one in found)
        way.seconds += sum(one.seconds for one in found)
    way.wall += time.perf_counter() - start
    way.resident.append(max(map(resident, way.pids or [0])))


def _bare(rig: Rig) -> None:
    assert simulate(rig, settle=False).loads


def _table(ways: list[Way], count: int) -> Iterator[str]:
    bare, alone = ways[0], ways[1]
    yield f"{count} variants each. Own memory: the largest process after the first, the middle and the last block."
    yield ""
    yield "| Way | Wall time | Variants a minute | Processor, each | Over bare | Speed-up | Memory |"
    yield "|---|---|---|---|---|---|---|"
    for way in ways:
        each = 1e3 * way.seconds / count
        faster = "" if way.run is None else f"{alone.wall / way.wall:.2f}"
        memory = [way.resident[k] for k in (0, BLOCKS // 2, -1)]
        yield (
            f"| {way.name} | {way.wall:.1f} s | {60 * count / way.wall:.0f} | {each:.1f} ms | "
            f"{way.seconds / bare.seconds:.2f} | {faster} | {' '.join(f'{m:.0f}' for m in memory)} MB |"
        )


def resident(pid: int) -> float:
    text = Path(f"/proc/{pid or 'self'}/status").read_text()
    return float(text.split("VmRSS:")[1].split()[0]) / 1024.0


@contextmanager
def dask(count: int) -> Iterator[tuple[str, list[int]]]:
    """A scheduler and workers of one thread as the README starts them; its address, and the workers' processes."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "scheduler.json"
        begin = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0"]
        worker = [sys.executable, "-m", "distributed.cli.dask_worker", "--nthreads", "1", "--no-nanny"]
        common = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        started = [subprocess.Popen([*begin, "--no-dashboard", "--scheduler-file", str(place)], **common)]
        try:
            for _ in range(count):
                words = [*worker, "--no-dashboard", "--scheduler-file", str(place)]
                started.append(subprocess.Popen([*words, "--local-directory", folder], **common))
            yield _address(place, count), [one.pid for one in started[1:]]
        finally:
            for one in reversed(started):
                one.terminate()
                one.wait()


def _address(place: Path, count: int) -> str:
    import json

    from distributed import Client

    until = time.monotonic() + 60.0
    while not place.exists() and time.monotonic() < until:
        time.sleep(0.1)
    address = str(json.loads(place.read_text())["address"])
    with Client(address, set_as_default=False) as client:
        client.wait_for_workers(count, timeout=60.0)
    return address
