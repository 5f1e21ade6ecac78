"""``simprop compare``: up to four runs side by side."""

from __future__ import annotations

import multiprocessing
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from rich.text import Text

from simprop.commands.rig import elsewhere, read_rig
from simprop.commands.source import bends, folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.errors import EngineError, Fault, RigError
from simprop.report.files import write_report
from simprop.report.writers import show
from simprop.rig.model import Rig
from simprop.run.once import Report
from simprop.run.run import Run
from simprop.study.work.children import deaf_to_interrupts, end_with_parent
from simprop.written import written_beside

MOST = 4
BENDS = r"run\.bend|bodies\..*\.bends"
"""Fields that say whether something bends."""


@dataclass(frozen=True)
class Variant:
    """One run of a comparison: a rig file and the values set over it; if asked for, whether it bends at all, and in how
    many steps it is run: until its peaks stand still, or one step alone."""

    path: Path
    sets: dict[str, str]
    bend: bool | None = None
    settle: bool = True


def variants(paths: Sequence[Path], pairs: Sequence[tuple[str, str]], bend: bool = False) -> list[Variant]:
    """The runs that some rigs and ``--set`` ask for.

    A field that is set once holds for all; fields set several times change together, the first values in the first run
    and so on. Several rigs are compared as they are, or each with what is set once.

    Args:
        paths: rig files.
        pairs: field and value, in the order written.
        bend: each of them twice, rigid and bending.

    Raises:
        RigError: for counts that don't go together, or not two to four runs.

    Example:
        >>> [v.sets for v in variants([Path("a.yaml")], [("throw", "50 mm"), ("throw", "60 mm"), ("run.for", "2 s")])]
        [{'run.for': '2 s', 'throw': '50 mm'}, {'run.for': '2 s', 'throw': '60 mm'}]
    """
    values: dict[str, list[str]] = {}
    for name, value in pairs:
        values.setdefault(name, []).append(value)
    once = {name: found[0] for name, found in values.items() if len(found) == 1}
    several = {name: found for name, found in values.items() if len(found) > 1}
    counts = {len(found) for found in several.values()}
    if len(counts) > 1:
        told = ", ".join(f"{name} has {len(found)}" for name, found in several.items())
        raise RigError([Fault(f"fields that change together need as many values each: {told}", file="--set")])
    count = counts.pop() if counts else 1
    found = [
        Variant(path, {**once, **{name: texts[k] for name, texts in several.items()}}, how)
        for path in paths
        for k in range(count)
        for how in ((False, True) if bend else (None,))
    ]
    if not 2 <= len(found) <= MOST:
        message = f"{len(found)} run{'s' if len(found) > 1 else ''} can't be compared"
        raise RigError(
            [
                Fault(
                    message,
                    file="--set",
                    allowed="two to four: set one field several times, name more rigs, or --bend for both ways",
                )
            ]
        )
    return found


def compare_rigs(
    paths: Sequence[Path],
    pairs: Sequence[tuple[str, str]],
    engine: str | None,
    out: Path | None,
    *,
    bend: bool = False,
    settle: bool = True,
    exaggerate: float = 1.0,
) -> int:
    """Simulate each run (in parallel), write one clip, one table and overlaid plots.

    Args:
        bend: each of them rigid and bending.
        settle: halve the steps of each until its peaks stand still.
        exaggerate: how many times bending is drawn.
    """
    from simprop.picture.clip.compare import write_comparison
    from simprop.report.comparison import called, comparison, labels, titles

    asked = [replace(_settled(one), settle=settle) for one in variants(paths, pairs, bend)]
    rigs = [read_rig(one.path, one.sets) for one in asked]  # all faults before any work
    if not any(_asks(rig) for rig in rigs):
        bends([], exaggerate, paths)
    folder = folder_for(paths[0], out) / "compare" if out is None else out
    known = called([rig.name for rig in rigs], [v.path.stem for v in asked])
    with stages() as report, written_beside(folder) as work:
        runs = _all(asked, engine, report)
        bends([run.assembly for run in runs], exaggerate, paths)
        names = labels(_told(asked, runs), known)
        found = comparison(names, runs)
        write_report(found, work / "compare")
        write_comparison(
            names,
            [run.loads for run in runs],
            work,
            titles=titles(names, known),
            exaggerate=exaggerate,
            progress=lambda done, total: report("drawing the clip", done, total),
        )
    show(found, console)
    console.print(Text(f"Written to {folder}/: compare.mp4, .gif, .png, .md, .json, compare_plots.png"))
    return 0


def _settled(one: Variant) -> Variant:
    """A run with what it takes to make it bend, or rigid, set too."""
    if one.bend is None:
        return one
    rig = read_rig(one.path, one.sets)
    if not one.bend:
        own = [f"bodies.{name}" for name, body in rig.bodies.items() if body.bends]
        own += [
            f"bodies.{name}.parts.{k}"
            for name, body in rig.bodies.items()
            for k, part in enumerate(body.parts)
            if part.bends
        ]
        return replace(one, sets={**one.sets, "run.bend": "false", **{f"{at}.bends": "false" for at in own}})
    return one if _asks(rig) else replace(one, sets={**one.sets, "run.bend": "true"})


def _asks(rig: Rig) -> bool:
    """Whether a rig says that something bends."""
    return rig.run.bend or any(b.bends or any(p.bends for p in b.parts) for b in rig.bodies.values())


def _told(asked: Sequence[Variant], runs: Sequence[Run]) -> list[dict[str, str]]:
    """What runs are told apart by: the values set; where some bend, that in place of the fields that switch it."""
    how = ["true" if run.assembly.members else "false" for run in runs]
    if len(set(how)) == 1:
        return [one.sets for one in asked]
    kept = [
        {k: v for k, v in one.sets.items() if v not in ("true", "false") or not re.fullmatch(BENDS, k)}
        for one in asked
    ]
    return [{**sets, "run.bend": own} for sets, own in zip(kept, how, strict=True)]


def _all(asked: Sequence[Variant], engine: str | None, report: Report) -> list[Run]:
    """Every run, in as many processes as there are cores."""
    workers = min(len(asked), os.cpu_count() or 1)
    report("simulating", 0, len(asked))
    if workers == 1:
        results = []
        for done, one in enumerate(asked, 1):
            results.append(_one(one, engine, elsewhere.get()))
            report("simulating", done, len(asked))
        return results
    context = multiprocessing.get_context("spawn")
    found: dict[int, Run] = {}
    waiting, running = list(enumerate(asked)), dict[Any, tuple[int, Any]]()
    try:
        while waiting or running:
            while waiting and len(running) < workers:
                k, one = waiting.pop(0)
                mine, theirs = context.Pipe(duplex=False)
                worker = context.Process(
                    target=_work, args=(theirs, one, engine, elsewhere.get()), daemon=True
                )
                with deaf_to_interrupts():
                    worker.start()
                theirs.close()
                running[mine] = (k, worker)
            for ready in wait(list(running)):
                k, worker = running.pop(ready)
                found[k] = _answer(ready, asked[k])
                worker.join()
                report("simulating", len(found), len(asked))
    finally:
        for _, worker in running.values():
            worker.kill()
    return [found[k] for k in range(len(asked))]


def _answer(ready: Any, one: Variant) -> Run:
    """What a worker sends back, or the fault that it met."""
    try:
        answer = ready.recv()
    except EOFError:
        raise EngineError(f"the run of {one.path} ended without a result: out of memory, or killed") from None
    if isinstance(answer, BaseException):
        raise answer
    assert isinstance(answer, Run)
    return answer


def _work(answer: Any, variant: Variant, engine: str | None, files_elsewhere: bool) -> None:
    """In a worker: one run, or the fault that it met, to the parent."""
    end_with_parent()
    try:
        answer.send(_one(variant, engine, files_elsewhere))
    except Exception as error:
        answer.send(error)


def _one(variant: Variant, engine: str | None, files_elsewhere: bool) -> Run:
    elsewhere.set(files_elsewhere)
    run = run_of(variant.path, variant.sets, engine, lambda stage, done, total: None, settle=variant.settle)
    assert run.loads
    assert run.strength  # worked out here, beside the other runs
    return run
