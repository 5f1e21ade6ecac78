"""Fields that a search changes, as numbers from 0 to 1 and choices, and back as text of a rig file."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log

from simprop.study.types import Variant
from simprop.study.vary.ranges import Span, values, written

DIGITS = 4
"""Significant digits of a value that is to be cut, bought or typed."""
DECADES = 25.0
"""A range whose ends are further apart than this goes by its logarithm."""


def continuous(span: Span) -> bool:
    """Whether a field takes any value of its range."""
    return not values(span) and not span.whole


def at(span: Span, share: float, digits: int | None = DIGITS) -> str:
    """What stands at a share of the way through a continuous span.

    Args:
        span: a range of any numbers.
        share: 0 to 1; by the logarithm where the range goes over several sizes.
        digits: significant ones, the ends of the range apart; None: as many as tell neighbours apart.

    Example:
        >>> at(Span("throw", 30.0, 70.0, "mm"), 0.123456), at(Span("throw", 30.0, 70.0, "mm"), 0.123456, None)
        ('34.94 mm', '34.9382 mm')
    """
    assert span.low is not None
    assert span.high is not None
    share = min(max(share, 0.0), 1.0)
    value = span.low + share * (span.high - span.low)
    if _by_size(span):
        value = exp(log(span.low) + share * log(span.high / span.low))
    if digits is not None:
        value = float(f"{value:.{digits}g}")
    return written(span, min(max(value, span.low), span.high))


def share_of(span: Span, text: str) -> float:
    """Where a text stands in a continuous span, 0 to 1; the other way of `at`.

    Example:
        >>> share_of(Span("throw", 30.0, 70.0, "mm"), "40 mm")
        0.25
    """
    assert span.low is not None
    assert span.high is not None
    value = float(text.removesuffix(span.unit))
    if _by_size(span):
        return log(value / span.low) / log(span.high / span.low)
    return (value - span.low) / (span.high - span.low)


def _by_size(span: Span) -> bool:
    return span.low is not None and span.high is not None and span.low > 0 and span.high / span.low > DECADES


def shares_of(spans: Sequence[Span], variant: Variant) -> list[float]:
    """Where a variant stands in the continuous ones of some spans, in their order."""
    texts = dict(variant.sets)
    return [share_of(span, texts[span.field]) for span in spans if continuous(span)]


def moved(
    spans: Sequence[Span], variant: Variant, shares: Sequence[float], digits: int | None = DIGITS
) -> Variant:
    """A variant with other values in its continuous fields, its choices the same.

    Args:
        spans: of the search.
        variant: any of it.
        shares: for each continuous span, 0 to 1.
        digits: as for `at`.

    Example:
        >>> spans = [Span("motor", choices=("a", "b")), Span("throw", 30.0, 70.0, "mm")]
        >>> moved(spans, Variant((("motor", "b"), ("throw", "40 mm"))), [0.5]).sets
        (('motor', 'b'), ('throw', '50 mm'))
    """
    texts, rest = dict(variant.sets), iter(shares)
    return Variant(
        tuple((s.field, at(s, next(rest), digits) if continuous(s) else texts[s.field]) for s in spans)
    )


def chosen(spans: Sequence[Span], variant: Variant) -> tuple[str, ...]:
    """What stands in the fields that aren't continuous."""
    texts = dict(variant.sets)
    return tuple(texts[span.field] for span in spans if not continuous(span))
