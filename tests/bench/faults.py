"""Commands killed at random moments: ``python -m tests.bench.faults --kills 100 --seed N``.

Held after each: every result is whole or absent, nothing temporary is left (after SIGKILL: the next run into the folder
takes it away), no process goes on, nothing but a word is said, and Ctrl-C ends it within a second.
"""

from __future__ import annotations

import argparse
import random
import signal
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.robust.started import ROOT, Ended, simprop
from tests.robust.whole import broken_files, strays

RIG = str(ROOT / "rigs" / "wall_peeper.yaml")
SHORT = ("--set", "run.for=0.2 s", "--engine", "mujoco")
COMMANDS: dict[str, tuple[str, ...]] = {
    "run": ("run", RIG, *SHORT, "--size", "160x120"),
    "compare": ("compare", RIG, *SHORT, "--set", "throw=40 mm", "--set", "throw=50 mm"),
    "sheets": ("sheets", RIG, *SHORT),
    "export": ("export", RIG, *SHORT, "--csv"),
}
SIGNALS = (signal.SIGTERM, signal.SIGKILL, signal.SIGINT)
PROMPT = 1.0
"""Seconds in which a command ends after a signal, on a machine that isn't busy."""


def troubles(ended: Ended, kind: signal.Signals, folder: Path) -> list[str]:
    """What doesn't hold after a command was killed.

    Args:
        ended: how it ended.
        kind: the signal that was sent.
        folder: where its results go.
    """
    found = [f"not whole: {row}" for row in broken_files(folder)]
    found += [f"goes on: {row}" for row in ended.orphans]
    if kind != signal.SIGKILL:
        found += [f"left: {row}" for row in strays(folder)]
    if "Traceback" in ended.err:
        found.append(f"traceback: {ended.err[-600:]}")
    allowed = {signal.SIGKILL: (-9,), signal.SIGTERM: (143, -15), signal.SIGINT: (130, -2)}[kind]
    if ended.code not in (0, 1, 3, *allowed):
        found.append(f"exit code {ended.code}: {ended.err[-300:]}")
    return found


def killed(rng: random.Random, lasts: dict[str, float]) -> tuple[str, float, list[str]]:
    """Kill a command once: what was done, seconds to its end, and what doesn't hold."""
    name, kind = rng.choice(list(COMMANDS)), rng.choice(SIGNALS)
    at = rng.uniform(0.0, lasts[name])
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "out")
        ended = simprop(*COMMANDS[name], "--out", "out", folder=Path(folder), kill=(at, kind))
        found = troubles(ended, kind, out)
        if kind == signal.SIGKILL and strays(out):
            again = simprop("cues", RIG, "--out", "out", folder=Path(folder))
            found += [f"left after the next run: {row}" for row in strays(out)] + (
                [again.err] if again.code else []
            )
    return f"{kind.name} to {name} after {at:.2f} s", ended.after, found


def main() -> None:
    """Exit code 1 if anything failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    lasts = {}
    for name, words in COMMANDS.items():
        with tempfile.TemporaryDirectory() as folder:
            simprop(*words, "--out", "out", folder=Path(folder))  # compiles what is not yet
            ended = simprop(*words, "--out", "out", folder=Path(folder))
            wrong = broken_files(Path(folder)) + strays(Path(folder))
            lasts[name] = ended.after
            print(
                f"{name} left alone: {ended.after:.1f} s, exit code {ended.code}, {wrong or 'all whole'}",
                flush=True,
            )
    rng, tally, slow, failed = random.Random(asked.seed), Counter[str](), [], 0
    for done in range(asked.kills):
        said, after, found = killed(rng, lasts)
        if done % 10 == 9:
            print(f"{done + 1} kills done, {failed + bool(found)} failed", flush=True)
        tally[said.split(" ", 1)[0]] += 1
        slow.append((after, said))
        failed += bool(found)
        if found:
            print(f"- {said}: {'; '.join(found)}", flush=True)
    late = [s for s in slow if s[0] > PROMPT]
    told = ", ".join(f"{n} {kind}" for kind, n in sorted(tally.items()))
    longest = f"longest {max(slow)[0]:.1f} s ({max(slow)[1]})"
    print(f"{asked.kills} kills: {told}; {failed} failed; {len(late)} took over {PROMPT:g} s, {longest}")
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
