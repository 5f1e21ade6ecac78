"""``simprop find``: the variants of a rig that do what is wanted, and the best of them as a rig file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from rich.text import Text

from simprop.commands.rig import read_rig
from simprop.commands.source import folder_for
from simprop.commands.terminal import STOPPED, calm, console, stages
from simprop.errors import Fault, RigError, SimpropError
from simprop.report.files import write_report
from simprop.report.found import found_report, said
from simprop.report.structure import Picture
from simprop.report.writers import show
from simprop.rig.model import Rig
from simprop.run.assembled import assembled
from simprop.run.cautions import cautions
from simprop.run.once import Report
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.study.find.found import asked
from simprop.study.find.hunt import hunted
from simprop.study.find.wanted import Candidate, Found, answer
from simprop.study.find.written import written_variant
from simprop.study.trial.tried import rig_in, tried
from simprop.study.types import Level, Variant
from simprop.study.vary.table import in_unit, shown_unit
from simprop.study.work.run import runs
from simprop.study.work.store import store_beside
from simprop.written import written_beside

NOT_MET = 1
"""Exit code where no variant does what is wanted."""


@dataclass(frozen=True)
class Wish:
    """What `simprop find` was asked for.

    Attributes:
        by: what may change, as `--by` says it.
        want: what answers shall be.
        keep: what has to hold in any case.
        least: expressions that shall be as little as can be.
        most: as much as can be.
        tries: variants of the search; None: by the number of fields.
        seed: of the search.
        settle: which are run until their peaks stand still: none, the best few, or all.
        clips: how many of the best stand side by side in a clip.
        processes: that run at once; None: as many as there are cores.
        cluster: address of a scheduler in whose processes they run; None: here.
        store: file that outcomes are kept in; None: the one beside the rig.
        write: file for the best variant as a rig; None: RIG.found.yaml among the other files.
    """

    by: Sequence[str]
    want: Sequence[str] = ()
    keep: Sequence[str] = ()
    least: Sequence[str] = ()
    most: Sequence[str] = ()
    tries: int | None = None
    seed: int = 1
    settle: Literal["none", "few", "all"] = "few"
    clips: int = 0
    processes: int | None = None
    cluster: str | None = None
    store: Path | None = None
    write: Path | None = None


def find_in_rig(path: Path, wish: Wish, sets: dict[str, str], engine: str | None, out: Path | None) -> int:
    """Search a rig, print the best few and write the best one; see `Wish`.

    Args:
        path: the rig file.
        wish: what may change and what is wanted.
        sets: values put over the rig's in every variant.
        engine: name of the engine; None: the usual one.
        out: folder; None: renders/RIG/find.

    Returns:
        0 where a variant does all that is wanted, 1 where none does, 130 where it was stopped.

    Raises:
        RigError: for a rig, a range, a want or a goal that can't be; nothing has been tried by then.
    """
    rig = read_rig(path, sets)
    folder = folder_for(path, out) / "find" if out is None else out
    target = folder / f"{path.stem}.found.yaml" if wish.write is None else wish.write
    if target.resolve() == path.resolve():
        raise RigError(
            [Fault("is the rig itself, which is left as it is", file="--write", value=str(target))]
        )
    with calm() as quiet, stages() as report:
        found = _searched(rig, wish, engine, path, report)
        if found.stopped:
            quiet()
        with written_beside(folder) as work:
            files = _written(found, rig, work, 0 if found.stopped else wish.clips, report)
        if found.met and not found.stopped:
            _write_winner(found, path, target)
    show(found_report(found, rig.name), console)
    console.print(Text(f"Written to {folder}/: {', '.join(files)}"))
    if found.stopped:
        return STOPPED
    if not found.met:
        console.print(Text("No rig was written: nothing that was tried does all that is wanted."))
        return NOT_MET
    also = f", with what --set says ({', '.join(found.study.sets)})" if found.study.sets else ""
    console.print(Text(f"Written {target}: the best as a rig{also}; run again, it answers the same."))
    return 0


def _searched(rig: Rig, wish: Wish, engine: str | None, path: Path, report: Report) -> Found:
    report("reading what is wanted", 0, 1)
    study, spans, wanted = asked(rig, wish.by, wish.want, wish.keep, wish.least, wish.most, engine=engine)
    report("reading what is wanted", 1, 1)
    search: Level | None = "settled" if wish.settle == "all" else None
    last: Level = "draft" if wish.settle == "none" else "settled"
    store = store_beside(path) if wish.store is None else wish.store
    with runs(wish.processes, wish.cluster, store) as run:
        return hunted(
            study,
            spans,
            wanted,
            run,
            tries=wish.tries,
            seed=wish.seed,
            search=search,
            last=last,
            report=report,
        )


def _write_winner(found: Found, path: Path, target: Path) -> None:
    """Write the best variant as a rig, with the files that it names beside it, and look that it shows what was told.

    Raises:
        SimpropError: where it doesn't; then nothing was written.
    """
    source = path.read_bytes().decode("utf-8")  # with the line ends that it has
    text = written_variant(found.study, found.best[0].variant, source)
    _look(found, text, target)
    with written_beside(target.parent) as work:
        (work / target.name).write_bytes(text.encode("utf-8"))
        if target.parent.resolve() != path.parent.resolve():
            for file, content in found.study.files.items():
                (work / file).parent.mkdir(parents=True, exist_ok=True)
                (work / file).write_bytes(content)


def _look(found: Found, text: str, target: Path) -> None:
    """Read a rig from its text, run it, and look that it answers as the best variant did."""
    best = found.best[0]
    study = replace(found.study, text=text, file=str(target), sets={}, limits=())
    again = tried(study, Variant(), found.last)
    for k, ask in enumerate(study.asks):
        one, two = answer(best.outcome, k), answer(again, k)
        if one is None or two is None or not np.isclose(one, two, rtol=1e-9, atol=0.0):
            why = again.reason or f"it is {two}, and {one} was told"
            raise SimpropError(
                f"the rig as written answers {ask} otherwise than what was found ({why}): it was not written"
            )


def _written(found: Found, rig: Rig, work: Path, clips: int, report: Report) -> list[str]:
    """The report and its pictures into a folder; their names."""
    pictures = list[Picture]()
    if len(found.wanted.goals) > 1 and found.front:
        _drawn_front(found, work / "front.png")
        pictures.append(Picture("front.png", "The aims against each other", size="wide"))
    if not found.stopped:
        panes = _panes(found, report)
        if panes:
            _drawn(panes, work, clips, report)
            pictures.append(Picture("plots.png", "What moves, bears and drives, over time", size="wide"))
            pictures.append(
                Picture("found.png", "The rig as it is and the best few, each at its furthest", size="wide")
            )
    write_report(found_report(found, rig.name, pictures, cautions(rig)), work / "found")
    return sorted(file.name for file in work.iterdir() if not file.name.startswith("."))


def _panes(found: Found, report: Report) -> list[tuple[str, Run]]:
    """The rig as it is and the best few, run for pictures; what can't be run is left out."""
    shown = [
        ("as it is", found.own),
        *((f"{k}: {said(found, c)}", c) for k, c in enumerate(found.best, 1)),
    ]
    out = []
    for done, (label, one) in enumerate(shown, 1):
        if one.outcome.ended in ("done", "ruled out"):
            run = simulate(assembled(rig_in(found.study, one.variant)), found.study.engine, settle=False)
            out.append((label, run))
        report("running for pictures", done, len(shown))
    return out


def _drawn(panes: Sequence[tuple[str, Run]], work: Path, clips: int, report: Report) -> None:
    """A still of some runs side by side, their plots, and a clip of the first of them and so many more."""
    from simprop.picture.clip.compare import Pane, overlaid, render_comparison
    from simprop.picture.clip.side_by_side import side_by_side

    shown = [Pane(label, run.assembly, run.track) for label, run in panes]
    side_by_side(shown, work / "found.png")
    overlaid(
        [label.partition(":")[0] for label, _ in panes], [run.loads for _, run in panes], work / "plots.png"
    )
    if clips:
        render_comparison(
            shown[: clips + 1],
            work,
            name="found_clip",
            progress=lambda done, total: report("drawing the clip", done, total),
        )


def _drawn_front(found: Found, path: Path) -> None:
    from simprop.picture.chart.front import front_plot

    goals = found.wanted.goals
    ran = [one for one in found.tried if one.outcome.ended == "done"]
    units = [_unit(ran, goal.ask) for goal in goals]
    labels = [
        f"{goal.text}, {unit}{' (least)' if goal.sign > 0 else ' (most)'}".replace(", (", " (")
        for goal, unit in zip(goals, units, strict=True)
    ]

    def point(one: Candidate) -> list[float]:
        return [in_unit(one.outcome.answers[g.ask], u) for g, u in zip(goals, units, strict=True)]

    marked = {str(k): point(one) for k, one in enumerate(found.best, 1)}
    marked["as it is"] = point(found.own)
    front = [k for k, one in enumerate(ran) if any(one is other for other in found.front)]
    front_plot(
        labels,
        np.array([point(one) for one in ran]),
        np.array([one.holds for one in ran]),
        front,
        marked,
        path,
        f"{len(front)} of {len(found.tried)} can't be beaten",
    )


def _unit(ran: Sequence[Candidate], ask: int) -> str:
    known = next((a for one in ran if (a := one.outcome.answers[ask]) is not None), None)
    return "" if known is None else shown_unit(known)
