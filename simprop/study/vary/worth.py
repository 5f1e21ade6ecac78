"""Which variants are worth a closer look: how well each keeps its limits, and who is best or close to one."""

from __future__ import annotations

from collections.abc import Sequence
from heapq import nsmallest
from math import inf

from simprop.study.types import Limit, Outcome

NEAR = 0.1
"""An answer within this share of a limit is close to it: a draft can't say on which side it is."""
FEW = 3
"""How many of the best are looked into."""
MOST = 24
"""How many are looked into at a time."""


def slack(value: float, limit: Limit) -> float:
    """By what share of a limit an answer keeps it; below 0 it misses it.

    Args:
        value: in the SI.
        limit: of one side or two; between two the share is that of half their distance.

    Example:
        >>> slack(1.5, Limit(0, least=1.0)), slack(4.0, Limit(0, most=5.0)), slack(6.0, Limit(0, 1.0, 5.0))
        (0.5, 0.2, -0.5)
    """
    if limit.least is not None and limit.most is not None:
        scale = (limit.most - limit.least) / 2
    else:
        scale = abs(limit.least or limit.most or 0.0)
    scale = scale or 1.0
    over = inf if limit.least is None else (value - limit.least) / scale
    under = inf if limit.most is None else (limit.most - value) / scale
    return min(over, under)


def worst_slack(outcome: Outcome, limits: Sequence[Limit]) -> float | None:
    """The least slack of an outcome; None where the answer to a limit isn't known."""
    least = inf
    for limit in limits:
        answer = outcome.answers[limit.ask]
        if answer is None:
            return None
        least = min(least, slack(answer.si, limit))
    return least


def missed(outcome: Outcome, limits: Sequence[Limit]) -> tuple[int, ...]:
    """Which limits an outcome misses, by their places; of what isn't known none is missed."""
    found = []
    for k, limit in enumerate(limits):
        answer = outcome.answers[limit.ask]
        if answer is not None and slack(answer.si, limit) < 0:
            found.append(k)
    return tuple(found)


def held(outcome: Outcome, limits: Sequence[Limit]) -> bool | None:
    """Whether all limits are kept; None where that isn't known."""
    if missed(outcome, limits):
        return False
    return None if worst_slack(outcome, limits) is None else True


def ranked(outcomes: Sequence[Outcome], limits: Sequence[Limit]) -> list[int]:
    """Variants that ended as done, the best first: by their least slack, those of which it isn't known last.

    Without limits: by their first answer, the highest first.
    """
    places = []
    for k, one in enumerate(outcomes):
        if one.ended != "done" or not one.answers:
            continue
        first = one.answers[0]
        by = worst_slack(one, limits) if limits else None if first is None else first.si
        places.append((-inf if by is None else by, k))
    return [k for _, k in sorted(places, key=lambda p: (-p[0], p[1]))]


def worth(outcomes: Sequence[Outcome], limits: Sequence[Limit]) -> list[int]:
    """Variants that are worth to be run until their peaks stand still, in their order: the best few, and those close to
    a limit, the closest first, up to `MOST`; without limits those with the highest and the lowest first answers."""
    order = ranked(outcomes, limits)
    if not limits:
        return sorted({*order[:FEW], *order[-FEW:]})
    far = ((_distance(one, limits), k) for k, one in enumerate(outcomes) if one.ended == "done")
    close = nsmallest(MOST, ((share, k) for share, k in far if share <= NEAR))
    return sorted(list(dict.fromkeys([*order[:FEW], *(k for _, k in close)]))[:MOST])


def _distance(outcome: Outcome, limits: Sequence[Limit]) -> float:
    """How far the nearest limit is from its answer, as a share of the limit."""
    least = inf
    for limit in limits:
        answer = outcome.answers[limit.ask]
        for edge in (limit.least, limit.most):
            if answer is not None and edge is not None:
                least = min(least, abs(answer.si - edge) / (abs(edge) or 1.0))
    return least


def spread_out(outcomes: Sequence[Outcome], limits: Sequence[Limit], count: int) -> list[int]:
    """The best variant, the worst that ended as done, and others evenly between them by rank, the best first.

    Args:
        count: how many at most.
    """
    order = ranked(outcomes, limits)
    if count >= len(order) or count < 2:
        return order[:count]
    return [order[round(k * (len(order) - 1) / (count - 1))] for k in range(count)]
