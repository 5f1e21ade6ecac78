"""Broken rigs by the thousand: ``python -m tests.bench.fuzz --reads 10000 --runs 500 --seed N``.

A *read* takes a rig's text, does something to it, and reads, assembles and prepares it. A *run* is a whole command on
such a rig, or on a sound one with ``--set``. Held of each: no traceback, no exception that isn't the package's own, no
message without a place, no more than 20 s of processor time and 2 GB, exit codes with their meaning, and no "nan" or
"inf" in what is told of a run.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import re
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from simprop import cli
from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import RigError, SimpropError
from simprop.reading.text import read_text
from simprop.rig.load import parse_rig
from tests.robust.guarded import MEMORY, Outcome, guarded
from tests.robust.mutate import ROOT, Broken, broken, odd_value, sources, spots, yaml_text

COMMANDS = ("loads", "loads", "strength", "size", "check", "cues", "export", "preview")
"""What runs do; loads oftener than the rest."""
NONSENSE = re.compile(r"(?<![\w.])(?:nan|inf|NaN|Infinity)(?![\w.])")


def placed(error: SimpropError) -> bool:
    """True if an error says where: each fault by file and line or field, others by a name in quotes or a field."""
    if isinstance(error, RigError):
        return all(f.file and (f.line or f.field) and f.message for f in error.faults)
    return bool(re.search(r"'[^']+'|\w+\.\w+", str(error)))


def read(case: Broken) -> str:
    """Read, assemble and prepare; hands back what came of it, beginning with "bad" where it must not be."""
    try:
        assembly = assemble(parse_rig(case.text, str(ROOT / "rigs" / "fuzz.yaml")))
        notes = (*assembly.notes, *actuate(assembly).notes)
    except SimpropError as error:
        text = str(error)
        if not placed(error):
            return f"bad: without a place: {text[:500]}"
        if max(len(line) for line in text.splitlines()) > 2000:
            return f"bad: a message of {len(text)} letters: {text[:200]}"
        return "refused"
    odd = [n for n in notes if NONSENSE.search(n)]
    masses = [b.mass for b in assembly.bodies]
    if odd or not all(0.0 <= m < 1e6 for m in masses):
        return f"bad: let through: {odd or masses}"
    return "taken"


def command(text: str, words: list[str]) -> str:
    """Run a command on a rig's text in a folder of its own; as `read`."""
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        rig = Path(folder, "fuzz.yaml")
        rig.write_text(text, encoding="utf-8", errors="surrogatepass")
        Path("sounds").symlink_to(ROOT / "rigs" / "sounds")
        sys.argv = ["simprop", words[0], str(rig), *words[1:]]
        code, out, err = _called()
        left = [str(p.relative_to(folder)) for p in Path(folder).rglob(".making-*")]
        left += [str(p.relative_to(folder)) for p in Path(folder).rglob("*.part")]
        told = out + "".join(
            p.read_text() for p in Path(folder).rglob("*.*") if p.suffix in (".md", ".json", ".txt")
        )
    if code not in (0, 1, 2, 3):
        return f"bad: exit code {code}"
    if "Traceback" in err:
        return f"bad: traceback {err[-800:]}"
    if left:
        return f"bad: left {left}"
    if code >= 2 and not re.search(r"'[^']+'|\w+\.\w+|--\w+|joint|body", err + out):
        return f"bad: code {code} without a place: {err[-500:]}"
    name = re.search(r"^name: *(.+)$", text, re.MULTILINE)  # a rig may be called anything
    told = told.replace(name[1].strip(), "") if name else told
    if found := next((line for line in told.splitlines() if NONSENSE.search(line)), None):
        return f"bad: says nan or inf: {found[:300]}"
    return f"code {code}"


def _called() -> tuple[object, str, str]:
    out, err = io.StringIO(), io.StringIO()
    from simprop.commands import terminal

    terminal.console.file = out
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            cli.main()
            code: object = 0
        except SystemExit as end:
            code = end.code if end.code is not None else 0
    return code, out.getvalue(), err.getvalue()


def reads(seed: int, count: int) -> list[tuple[str, Callable[[], str]]]:
    """Cases of reads, each with what was done to which rig."""
    texts = sources()
    made = []
    for k in range(count):
        rng = random.Random(f"read {seed} {k}")
        name = rng.choice(list(texts))
        case = broken(texts[name], rng)
        made.append((f"read {k} of {name}: {'; '.join(case.said)}", partial(read, case)))
    return made


def runs(seed: int, count: int) -> tuple[list[tuple[str, Callable[[], str]]], set[tuple[str, str]]]:
    """Cases of commands: half on rigs made wrong that still read where that can be, half with a value set.

    And which rigs run on which engines in them.
    """
    texts = sources()
    made, asked = [], set()
    for k in range(count):
        rng = random.Random(f"run {seed} {k}")
        name = rng.choice(list(texts))
        words = [rng.choice(COMMANDS), "--set", "run.for=0.05 s"]
        case = next((c for c in _tries(texts[name], rng) if read(c) == "taken"), Broken(texts[name], ()))
        if rng.random() < 0.5:
            field = rng.choice([path for _, _, path in spots(read_text(texts[name]).data)])
            case = Broken(texts[name], (f"--set {field}={yaml_text(odd_value(rng))[:300]}",))
            words += case.said[0].split(" ", 1)
        if words[0] not in ("check", "cues"):
            words += ["--engine", rng.choice(("mujoco", "mujoco", "bullet", "exudyn"))]
            asked.add((name, words[-1]))
        if words[0] == "loads":
            words += ["--one-step"]
        if words[0] == "preview":
            words += ["--size", "160x120", "--no-gif"]
        said = f"run {k}: {words[0]} of {name}: {'; '.join(case.said)}"
        made.append((said, partial(command, case.text, words)))
    return made, asked


def _tries(text: str, rng: random.Random) -> Iterator[Broken]:
    return (broken(text, rng, times=1) for _ in range(12))


def totals(what: str, cases: list[tuple[str, Callable[[], str]]]) -> int:
    """Run cases, print each failure and the totals; hands back how many failed."""
    tally: Counter[str] = Counter()
    longest, most, failed = 0.0, 0, 0
    for (said, _), outcome in zip(cases, guarded([c for _, c in cases]), strict=True):
        kind = _kind(outcome)
        tally[kind] += 1
        longest, most = max(longest, outcome.seconds), max(most, outcome.memory)
        if tally.total() % 1000 == 0:
            print(f"{tally.total()} {what} done, {failed} failed", flush=True)
        if kind not in ("taken", "refused", "code 0", "code 1", "code 2", "code 3"):
            failed += 1
            print(f"- {said}\n    {kind}: {str(outcome.value)[-900:]}", flush=True)
    told = ", ".join(f"{n} {kind}" for kind, n in sorted(tally.items()))
    print(
        f"{len(cases)} {what}: {told}; longest {longest:.1f} s, most memory {most / 2**20:.0f} MB", flush=True
    )
    return failed


def _kind(outcome: Outcome) -> str:
    if outcome.ended == "well" and outcome.memory <= MEMORY:
        return "bad" if str(outcome.value).startswith("bad") else str(outcome.value)
    return outcome.ended if outcome.ended != "well" else "memory"


def main() -> None:
    """Exit code 1 if anything failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reads", type=int, default=10_000)
    parser.add_argument("--runs", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    cases, warm = runs(asked.seed, asked.runs)
    for name, engine in sorted(warm):  # compiled loops are made once and kept: that isn't what is timed
        rig, out = ROOT / "rigs" / f"{name}.yaml", tempfile.mkdtemp()
        if not rig.exists():
            continue
        words = ["strength", str(rig), "--engine", engine, "--set", "run.for=0.05 s", "--out", out]
        subprocess.run([sys.executable, "-m", "simprop", *words], cwd=ROOT, capture_output=True, check=False)
    failed = totals("reads", reads(asked.seed, asked.reads)) + totals("runs", cases)
    print(f"{failed} failed")
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
