"""Commands in processes of their own, which can be killed, and which tell whether they left others behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
MARK = "SIMPROP_TEST_MARK"
LONGEST = 300.0
"""Seconds after which a command is given up."""


@dataclass(frozen=True)
class Ended:
    """How a command ended.

    Attributes:
        code: exit code; below zero the signal that ended it.
        out, err: what it said.
        after: seconds from the signal to its end, or from its start where none was sent.
        orphans: processes that it left behind and that still ran ten seconds later.
    """

    code: int
    out: str
    err: str
    after: float
    orphans: tuple[str, ...]


def simprop(
    *words: str,
    folder: Path,
    kill: tuple[float, signal.Signals] | None = None,
    env: Mapping[str, str | None] | None = None,
    before: str = "",
    pipe: str = "",
    held: bool = False,
) -> Ended:
    """Run a command.

    Args:
        words: what stands after ``simprop``.
        folder: where it is started.
        kill: seconds until a signal, and which; sent to the whole foreground group as a terminal does for Ctrl-C, else
            to the process alone.
        env: changes of the environment; None takes a name away.
        before: shell words done first in its process, such as ``ulimit -f 100``.
        pipe: a shell command that reads what it says.
        held: what is read-only is so for a system administrator too.
    """
    mark = uuid.uuid4().hex
    wanted = {**os.environ, "PYTHONPATH": str(ROOT), MARK: mark, **(env or {})}
    command = [sys.executable, "-m", "simprop", *words]
    if held and os.getuid() == 0:
        command = ["setpriv", "--bounding-set=-dac_override,-dac_read_search", *command]
    script = f"{before or 'true'} && " + (
        '"$@" | ' + pipe + "; exit ${PIPESTATUS[0]}" if pipe else 'exec "$@"'
    )
    process = subprocess.Popen(
        ["bash", "-c", script, "bash", *command],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=folder,
        env={k: v for k, v in wanted.items() if v is not None},
        start_new_session=True,
    )
    begun = time.monotonic()
    try:
        if kill is not None:
            try:
                process.wait(kill[0])
            except subprocess.TimeoutExpired:
                begun = time.monotonic()
                if kill[1] == signal.SIGINT:
                    os.killpg(process.pid, signal.SIGINT)
                else:
                    process.send_signal(kill[1])
        try:
            process.wait(LONGEST if kill is None else 30.0)
        except subprocess.TimeoutExpired:
            process.kill()
        after = time.monotonic() - begun
        orphans = _left(mark)
        out, err = process.communicate(timeout=30)
    finally:
        for pid in _marked(mark):
            os.kill(pid, signal.SIGKILL)
    return Ended(process.returncode, out, err, after, orphans)


def _left(mark: str) -> tuple[str, ...]:
    until = time.monotonic() + 10.0
    while (found := _marked(mark)) and time.monotonic() < until:
        time.sleep(0.1)
    return tuple(f"{pid} {' '.join(words)[:120]}" for pid, words in found.items())


def _marked(mark: str) -> dict[int, list[str]]:
    """Processes whose environment carries a mark, with their command lines."""
    found = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                if f"{MARK}={mark}".encode() in (entry / "environ").read_bytes():
                    words = (entry / "cmdline").read_bytes().decode(errors="replace").split("\0")
                    found[int(entry.name)] = words
            except OSError:
                pass
    return found
