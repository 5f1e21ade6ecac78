"""What is wanted of a prop, and how far a variant is from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.vary.limits import Bound
from simprop.study.vary.ranges import Span

SHARE = 0.01
"""What a miss of a limit is counted in: so much of the limit."""
UNKNOWN = 1e3
"""What an answer that isn't known counts: more than any that is missed by ten times itself."""
FAILED = 1e6
"""What a variant counts that didn't come to be asked."""
CLOSE = 0.1
"""A want is met closely within so much of its tolerance."""


@dataclass(frozen=True)
class Goal:
    """What shall be as little, or as much, as can be had.

    Attributes:
        ask: which question of the study, counted from 0.
        sign: 1: as little; -1: as much.
        text: as written.
    """

    ask: int
    sign: float
    text: str


@dataclass(frozen=True)
class Wanted:
    """What a search is for.

    Attributes:
        bounds: wants first, then what has to be kept.
        asks: which question of the study each of them asks.
        wants: how many of them are wants.
        goals: in the order of their weight for the eye alone: none outweighs another.
        scales: what a miss of each bound is counted in, SI.
    """

    bounds: tuple[Bound, ...]
    asks: tuple[int, ...]
    wants: int
    goals: tuple[Goal, ...]
    scales: tuple[float, ...]


@dataclass(frozen=True)
class Candidate:
    """A variant that was tried, judged.

    Attributes:
        variant: fields and the texts in them.
        outcome: what came of it.
        misses: of each bound, in its scale; 0 where it holds.
        close: every want is met far within its tolerance.
    """

    variant: Variant
    outcome: Outcome
    misses: tuple[float, ...]
    close: bool = False

    @property
    def missed(self) -> float:
        """By how much all bounds are missed together."""
        return sum(self.misses) if self.outcome.ended in ("done", "ruled out") else FAILED

    @property
    def holds(self) -> bool:
        """All that is wanted is met, and all that has to be kept is."""
        return self.outcome.ended == "done" and self.missed == 0.0


@dataclass(frozen=True)
class Found:
    """What a search found.

    Attributes:
        study: that was searched, with every question.
        spans: what changed.
        wanted: what for.
        seed: of it.
        own: the rig as it is, judged.
        best: variants from the best on, a few; where none holds, the nearest.
        front: with several goals those that no other beats, in the order of the first goal; with one or none ().
        tried: every variant that was tried, in its order, with the rig's own first.
            stopped: it was stopped before its end.
    """

    study: Study
    spans: tuple[Span, ...]
    wanted: Wanted
    seed: int
    own: Candidate
    best: tuple[Candidate, ...]
    front: tuple[Candidate, ...]
    tried: tuple[Candidate, ...]
    last: Level
    stopped: bool = False

    @property
    def met(self) -> bool:
        """Some variant does all that is wanted."""
        return any(one.holds for one in self.best)


def scale(bound: Bound) -> float:
    """What a miss of a bound is counted in, SI: its tolerance, or a hundredth of its limit.

    Args:
        bound: any.

    Example:
        >>> scale(Bound("", "travel(neck, z)", 0.1188, 0.1212, 0.12)), scale(Bound("", "strength", 2.0))
        (0.0012, 0.02)
    """
    if bound.value is not None and bound.most is not None:
        return round(bound.most - bound.value, 15)
    if bound.least is not None and bound.most is not None:
        return SHARE * (bound.most - bound.least)
    limit = abs(bound.least if bound.least is not None else bound.most or 0.0)
    return SHARE * limit or SHARE


def off(bound: Bound, value: float, unit: float) -> float:
    """How far an answer is from a bound, in a unit: from the value where one is wanted, else from its nearer limit.

    Returns:
        Below 0 by how much less or too little, above 0 by how much more or too much; 0 where it lies between limits.

    Example:
        >>> off(Bound("", "strength", 2.0), 1.9, 0.02)
        -5.0
    """
    if bound.value is not None:
        return (value - bound.value) / unit
    if bound.least is not None and value < bound.least:
        return round((value - bound.least) / unit, 9)
    if bound.most is not None and value > bound.most:
        return round((value - bound.most) / unit, 9)
    return 0.0


def answer(outcome: Outcome, ask: int) -> float | None:
    """An answer in the SI; None where it isn't known."""
    found = outcome.answers[ask] if ask < len(outcome.answers) else None
    return None if found is None or not isfinite(found.si) else found.si


def judged(wanted: Wanted, variant: Variant, outcome: Outcome) -> Candidate:
    """A variant against what is wanted.

    Args:
        wanted: what is.
        variant: what was tried.
        outcome: what came of it.
    """
    misses, close = list[float](), True
    for k, (bound, ask, unit) in enumerate(zip(wanted.bounds, wanted.asks, wanted.scales, strict=True)):
        value = answer(outcome, ask)
        if value is None:
            misses.append(UNKNOWN)
            continue
        away = abs(off(bound, value, unit))
        close = close and not (k < wanted.wants and bound.value is not None and away > CLOSE)
        misses.append(max(0.0, away - 1.0) if bound.value is not None else away)
    misses = [miss if miss > 1e-9 else 0.0 for miss in misses]
    return Candidate(variant, outcome, tuple(misses), close and all(m == 0.0 for m in misses))


def aims(wanted: Wanted, candidate: Candidate) -> tuple[float, ...]:
    """Answers to the goals, each the less the better, SI; with no goal the sum of the squares of all that is off.

    An answer that isn't known counts as `FAILED`.
    """
    if not wanted.goals:
        return (squares(wanted, candidate),)
    values = [answer(candidate.outcome, goal.ask) for goal in wanted.goals]
    return tuple(FAILED if v is None else g.sign * v for v, g in zip(values, wanted.goals, strict=True))


def squares(wanted: Wanted, candidate: Candidate) -> float:
    """Sum of the squares of how far each bound is off, in their scales, (1)."""
    if candidate.outcome.ended not in ("done", "ruled out"):
        return FAILED**2
    total = 0.0
    for bound, ask, unit in zip(wanted.bounds, wanted.asks, wanted.scales, strict=True):
        value = answer(candidate.outcome, ask)
        total += (UNKNOWN if value is None else off(bound, value, unit)) ** 2
    return total


def ranked(wanted: Wanted, found: Sequence[Candidate]) -> list[Candidate]:
    """Candidates from the best on: those that hold, wants met closely before others, by the goal; then by their miss.

    With several goals by how far they are above the best of each, taken together, in shares of its range.
    """
    holding = [c for c in found if c.holds]
    aimed = [aims(wanted, c) for c in holding]
    spans = [(min(v), max(v) - min(v) or 1.0) for v in zip(*aimed, strict=True)]
    weights = {
        id(c): sum((v - low) / wide for v, (low, wide) in zip(own, spans, strict=True))
        for c, own in zip(holding, aimed, strict=True)
    }

    def key(one: Candidate) -> tuple[float, ...]:
        if one.holds:
            return (0.0, float(not one.close and bool(wanted.goals)), weights[id(one)])
        return (1.0, one.missed, squares(wanted, one))

    return sorted(found, key=key)


def wanted_of(
    study: Study, wants: Sequence[Bound], keeps: Sequence[Bound], least: Sequence[str], most: Sequence[str]
) -> Wanted:
    """What is wanted, by the questions of a study that asks all of it.

    Args:
        study: with every expression among its questions.
        wants: bounds that are wanted.
        keeps: bounds that have to hold.
        least: expressions that shall be as little as can be.
        most: as much as can be.
    """
    bounds = (*wants, *keeps)
    goals = [Goal(study.asks.index(t), 1.0, t) for t in least]
    goals += [Goal(study.asks.index(t), -1.0, t) for t in most]
    asks = tuple(study.asks.index(b.ask) for b in bounds)
    return Wanted(bounds, asks, len(wants), tuple(goals), tuple(scale(b) for b in bounds))
