"""The same numbers whoever runs a variant, and nothing lost when processes die: real processes, real signals."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from math import inf, nan
from pathlib import Path

import pytest

from simprop.errors import SimpropError
from simprop.study.trial.tried import tried
from simprop.study.types import Answer, Limit, Outcome, Variant
from simprop.study.work.cluster import Cluster
from simprop.study.work.job import Job
from simprop.study.work.pool import Pool
from simprop.study.work.run import runs
from simprop.study.work.store import Store, key_of, store_beside, tools
from tests.robust.started import MARK, ROOT
from tests.study.studied import STUDY, TEXT, bits, variant


@pytest.fixture(scope="module")
def undisturbed() -> list[tuple[object, ...]]:
    """What comes of thirty variants one after the other."""
    return [bits(tried(STUDY, variant(k))) for k in range(30)]


@contextmanager
def started(*words: object, mark: str) -> Iterator[subprocess.Popen[str]]:
    """A study in a process of its own; all that it started ends with the block."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.study.studied", *map(str, words)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), MARK: mark},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        for pid in marked(mark):
            os.kill(pid, signal.SIGKILL)
        process.communicate()


def marked(mark: str) -> list[int]:
    """Processes of a study that still run."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if f"{MARK}={mark}".encode() in (entry / "environ").read_bytes():
                found.append(int(entry.name))
        except OSError:
            pass
    return found


def gone(mark: str) -> bool:
    """All of them have ended within ten seconds."""
    until = time.monotonic() + 10.0
    while (left := marked(mark)) and time.monotonic() < until:
        time.sleep(0.05)
    return not left


def lines(process: subprocess.Popen[str], until: int) -> None:
    """Read what it says up to a variant."""
    assert process.stdout is not None
    for line in process.stdout:
        if line.split()[0] == str(until):
            return
    raise AssertionError(f"it ended before variant {until}: {process.stderr and process.stderr.read()}")


def kept(store: Path) -> list[tuple[object, ...] | None]:
    """What a store has of the thirty."""
    base = Store(store)
    keys = [key_of(STUDY, variant(k), "draft") for k in range(30)]
    found = base.known(STUDY, "draft", keys)
    base.close()
    return [bits(found[key]) if key in found else None for key in keys]


def test_killed_and_started_again_runs_each_variant_once(
    tmp_path: Path, undisturbed: list[tuple[object, ...]]
) -> None:
    store = tmp_path / "crank.variants.sqlite"
    with started(store, 2, 0, 30, mark="killed") as process:
        lines(process, until=3)
        worker = next(pid for pid in marked("killed") if _spawned(pid))
        os.kill(worker, signal.SIGKILL)
        lines(process, until=15)
        process.kill()
        process.wait()
        assert gone("killed")  # the processes that it had started end by themselves
    before = kept(store)
    assert before == [row if known else None for row, known in zip(undisturbed, before, strict=True)]
    with started(store, 2, 0, 30, mark="again") as process:
        told = process.communicate(timeout=120)[0].splitlines()
    stored = sum(row is not None for row in before)
    assert stored >= 5
    assert told[:-1] == [f"{k} done" for k in range(30)]
    assert told[-1] == f"stored {stored} run {30 - stored}"
    assert kept(store) == undisturbed


def _spawned(pid: int) -> bool:
    return b"spawn_main" in Path(f"/proc/{pid}/cmdline").read_bytes()


def test_ctrl_c_keeps_what_is_done_and_leaves_nobody_behind(
    tmp_path: Path, undisturbed: list[tuple[object, ...]]
) -> None:
    store = tmp_path / "crank.variants.sqlite"
    with started(store, 2, 0, 30, mark="stopped") as process:
        lines(process, until=10)
        os.killpg(process.pid, signal.SIGINT)  # as a terminal sends it, to all of them
        _, said = process.communicate(timeout=30)
        assert gone("stopped")
    assert (
        said.count("KeyboardInterrupt") == 1
    )  # this script doesn't catch it; no process beside it says so too
    before = kept(store)
    assert before[:11] == undisturbed[:11]


def test_two_studies_share_a_store_at_once(tmp_path: Path, undisturbed: list[tuple[object, ...]]) -> None:
    store = tmp_path / "crank.variants.sqlite"
    with started(store, 1, 0, 20, mark="one") as one, started(store, 1, 10, 20, mark="two") as two:
        told = [process.communicate(timeout=120) for process in (one, two)]
    assert [out.splitlines()[:-1] for out, _ in told] == [[f"{k} done" for k in range(20)]] * 2
    assert kept(store) == undisturbed
    base = sqlite3.connect(store)
    assert base.execute("pragma integrity_check").fetchone() == ("ok",)
    base.close()


def test_what_two_processes_died_of_is_lost_and_nothing_else() -> None:
    """A run of ten minutes' worth of steps is killed wherever it runs; the others go on."""
    long = Variant((("run.for", "600 s"),))
    pool = Pool(2)
    killed: list[int] = []

    def kill() -> None:
        while len(killed) < 2:
            for worker in pool._workers:
                pid = worker.process.pid
                if worker.jobs and worker.jobs[0].number == 0 and pid is not None and pid not in killed:
                    time.sleep(0.3)
                    os.kill(pid, signal.SIGKILL)
                    killed.append(pid)
            time.sleep(0.05)

    killer = threading.Thread(target=kill)
    killer.start()
    try:
        pool.give(Job(0, STUDY, long, "draft"))
        for k in range(1, 4):
            pool.give(Job(k, STUDY, variant(k), "draft"))
        found = dict(pool.take() for _ in range(4))
    finally:
        pool.close()
        killer.join()
    assert found[0].ended == "lost"
    assert "died twice (by SIGKILL" in found[0].reason
    assert [bits(found[k]) for k in range(1, 4)] == [bits(tried(STUDY, variant(k))) for k in range(1, 4)]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A scheduler with two workers, whose nannies start them anew when they die."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, protocol="tcp"
    ) as cluster:
        yield cluster.scheduler_address


def test_same_bits_from_a_cluster_of_which_a_worker_dies(
    address: str, undisturbed: list[tuple[object, ...]]
) -> None:
    some = [*range(20), 3, 3]
    with runs(cluster=address) as run:
        workers = run.workers
        assert isinstance(workers, Cluster)
        found = []
        for k, outcome in enumerate(run(STUDY, [variant(k) for k in some])):
            found.append(bits(outcome))
            if k == 1:
                os.kill(next(iter(workers._client.run(os.getpid).values())), signal.SIGKILL)
        assert run.tally.run == 20
    assert found == [undisturbed[k] for k in some]


def test_a_cluster_of_another_version_is_refused(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simprop.study.work.cluster.tools", lambda: {**tools(), "numpy": "1.0"})
    with (
        pytest.raises(
            SimpropError, match=r"worker tcp://.* has numpy .* where here is 1\.0; install the same"
        ),
        runs(cluster=address),
    ):
        pass


def test_a_cluster_that_is_not_there() -> None:
    pytest.importorskip("distributed")
    start = time.monotonic()
    with (
        pytest.raises(SimpropError, match="no scheduler answers there"),
        runs(cluster="tcp://127.0.0.1:9"),
    ):
        pass
    assert time.monotonic() - start < 20.0


NUMBERS = (0.1, -0.0, inf, -inf, nan, 5e-324, 1.0000000000000002, 2.0**53 + 1)
"""Floats that a text or an integer would not bring back."""


def test_numbers_come_back_bit_for_bit(tmp_path: Path) -> None:
    asks = tuple(f"{k} * travel(pin, z)" for k in range(len(NUMBERS) + 1))
    study = replace(STUDY, asks=asks)
    answers = (*(Answer(x, "kg", -x) for x in NUMBERS), None)
    unknown = (*("",) * len(NUMBERS), "travel is not computed in this run")
    out = Outcome("done", "draft", answers, "", unknown, 0.1)
    store = Store(tmp_path / "a.sqlite")
    store.keep(study, "draft", [(b"key", out)])
    store.close()
    store = Store(tmp_path / "a.sqlite")
    (found,) = store.known(study, "draft", [b"key"]).values()
    store.close()
    assert bits(found) == bits(out)
    assert found.seconds == 0.1


def test_only_what_was_not_asked_before_is_run(tmp_path: Path) -> None:
    path = tmp_path / "crank.variants.sqlite"
    variants = [variant(k) for k in range(3)]
    other = replace(STUDY, asks=("peak(hub)", "mass()"))
    fewer = replace(STUDY, asks=("peak(hub)",))
    layout = replace(STUDY, text=f"# mine\n{TEXT.replace('{throw: 40 mm}', '{ throw: 40 mm }  # long')}")
    heavier = replace(STUDY, text=TEXT.replace("0.3 kg", "0.4 kg"))
    with runs(processes=1, store=path) as run:
        first = list(run(STUDY, variants))
        assert list(run(fewer, variants)) == [
            replace(one, answers=one.answers[1:], unknown=one.unknown[1:]) for one in first
        ]
        assert list(run(layout, variants)) == first
        assert (run.tally.run, run.tally.stored) == (3, 6)
        second = list(run(other, variants))
        assert run.tally.run == 6
        assert [bits(one) for one in second] == [bits(tried(other, one)) for one in variants]
        list(run(heavier, variants))
        list(run(STUDY, [replace(one, scatter=(("supplies", 0.01),)) for one in variants], "settled"))
        assert run.tally.run == 12
        list(run(STUDY, variants))
        assert run.tally.run == 12


def test_limits_count_as_if_nothing_had_been_kept(tmp_path: Path) -> None:
    """Whatever other limits and questions a store was filled by, a study tells what it would tell of an empty one."""
    path = tmp_path / "crank.variants.sqlite"
    variants = [variant(10 * k) for k in range(4)]
    asks = ("mass()", "travel(pin, z)", "peak(hub)", "strength(member)")
    studies = [
        replace(STUDY, asks=asks, limits=limits)
        for limits in ((), (Limit(0, most=0.33),), (Limit(2, most=6.0),), (Limit(1, least=0.07),))
    ]
    plain = [[bits(tried(study, one)) for one in variants] for study in studies]
    assert len({row[0] for rows in plain for row in rows}) > 1  # some are ruled out
    for order in (studies, studies[::-1]):
        with runs(processes=1, store=path) as run:
            for study in order:
                found = [bits(one) for one in run(study, variants)]
                assert found == plain[studies.index(study)]


def test_what_is_no_store_is_told(tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    base = sqlite3.connect(other)
    base.executescript("create table birds (name text); insert into birds values ('owl');")
    base.close()
    later = tmp_path / "later.sqlite"
    Store(later).close()
    base = sqlite3.connect(later)
    base.execute("pragma user_version = 99")
    base.close()
    text = tmp_path / "text.sqlite"
    text.write_text("rig: 1\n" * 200)
    for path, told in ((other, "no store"), (later, "format 99"), (text, "not a database")):
        whole = path.read_bytes()
        with pytest.raises(SimpropError, match=rf"{path.name}.*{told}.*--store other.sqlite"):
            Store(path)
        assert path.read_bytes() == whole
    with pytest.raises(SimpropError, match=r"nowhere.*--store"):
        Store(tmp_path / "nowhere" / "a.sqlite")


def test_stores_stand_beside_their_rigs() -> None:
    assert store_beside("props/owl.yaml") == Path("props/owl.variants.sqlite")
