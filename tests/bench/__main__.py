"""Benchmarks as Markdown: ``python -m tests.bench`` (all), or one of ``rigs bodies precision study live``."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial

from tests.bench import live, precision, study, timing

PARTS: dict[str, Callable[[], Iterator[str]]] = {
    "rigs": timing.rigs,
    "bodies": timing.bodies,
    "precision": precision.table,
    "study": study.lines,
    "live": live.lines,
}
COUNTED: dict[str, Callable[[int], Iterator[str]]] = {"study": study.lines, "live": live.lines}

if __name__ == "__main__":
    words = sys.argv[1:] or list(PARTS)
    if len(words) == 2 and words[0] in COUNTED and words[1].isdigit():
        words, PARTS[words[0]] = words[:1], partial(COUNTED[words[0]], int(words[1]))
    for name in words:
        for line in PARTS[name]():
            print(line, flush=True)
        print()
