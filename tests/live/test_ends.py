"""Processes of a session that die, are stopped, or lose their parent."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from threading import Thread

import pytest

from simprop.live.session import Session
from tests.live.test_state import PENDULUM, until

psutil = pytest.importorskip("psutil")
PARENT = """
import pathlib, sys, time
from simprop.live.session import Session
if __name__ == "__main__":
    session = Session(pathlib.Path(sys.argv[1]))
    session.ask()
    while session.view is None:
        time.sleep(0.01)
    print("it moves", flush=True)
    sys.stdin.read()
"""


def test_processes_that_are_killed_or_stopped(tmp_path: Path) -> None:
    """One killed at its work is made anew, which is said; one killed idle too; no change waits for one that stands."""
    file = tmp_path / "bob.yaml"
    file.write_text(PENDULUM + "# a remark\n" * 2_000)
    session = Session(file)
    said: list[str] = []
    session.told = lambda told: said.append(told.fault)
    drafts = session._workers[0]

    def send(number: int) -> None:
        os.kill(drafts._process.pid or 0, number)

    def change() -> None:
        for k in range(100):
            session.change("run.for", f"{1 + k / 100} s")

    try:
        session.ask()
        first = drafts._process.pid
        send(signal.SIGKILL)
        until(lambda: drafts._done == 1)
        assert [text for text in said if text] == ["the process that ran it died; it is tried once more"]
        assert session.fault == ""
        assert drafts._process.pid != first

        send(signal.SIGSTOP)
        asking = Thread(target=change)
        asking.start()
        asking.join(30)
        assert not asking.is_alive(), "a change waits for the process"
        send(signal.SIGCONT)
        until(lambda: session.view is not None and session._shown == (101, True, 2))
        assert drafts._process.is_alive()

        until(lambda: drafts._done == 101)
        send(signal.SIGKILL)
        until(lambda: not drafts._alive)
        session.change("run.for", "1 s")
        until(lambda: drafts._done == 102)
        assert session.fault == ""
    finally:
        session.close()


def test_nothing_outlives_a_parent_that_is_killed_while_it_settles(tmp_path: Path) -> None:
    file, script = tmp_path / "bob.yaml", tmp_path / "parent.py"
    file.write_text(PENDULUM.replace("1 s", "60 s"))
    script.write_text(PARENT)
    command, pipe = [sys.executable, str(script), str(file)], subprocess.PIPE
    with subprocess.Popen(command, text=True, stdin=pipe, stdout=pipe) as parent:
        assert parent.stdout is not None
        assert parent.stdout.readline() == "it moves\n"
        children = psutil.Process(parent.pid).children(recursive=True)
        parent.kill()
    assert len(children) >= 2
    _, alive = psutil.wait_procs(children, timeout=30)
    assert alive == []
