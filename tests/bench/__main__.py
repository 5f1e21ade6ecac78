"""Benchmarks as Markdown: ``python -m tests.bench`` (all), or with ``rigs``, ``bodies``, ``precision`` or ``study``."""

from __future__ import annotations

import sys
from functools import partial

from tests.bench import precision, study, timing

PARTS = {"rigs": timing.rigs, "bodies": timing.bodies, "precision": precision.table, "study": study.lines}

if __name__ == "__main__":
    words = sys.argv[1:] or list(PARTS)
    if len(words) == 2 and words[0] == "study" and words[1].isdigit():
        words, PARTS["study"] = words[:1], partial(study.lines, int(words[1]))
    for name in words:
        for line in PARTS[name]():
            print(line, flush=True)
        print()
