"""What scattered builds of a prop come to: mean and spread of answers, how many builds pass, what moves them most."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import nan, sqrt

import numpy as np

from simprop.geometry.arrays import Array
from simprop.study.types import Answer, Ended, Limit, Outcome, Variant
from simprop.study.vary.limits import Bound
from simprop.study.vary.table import Column, answer_columns, limit_in
from simprop.study.vary.worth import slack

SURE = 0.95
"""Share of cases in which the stated range of passing builds holds the true one."""
CHANCE = 4.0
"""A share under this over the number of builds comes about by chance in one of twenty cases, and isn't told."""
DEAD: tuple[Ended, ...] = ("refused", "open", "jams", "wrong")
"""How a build ended that doesn't work, whatever it was asked."""


Edges = tuple[float | None, float | None]
"""Least and greatest that is wanted; None: no such side."""


@dataclass(frozen=True)
class Mover:
    """How much of an answer's spread comes from one thing that is off.

    Attributes:
        key: of the thing, as in `Variant.scatter`.
        share: of the variance that a straight line in this thing alone explains: the correlation squared.
        shift: what the answer changes by where the thing is off by all that it may, in the answer's unit.
    """

    key: str
    share: float
    shift: float


@dataclass(frozen=True)
class AnswerSpread:
    """One answer of all builds, in `unit`; NaN where none is known.

    Attributes:
        ask: the expression.
        unit: as people use it.
        values: (n,), NaN where it isn't known.
        mean: of those known.
        deviation: standard deviation, of a sample.
        low: under which 5 % of the builds lie.
        high: over which 5 % lie.
        movers: what moves it most, the most first.
        limits: least and greatest that is wanted of it; None: no such side.
    """

    ask: str
    unit: str
    values: Array
    mean: float
    deviation: float
    low: float
    high: float
    movers: tuple[Mover, ...]
    limits: tuple[Edges, ...]

    @property
    def known(self) -> Array:
        """The values that are known, (k,)."""
        return np.asarray(self.values[np.isfinite(self.values)])


@dataclass(frozen=True)
class Passed:
    """How many builds keep a limit.

    Attributes:
        text: the limit as written; "" for all of them.
        passed: builds that keep it.
        of: builds of which it is known; one that doesn't work at all doesn't keep it.
        unknown: builds of which it isn't known.
        least: share of all builds that keep it, at least, by `wilson`; NaN of none.
        most: at most.
    """

    text: str
    passed: int
    of: int
    unknown: int
    least: float
    most: float


@dataclass(frozen=True)
class Spread:
    """Builds of one variant.

    Attributes:
        sets: what was set in it.
        ended: how each build ended.
        answers: to each question.
        keeps: each limit, then all of them where there are several.
    """

    sets: tuple[tuple[str, str], ...]
    ended: tuple[Ended, ...]
    answers: tuple[AnswerSpread, ...]
    keeps: tuple[Passed, ...]


def wilson(passed: int, of: int, sure: float = SURE) -> tuple[float, float]:
    """The range of shares in which the true one lies, by what share of a sample passed.

    Source: E. B. Wilson, Probable inference, the law of succession, and statistical inference (1927), from memory.

    Args:
        passed: how many did.
        of: how many were looked at.
        sure: in what share of cases the range holds the true share.

    Example:
        >>> [round(v, 3) for v in wilson(181, 200)]
        [0.856, 0.938]
    """
    from scipy.stats import binomtest  # slow to import

    if not of:
        return nan, nan
    found = binomtest(passed, of).proportion_ci(sure, "wilson")
    return float(found.low), float(found.high)


def spreads_of(
    asks: Sequence[str], bounds: Sequence[Bound], variants: Sequence[Variant], outcomes: Sequence[Outcome]
) -> tuple[Spread, ...]:
    """What the builds of each variant come to, in the order in which the variants first come.

    Args:
        asks: the questions of the study.
        bounds: what has to hold; each asks one of them.
        variants: builds, those of one variant with the same `sets`.
        outcomes: of each.
    """
    groups: dict[tuple[tuple[str, str], ...], list[int]] = {}
    for k, variant in enumerate(variants):
        groups.setdefault(variant.sets, []).append(k)
    return tuple(
        _spread(sets, asks, bounds, [variants[k] for k in rows], [outcomes[k] for k in rows])
        for sets, rows in groups.items()
    )


def _spread(
    sets: tuple[tuple[str, str], ...],
    asks: Sequence[str],
    bounds: Sequence[Bound],
    variants: Sequence[Variant],
    outcomes: Sequence[Outcome],
) -> Spread:
    keys = [key for key, _ in variants[0].scatter]
    off = np.array([[value for _, value in variant.scatter] for variant in variants])
    answers = []
    for k, column in enumerate(answer_columns(asks, outcomes)):
        own = [one.answers[k] for one in outcomes]
        limits = tuple(_edges(bound, column.unit, own) for bound in bounds if bound.ask == asks[k])
        answers.append(_answer(column, keys, off, limits))
    kept = [[_keeps(bound, asks.index(bound.ask), one) for one in outcomes] for bound in bounds]
    rows = [(bound.text, row) for bound, row in zip(bounds, kept, strict=True)]
    if len(rows) > 1:
        rows.append(("", [_all(each) for each in zip(*kept, strict=True)]))
    return Spread(
        sets, tuple(one.ended for one in outcomes), tuple(answers), tuple(_passed(*row) for row in rows)
    )


def _edges(bound: Bound, unit: str, own: Sequence[Answer | None]) -> Edges:
    least, most = (None if edge is None else limit_in(unit, own, edge) for edge in (bound.least, bound.most))
    return least, most


def _answer(column: Column, keys: Sequence[str], off: Array, limits: tuple[Edges, ...]) -> AnswerSpread:
    there = np.isfinite(column.values)
    known = column.values[there]
    some, more = len(known) > 0, len(known) > 1
    low, high = np.percentile(known, [5.0, 95.0]) if some else (nan, nan)
    return AnswerSpread(
        column.name,
        column.unit,
        column.values,
        float(known.mean()) if some else nan,
        float(known.std(ddof=1)) if more else nan,
        float(low),
        float(high),
        tuple(_movers(keys, off[there], known)) if len(known) > 2 else (),
        limits,
    )


def _movers(keys: Sequence[str], off: Array, values: Array) -> Iterator[Mover]:
    """What moves some values more than by chance, the most first."""
    wide, tall = off.std(axis=0), float(values.std())
    if tall <= 1e-9 * max(float(np.abs(values).max()), 1e-300):
        return
    found = []
    for k in np.flatnonzero(wide > 0.0):
        own = float(np.mean((off[:, k] - off[:, k].mean()) * (values - values.mean()))) / (
            float(wide[k]) * tall
        )
        found.append(Mover(keys[int(k)], own**2, own * tall * sqrt(3.0)))
    least = CHANCE / len(values)
    yield from sorted((m for m in found if m.share > least), key=lambda m: -m.share)


def _keeps(bound: Bound, ask: int, outcome: Outcome) -> bool | None:
    """Whether a build keeps a limit; None where that isn't known."""
    answer = outcome.answers[ask]
    if answer is not None:
        return slack(answer.si, Limit(ask, bound.least, bound.most)) >= 0.0
    return False if outcome.ended in DEAD else None


def _all(each: Sequence[bool | None]) -> bool | None:
    if False in each:
        return False
    return None if None in each else True


def _passed(text: str, kept: Sequence[bool | None]) -> Passed:
    passed, unknown = kept.count(True), kept.count(None)
    of = len(kept) - unknown
    return Passed(text, passed, of, unknown, *wilson(passed, of))
