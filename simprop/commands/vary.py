"""``simprop vary``: one prop in many variants, what each answers, and which keep what has to hold."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
from rich.text import Text

from simprop.commands.rig import read_rig
from simprop.commands.source import folder_for
from simprop.commands.terminal import STOPPED, calm, console, stages
from simprop.errors import Fault, RigError, SimpropError, together
from simprop.report.files import write_report
from simprop.report.structure import Picture
from simprop.report.variants_file import MISSING, write_csv, write_parquet
from simprop.report.vary import Varied, short_names, vary_report
from simprop.report.writers import show
from simprop.rig.model import Rig
from simprop.run.assembled import assembled
from simprop.run.once import Report
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.study.ask import motion
from simprop.study.trial.tried import rig_in, study_from
from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.vary.limits import Bound, asks_of, bounds_of, limits_of
from simprop.study.vary.ranges import Span, all_spans, grid, sampled, size
from simprop.study.vary.table import answer_columns, field_columns, limit_in
from simprop.study.vary.worth import missed, spread_out, worth
from simprop.study.work.run import Runs, Tally, runs
from simprop.study.work.shelf import Shelf
from simprop.study.work.store import store_beside
from simprop.written import written_beside

ROUNDS = 3
"""How often those that are best by what is known are settled."""


@dataclass(frozen=True)
class Wish:
    """What `simprop vary` was asked for.

    Attributes:
        over: what varies, as `--over` says it.
        ask: expressions of measures; () for a few that suit most props.
        keep: what has to hold.
        sample: how many variants, spread through the ranges; None: all of the grid.
        seed: of the sample.
        settle: which are run until their peaks stand still.
        clips: how many stand side by side in a clip.
        processes: that run at once; None: one for each core.
        cluster: address of a scheduler whose workers run them instead.
        store: file that keeps what came of them; None: the one beside the rig.
    """

    over: Sequence[str]
    ask: Sequence[str] = ()
    keep: Sequence[str] = ()
    sample: int | None = None
    seed: int = 1
    settle: Literal["none", "few", "all"] = "few"
    clips: int = 0
    processes: int | None = None
    cluster: str | None = None
    store: Path | None = None


def vary_rig(path: Path, wish: Wish, sets: dict[str, str], engine: str | None, out: Path | None) -> int:
    """Run the variants, print a table of them and write it with plots; see `Wish`.

    Args:
        path: the rig file.
        wish: what varies, what is asked, what has to hold.
        sets: values put over the rig's in every variant.
        engine: name of the engine; None: the usual one.
        out: folder; None: renders/RIG/vary.

    Returns:
        130 where it was stopped, else 0.

    Raises:
        RigError: for a rig, a range, a question or a limit that can't be; nothing has been run by then.
    """
    rig = read_rig(path, sets)
    if not wish.over:
        raise RigError(
            [Fault("nothing varies", "--over", allowed='throw=30..70mm:9, or supply="5 V","12 V"')]
        )
    spans = all_spans(wish.over, rig)
    variants, how, planned = chosen(spans, wish)
    folder = folder_for(path, out) / "vary" if out is None else out
    store = store_beside(path) if wish.store is None else wish.store
    with calm() as quiet, stages() as report:
        study, bounds = study_of(rig, wish, engine)
        varied = Varied(rig.name, spans, study, bounds, how, planned, (), (), {})
        begun = time.monotonic()
        with runs(wish.processes, wish.cluster, store) as run:
            varied, stopped = _all(varied, variants, wish.settle, run, report, quiet)
        took = time.monotonic() - begun
        if not varied.outcomes:
            return STOPPED
        with written_beside(folder) as work:
            files = _written(varied, work, 0 if stopped else wish.clips, report)
    show(vary_report(varied), console)
    console.print(Text(work_words(run.tally, took)))
    if "variants.parquet" not in files:
        console.print(Text(MISSING))
    console.print(Text(f"Written to {folder}/: {', '.join(files)}; kept in {store}"))
    return STOPPED if stopped else 0


def work_words(tally: Tally, took: float) -> str:
    """Where outcomes came from, and at what pace; settled ones count a second time.

    Args:
        tally: of the runs.
        took: all of it, s.
    """
    told = f"{tally.stored:,} from the store, {tally.run:,} run"
    return f"{told}: {60 * tally.run / took:,.0f} a minute" if tally.run and took > 0 else told


def chosen(spans: Sequence[Span], wish: Wish) -> tuple[Iterator[Variant], str, int]:
    """The variants, how they were chosen, and how many they are.

    Raises:
        RigError: for too many, or a range that says neither how many values nor is sampled.
    """
    if wish.sample is None:
        return grid(spans), "every combination", size(spans)
    how = f"a Latin hypercube, seed {wish.seed}"
    return sampled(spans, wish.sample, wish.seed), how, wish.sample


def study_of(rig: Rig, wish: Wish, engine: str | None) -> tuple[Study, tuple[Bound, ...]]:
    """The study that is wished for, its questions looked at by a run of the rig as it is, where that runs."""
    run: Run | None = None
    with suppress(SimpropError):  # its variants may run all the same; each tells what can't be asked
        run = simulate(assembled(rig), engine, settle=False)
    readers: list[Callable[[], Any]] = [
        lambda: asks_of(wish.ask or [a for a in usual_asks(rig, run) if not _kept(a, wish)], run),
        lambda: bounds_of(wish.keep, run),
    ]
    asks, bounds = together(readers)
    every, limits = limits_of(bounds, asks)
    return replace(study_from(rig, engine), asks=every, limits=limits), bounds


def _kept(ask: str, wish: Wish) -> bool:
    """Whether a limit asks for the same measure."""
    name = ask.partition("(")[0]
    return any(re.match(rf"\s*{name}\b", text) for text in wish.keep)


def usual_asks(rig: Rig, run: Run | None) -> list[str]:
    """What is asked where nothing is said: how far the first watched point moves, the largest force in a joint, and how
    far its drives are from stalling. Margins of strength take four times as long and are asked for by name.

    Args:
        rig: of which.
        run: of it, which tells along which axis that point moves most; None: it is taken to move up and down.
    """
    found = []
    for point in list(rig.watch)[:1]:
        moved = np.array([0.0, 0.0, 1.0]) if run is None else np.ptp(motion.path(run, point), axis=0)
        found.append(f"travel({point}, {'xyz'[int(np.argmax(moved))]})")
    return [*found, "peak", *(["stall_margin"] if rig.motors or rig.pushers else [])]


def _all(
    varied: Varied,
    variants: Iterator[Variant],
    settle: str,
    run: Runs,
    report: Report,
    quiet: Callable[[], None],
) -> tuple[Varied, bool]:
    """All variants as drafts, then those that matter until their peaks stand still; whether it was stopped.

    Args:
        quiet: makes a further Ctrl-C count no more.
    """
    level: Level = "settled" if settle == "all" else "draft"
    outcomes, kept = Shelf[Outcome](), Shelf[Variant]()
    drafts: dict[int, Outcome] = {}
    stopped = False
    try:
        report("running variants", 0, varied.planned)
        for _, variant, outcome in run.outcomes(varied.study, variants, level):
            kept.append(variant)
            outcomes.append(outcome)
            report("running variants", len(outcomes), varied.planned)
        for _ in range(ROUNDS if settle == "few" else 0):  # one that was best as a draft may be no more
            places = [k for k in worth(outcomes, varied.limits) if k not in drafts]
            closer = run(varied.study, [kept[k] for k in places], "settled")
            for k, outcome in zip(places, closer, strict=True):
                drafts[k], outcomes[k] = outcomes[k], outcome
                report("settling a few", len(drafts), len(drafts) + len(places))
    except KeyboardInterrupt:
        quiet()
        stopped = True
    return replace(
        varied, variants=kept[: len(outcomes)] if stopped else kept, outcomes=outcomes, drafts=drafts
    ), stopped


def _written(varied: Varied, work: Path, clips: int, report: Report) -> list[str]:
    """Every file of the study into a folder; their names."""
    write_csv(varied, work / "variants.csv")
    with suppress(SimpropError):  # the package that writes it is an extra
        write_parquet(varied, work / "variants.parquet")
    pictures = [Picture("vary.png", "Answers over what varies", size="wide")]
    drawn(varied, work / "vary.png")
    if clips:
        side_by_side(varied, clips, work, report)
    write_report(vary_report(varied, pictures), work / "vary")
    return sorted(file.name for file in work.iterdir() if not file.name.startswith("."))


def drawn(varied: Varied, path: Path) -> Path:
    """The plot of a study: answers over what varies."""
    from simprop.picture.chart.variants import Axis, Marks, variants_plot

    names = short_names(varied.spans)
    columns = field_columns(varied.spans, varied.variants)
    changing = [c for c in columns if len(np.unique(c.values)) > 1] or columns[:1]
    fields = [Axis(f"{names[c.name]}{', ' * bool(c.unit)}{c.unit}", c.values, c.texts) for c in changing]
    answers = []
    for k, column in enumerate(answer_columns(varied.study.asks, varied.outcomes)):
        own = [one.answers[k] for one in varied.outcomes]
        edges = [edge for b in varied.limits if b.ask == k for edge in (b.least, b.most) if edge is not None]
        levels = tuple(limit_in(column.unit, own, edge) for edge in edges)
        answers.append(
            Axis(f"{column.name}{', ' * bool(column.unit)}{column.unit}", column.values, (), levels)
        )
    failed = np.array([one.ended != "done" for one in varied.outcomes])
    lost = np.array([bool(missed(one, varied.limits)) for one in varied.outcomes])
    gridded = varied.how == "every combination"
    title = f"{varied.name}: {len(varied.outcomes):,} variants"
    return variants_plot(fields, answers, Marks(failed, lost), path, gridded=gridded, title=title)


def side_by_side(varied: Varied, count: int, work: Path, report: Report) -> None:
    """A clip of the best, the worst, and others between, each with what was set."""
    from simprop.picture.clip.compare import Pane, render_comparison
    from simprop.report.comparison import labels

    places = spread_out(varied.outcomes, varied.limits, count)
    runs = []
    for done, k in enumerate(places, 1):
        runs.append(
            simulate(assembled(rig_in(varied.study, varied.variants[k])), varied.study.engine, settle=False)
        )
        report("running for the clip", done, len(places))
    said = labels([dict(varied.variants[k].sets) for k in places], [varied.name] * len(places))
    panes = [Pane(text, run.assembly, run.track) for text, run in zip(said, runs, strict=True)]
    if panes:
        render_comparison(
            panes,
            work,
            name="vary_clip",
            progress=lambda done, total: report("drawing the clip", done, total),
        )
