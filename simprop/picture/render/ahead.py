"""Images made ahead by several threads, handed on in order."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor

from simprop.picture.render.frame import Image


def workers_here() -> int:
    """Number of processor cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return max(1, os.cpu_count() or 1)


def in_order(make: Callable[[int], Image], count: int, workers: int | None = None) -> Iterator[Image]:
    """Images 0 to count - 1 in order, made ahead by several threads.

    The inner loops run free of the interpreter lock, so threads use all cores without copying the scene and without
    another interpreter to start; each image is made by one thread alone, so that its bytes
    don't depend on their number.

    Args:
        make: image of a number; called from several threads.
        workers: threads, or None for one a core.
    """
    lanes = workers_here() if workers is None else max(1, workers)
    if lanes == 1:
        for k in range(count):
            yield make(k)
        return
    pool = ThreadPoolExecutor(lanes, thread_name_prefix="frames")
    waiting: deque[Future[Image]] = deque()
    try:
        for k in range(count):
            waiting.append(pool.submit(make, k))
            if len(waiting) > 3 * lanes:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
