"""Runs things that may hang, eat memory or crash, each in a process of its own with limits."""

from __future__ import annotations

import os
import pickle
import resource
import select
import signal
import struct
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

LONGEST = 20.0
"""Seconds of processor time that a case may take."""
WAIT = 240.0
"""Seconds after which a case that waits for something is given up, however busy the machine."""
MEMORY = 2 << 30
"""Bytes that a case may hold besides what the tests before it left."""


@dataclass(frozen=True)
class Outcome:
    """How a case ended.

    Attributes:
        ended: ``well``, ``hang``, ``crash`` (a signal, or an exception that left the case), each of which but the
            first is a failure.
        value: what the case handed back, or the text of the exception.
        seconds: of processor time that it took.
        memory: most bytes resident so far in the process that ran it.
    """

    ended: str
    value: Any
    seconds: float
    memory: int


def guarded(cases: Sequence[Callable[[], Any]]) -> Iterator[Outcome]:
    """Run cases one after the other in forked processes; a new one begins after a hang or a crash.

    Args:
        cases: each hands back something that can be pickled.
    """
    at = 0
    while at < len(cases):
        for outcome in _until_trouble(cases[at:]):
            at += 1
            yield outcome


def _until_trouble(cases: Sequence[Callable[[], Any]]) -> Iterator[Outcome]:
    sys.stdout.flush()
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        _work(cases, write)
    os.close(write)
    try:
        for _ in cases:
            begun = time.monotonic()
            row = _row(read, begun + WAIT)
            took = time.monotonic() - begun
            if row is None:
                os.kill(child, signal.SIGKILL)
                yield Outcome("hang", f"waits for something, {WAIT:g} s long", took, 0)
                return
            if row == b"":
                _, status = os.waitpid(child, 0)
                child = 0
                code = os.waitstatus_to_exitcode(status)
                ended = "hang" if code == -signal.SIGPROF else "crash"
                yield Outcome(ended, f"ended with status {code}", LONGEST, 0)
                return
            yield Outcome(*pickle.loads(row))
    finally:
        os.close(read)
        if child:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)


def _work(cases: Sequence[Callable[[], Any]], write: int) -> None:
    """In the child: never comes back."""
    most = _held() + MEMORY
    resource.setrlimit(resource.RLIMIT_DATA, (most, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        for case in cases:
            begun = time.process_time()
            signal.setitimer(signal.ITIMER_PROF, LONGEST)  # its signal ends the process
            try:
                ended, value = "well", case()
            except BaseException:
                ended, value = "crash", traceback.format_exc()[-2000:]
            signal.setitimer(signal.ITIMER_PROF, 0)
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
            row = pickle.dumps((ended, value, time.process_time() - begun, memory))
            os.write(write, struct.pack("<Q", len(row)))
            for k in range(0, len(row), 4096):
                os.write(write, row[k : k + 4096])
    finally:
        os._exit(0)


def _held() -> int:
    """Bytes of data that this process holds already, as it was forked."""
    with open("/proc/self/status", encoding="ascii") as status:
        return next(int(line.split()[1]) * 1024 for line in status if line.startswith("VmData"))


def _row(read: int, until: float) -> bytes | None:
    """One row from the pipe; None after the time, b"" where the other end is gone."""
    head = _exactly(read, 8, until)
    return head and _exactly(read, struct.unpack("<Q", head)[0], until)


def _exactly(read: int, count: int, until: float) -> bytes | None:
    found = b""
    while len(found) < count:
        ready, _, _ = select.select([read], [], [], max(0.0, until - time.monotonic()))
        if not ready:
            return None
        piece = os.read(read, count - len(found))
        if not piece:
            return b""
        found += piece
    return found
