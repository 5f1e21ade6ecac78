"""Processes that this one starts: none outlives it, and Ctrl-C is its own."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

ALONE = {f"{name}_NUM_THREADS": "1" for name in ("OMP", "OPENBLAS", "MKL", "NUMBA", "VECLIB", "NUMEXPR")}
"""What tells libraries to compute in one thread."""


@contextmanager
def alone() -> Iterator[None]:
    """Processes that start meanwhile have one thread each in what they compute: others have the other cores."""
    before = {name: os.environ.get(name) for name in ALONE}
    os.environ.update(ALONE)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextmanager
def deaf_to_interrupts() -> Iterator[None]:
    """Processes that start meanwhile leave Ctrl-C to this one from their first moment on.

    Only the main thread can say so; of one that another starts, what it does first has to.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def end_with_parent() -> None:
    """In such a process: no work goes on for a parent that was killed."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_outlive, args=(parent,), daemon=True).start()


def _outlive(parent: Any) -> None:
    parent.join()
    os._exit(1)
