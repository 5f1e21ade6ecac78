"""A study in a process of its own, to be killed: ``python -m tests.study.studied STORE PROCESSES FIRST COUNT``.

It says a line for each variant as it is told, and at the end how many came from the store and how many were run.
"""

from __future__ import annotations

import sys
from pathlib import Path

from simprop.study.types import Outcome, Study, Variant
from simprop.study.work import run as work
from simprop.study.work.run import runs

TEXT = """
rig: 1
name: Crank and lantern
params: {throw: 40 mm}
points: {shaft: 0 0 0 mm, pin: [throw, 0 mm, 0 mm]}
bodies:
  stand: {fixed: true}
  crank: {parts: [{bar: 20 x 3 mm, of: steel, from: shaft, to: pin}, {lump: 0.3 kg, at: pin}]}
joints: {hub: {pin: [stand, crank], at: shaft, axis: y}}
motors: {drive: {joint: hub, motor: wiper, supply: 12 V 5 A}}
run: {for: 0.2 s}
"""
STUDY = Study(TEXT, "crank.yaml", asks=("travel(pin, z)", "peak(hub)"))


def variant(k: int) -> Variant:
    """A crank that is longer by tenths of a millimetre."""
    return Variant((("throw", f"{30 + k / 10:g} mm"),))


def bits(outcome: Outcome) -> tuple[object, ...]:
    """All of an outcome that has to be the same whatever ran it: all but the time it took."""
    numbers = [(a.value.hex(), a.unit, a.si.hex()) if a else None for a in outcome.answers]
    return outcome.ended, outcome.level, numbers, outcome.reason, outcome.unknown


def main(store: str, processes: str, first: str, count: str) -> None:
    """Try some variants and say so; what is done is kept sooner than usual, since it is all done so soon."""
    work.KEPT_EVERY = 0.1
    variants = [variant(k) for k in range(int(first), int(first) + int(count))]
    with runs(processes=int(processes), store=Path(store)) as run:
        for k, _, outcome in run.outcomes(STUDY, variants):
            print(k, outcome.ended, flush=True)
        print("stored", run.tally.stored, "run", run.tally.run, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
