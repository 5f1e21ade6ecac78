"""``simprop vary --scatter``: builds of a prop that are off within what a home shop does, and how many of them pass."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from rich.text import Text

from simprop.commands.rig import read_rig
from simprop.commands.source import folder_for
from simprop.commands.terminal import STOPPED, console, stages
from simprop.commands.vary import Wish, chosen, study_of, work_words
from simprop.errors import RigError, SimpropError
from simprop.report.files import write_report
from simprop.report.scatter import scatter_sections, variant_label
from simprop.report.structure import Picture, Report, Section
from simprop.report.variants_file import write_csv, write_parquet
from simprop.report.vary import Varied
from simprop.report.writers import show
from simprop.run.once import Report as Progress
from simprop.study.trial.tried import rig_in
from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.vary.ranges import all_spans
from simprop.study.vary.scatter import draws
from simprop.study.vary.spread import Spread, spreads_of
from simprop.study.vary.within import USUAL, withins_of
from simprop.study.work.run import Runs, runs
from simprop.study.work.shelf import Shelf
from simprop.study.work.store import store_beside
from simprop.written import written_beside

MOST = 24
"""Variants that are drawn with their builds."""


def scatter_rig(
    path: Path,
    wish: Wish,
    builds: int,
    within: Sequence[str],
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
) -> int:
    """Run builds of each variant, print their spread and how many pass, and write them with a plot.

    Args:
        path: the rig file.
        wish: what varies besides (nothing: the rig as it is), what is asked, what has to hold.
        builds: how many of each variant.
        within: how far things may be off; (): `USUAL`.
        sets: values put over the rig's in every build.
        engine: name of the engine; None: the usual one.
        out: folder; None: renders/RIG/scatter.

    Returns:
        130 where it was stopped, else 0.

    Raises:
        RigError: for a rig, a range, a place, a question or a limit that can't be; nothing has been run by then.
    """
    rig, texts = read_rig(path, sets), tuple(within) or USUAL
    spans = all_spans(wish.over, rig)
    withins_of(rig, texts)
    variants, _, planned = chosen(spans, wish) if spans else (iter([Variant()]), "", 1)
    folder = folder_for(path, out) / "scatter" if out is None else out
    how = f"a Latin hypercube, seed {wish.seed}"
    store = store_beside(path) if wish.store is None else wish.store
    with stages() as report:
        study, bounds = study_of(rig, wish, engine)
        study = replace(study, limits=())  # a build that misses one counts too, and is run to its end
        planned, begun = planned * builds, time.monotonic()
        report("running builds", 0, planned)
        with runs(wish.processes, wish.cluster, store) as run:
            every = _builds(study, variants, texts, builds, wish)
            own, outcomes, stopped = _tried(run, study, every, wish, planned, report)
        took = time.monotonic() - begun
        if not outcomes:
            return STOPPED
        varied = Varied(rig.name, spans, study, bounds, how, planned, own, outcomes, {})
        spreads = spreads_of(study.asks, bounds, own, outcomes)
        sections = scatter_sections(spreads, texts, how, settled=wish.settle == "all")
        with written_beside(folder) as work:
            files = _written(varied, spreads, sections, work)
    show(Report(f"{rig.name}: as built", sections), console)
    console.print(Text(work_words(run.tally, took)))
    console.print(Text(f"Written to {folder}/: {', '.join(files)}; kept in {store}"))
    return STOPPED if stopped else 0


def _builds(
    study: Study, variants: Iterable[Variant], texts: Sequence[str], builds: int, wish: Wish
) -> Iterator[Variant]:
    """The builds of each variant; of one that can't be read the same one, which then tells why."""
    for variant in variants:
        try:
            own = rig_in(study, variant)
            yield from draws(own, withins_of(own, texts), builds, wish.seed, variant.sets)
        except RigError:
            yield from [variant] * builds


def _tried(
    run: Runs, study: Study, builds: Iterable[Variant], wish: Wish, planned: int, report: Progress
) -> tuple[Sequence[Variant], Sequence[Outcome], bool]:
    """What comes of each build, as drafts where not all are settled; whether it was stopped."""
    level: Level = "settled" if wish.settle == "all" else "draft"
    own, outcomes = Shelf[Variant](), Shelf[Outcome]()
    try:
        for number, variant, outcome in run.outcomes(study, builds, level):
            own.append(variant)
            outcomes.append(outcome)
            report("running builds", number + 1, planned)
    except KeyboardInterrupt:
        return own[: len(outcomes)], outcomes, True
    return own, outcomes, False


def _written(varied: Varied, spreads: Sequence[Spread], sections: Sequence[Section], work: Path) -> list[str]:
    """Every file of the builds into a folder; their names."""
    write_csv(varied, work / "builds.csv")
    with suppress(SimpropError):  # the package that writes it is an extra
        write_parquet(varied, work / "builds.parquet")
    drawn(varied.name, spreads, work / "scatter.png")
    picture = Section(
        "pictures", "", [Picture("scatter.png", "How far the builds lie apart", size="wide")], (), {}
    )
    write_report(Report(f"{varied.name}: as built", (*sections, picture)), work / "scatter")
    return sorted(file.name for file in work.iterdir() if not file.name.startswith("."))


def drawn(name: str, spreads: Sequence[Spread], path: Path) -> Path:
    """The plot of all answers.

    Args:
        name: of the rig.
        spreads: of its variants.
        path: of the file.
    """
    from simprop.picture.chart.builds import Answered, builds_plot

    shown = spreads[:MOST]
    answers = []
    for row in zip(*(one.answers for one in shown), strict=True):
        unit = next((a.unit for a in row if a.unit), "")
        label = f"{row[0].ask}, {unit}" if unit else row[0].ask
        ends = [(a.low, a.high) for a in row]
        limits = next((a.limits for a in row if a.limits), ())
        answers.append(Answered(label, [a.values for a in row], [a.mean for a in row], ends, limits))
    count = len(spreads[0].ended)
    title = f"{name}: {count:,} builds" + (" of each" if len(spreads) > 1 else "")
    return builds_plot(answers, [variant_label(one) for one in shown], path, title=title)
