"""Benchmarks as Markdown: ``python -m tests.bench`` (all), or with ``rigs``, ``bodies`` or ``precision``."""

from __future__ import annotations

import sys

from tests.bench import precision, timing

PARTS = {"rigs": timing.rigs, "bodies": timing.bodies, "precision": precision.table}

if __name__ == "__main__":
    for name in sys.argv[1:] or PARTS:
        for line in PARTS[name]():
            print(line, flush=True)
        print()
