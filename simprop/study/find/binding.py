"""What keeps a variant from being better: limits that it is close to, and ends of ranges that it stands at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simprop.study.find.space import continuous, share_of
from simprop.study.find.wanted import Candidate, Found, answer
from simprop.study.types import Variant
from simprop.study.vary.limits import Bound
from simprop.study.vary.ranges import Span, values

NEAR = 0.05
"""A limit binds where an answer is within so much of it."""
END = 2e-3
"""A value stands at the end of its range within so much of that."""


@dataclass(frozen=True)
class Bind:
    """A limit that a variant is close to.

    Attributes:
        bound: which.
        ask: question of the study that it asks.
        limit: the side that it is close to, SI.
    """

    bound: Bound
    ask: int
    limit: float


def close_limits(found: Found, one: Candidate) -> tuple[Bind, ...]:
    """What has to be kept and is only just.

    Args:
        found: the search.
        one: a variant of it.
    """
    wanted, out = found.wanted, []
    for bound, ask in zip(wanted.bounds, wanted.asks, strict=True):
        value = answer(one.outcome, ask)
        if bound.value is not None or value is None:
            continue
        for limit in (bound.least, bound.most):
            if limit is not None and abs(value - limit) <= NEAR * abs(limit):
                out.append(Bind(bound, ask, limit))
    return tuple(out)


def at_ends(spans: Sequence[Span], variant: Variant) -> tuple[Span, ...]:
    """Spans at whose end a variant stands, which may be better beyond it.

    Example:
        >>> spans = [Span("throw", 30.0, 70.0, "mm"), Span("motor", choices=("a", "b"))]
        >>> [span.field for span in at_ends(spans, Variant((("throw", "70 mm"), ("motor", "b"))))]
        ['throw']
    """
    texts = dict(variant.sets)
    return tuple(span for span in spans if not span.choices and _at_end(span, texts[span.field]))


def _at_end(span: Span, text: str) -> bool:
    if not continuous(span):
        every = values(span) or (f"{span.low:g}", f"{span.high:g}")
        return text in (every[0], every[-1])
    share = share_of(span, text)
    return share <= END or share >= 1.0 - END
