"""From a rig and what is wanted of it, as text, to the variants that do it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from simprop.errors import Fault, RigError, SimpropError, together
from simprop.rig.model import Rig
from simprop.run.assembled import assembled
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.study.find.hunt import Report, Runner, hunted
from simprop.study.find.wanted import Found, Wanted, wanted_of
from simprop.study.trial.tried import rig_in, study_from, tried
from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.vary.limits import asks_of, bounds_of, limits_of
from simprop.study.vary.ranges import Span, all_spans

GLIMPSE = "20 ms"
"""How long a prop is run to learn what can be asked of it."""


def asked(
    rig: Rig,
    by: Sequence[str],
    want: Sequence[str] = (),
    keep: Sequence[str] = (),
    least: Sequence[str] = (),
    most: Sequence[str] = (),
    *,
    engine: str | None = None,
) -> tuple[Study, tuple[Span, ...], Wanted]:
    """What is searched, through what, and what for; all of it looked at before anything is tried.

    Args:
        rig: as read.
        by, want, keep, least, most, engine: as for `found`.

    Raises:
        RigError: with a fault for each thing that can't be read, or isn't there to be asked.
    """
    if not by:
        raise RigError([Fault("nothing may change", file="--by", allowed="--by throw=30..70mm")])
    if not (want or keep or least or most):
        allowed = (
            '--want "travel(neck, z) = 120 mm", --keep "strength > 1", --least "peak(wrist)", --most ...'
        )
        raise RigError([Fault("nothing is wanted", file="--want", allowed=allowed)])
    study = study_from(rig, engine)
    run = _glimpse(study)
    readers: list[Callable[[], Any]] = [
        lambda: all_spans(by, rig, "--by"),
        lambda: bounds_of(want, run, "--want"),
        lambda: bounds_of(keep, run, "--keep"),
        lambda: asks_of(least, run, "--least"),
        lambda: asks_of(most, run, "--most"),
    ]
    spans, wants, keeps, less, more = together(readers)
    asks, limits = limits_of((*wants, *keeps), (*less, *more))
    study = replace(study, asks=asks, limits=limits)
    return study, spans, wanted_of(study, wants, keeps, less, more)


def _glimpse(study: Study) -> Run | None:
    """The first instants of a prop, which tell what can be asked of it; None where it doesn't come to them."""
    try:
        short = rig_in(replace(study, sets={**study.sets, "run.for": GLIMPSE}), Variant())
        return simulate(assembled(short), study.engine, settle=False)
    except SimpropError:
        return None


def found(
    rig: Rig,
    by: Sequence[str],
    want: Sequence[str] = (),
    keep: Sequence[str] = (),
    least: Sequence[str] = (),
    most: Sequence[str] = (),
    *,
    tries: int | None = None,
    seed: int = 1,
    engine: str | None = None,
    search: Level | None = None,
    last: Level = "settled",
    run: Runner | None = None,
    report: Report | None = None,
) -> Found:
    """The variants of a rig that do what is wanted.

    Args:
        rig: as read.
        by: what may change: ranges and choices, as `simprop.study.vary.ranges.spans` reads them.
        want: what answers shall be, as `simprop.study.vary.limits.bounds_of` reads it.
        keep: likewise, what has to hold in any case.
        least: expressions that shall be as little as can be.
        most: expressions that shall be as much as can be.
        tries: in the search through the whole; None: by the number of fields.
        seed: the same one searches the same way.
        engine: name of the engine; None: the usual one.
        search: how deep variants are looked into while it searches; None: as deep as what is wanted takes.
        last: how deep the best are looked into.
        run: tries variants; None: one after the other, here.
        report: told how far it is.

    Raises:
        RigError: for a range, a want or a goal that can't be read or asks what isn't there.

    Example:
        >>> import simprop
        >>> rig = simprop.parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... params: {long: 200 mm}
        ... points: {end: [long, 0 mm, 0 mm]}
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: end}]}}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 0.6 s}
        ... ''')
        >>> result = found(rig, ["long=100..400mm"], ["most(end, x) = 321 mm"], last="draft")
        >>> result.met, dict(result.best[0].variant.sets)["long"]
        (True, '321 mm')
    """
    study, spans, wanted = asked(rig, by, want, keep, least, most, engine=engine)
    return hunted(
        study, spans, wanted, run or here, tries=tries, seed=seed, search=search, last=last, report=report
    )


def here(study: Study, variants: Sequence[Variant], level: Level) -> Iterator[Outcome]:
    """Variants tried one after the other in this process."""
    return (tried(study, variant, level) for variant in variants)
