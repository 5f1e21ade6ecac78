"""Variants and what came of them as columns of a table, one row a variant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.quantities import registry, usual
from simprop.study.types import Answer, Outcome, Variant
from simprop.study.vary.ranges import Span


@dataclass(frozen=True)
class Column:
    """One field or one answer of all variants.

    Attributes:
        name: of the field, or the expression asked.
        unit: of the values; "" of plain numbers and of texts.
        values: (n,), NaN where it isn't known; of texts their places in `texts`.
        texts: what the field takes where that isn't one range of numbers, in the order said; () of numbers.
    """

    name: str
    unit: str
    values: Array
    texts: tuple[str, ...] = ()


def field_columns(spans: Sequence[Span], variants: Sequence[Variant]) -> tuple[Column, ...]:
    """What was set in each variant, a column for each field that varies."""
    found = []
    for k, span in enumerate(spans):
        told = [variant.sets[k][1] for variant in variants]
        if span.choices:
            place = {text: float(n) for n, text in enumerate(span.choices)}
            values = np.array([place[text] for text in told], dtype=np.float64)
            found.append(Column(span.field, "", values, span.called or span.choices))
        else:
            numbers = [float(text.split(" ", 1)[0]) for text in told]
            found.append(Column(span.field, span.unit, np.array(numbers, dtype=np.float64)))
    return tuple(found)


def answer_columns(asks: Sequence[str], outcomes: Sequence[Outcome]) -> tuple[Column, ...]:
    """The answers to each question, each in the unit that people use for it."""
    found = []
    for k, ask in enumerate(asks):
        own = [one.answers[k] for one in outcomes]
        known = next((answer for answer in own if answer is not None), None)
        unit = "" if known is None else shown_unit(known)
        found.append(Column(ask, unit, np.array([in_unit(a, unit) for a in own], dtype=np.float64)))
    return tuple(found)


def shown_unit(answer: Answer) -> str:
    """The unit that people use for an answer.

    Example:
        >>> shown_unit(Answer(0.12, "m", 0.12)), shown_unit(Answer(1.5, "", 1.5))
        ('mm', '')
    """
    return usual(registry().Quantity(answer.value, answer.unit)) if answer.unit else ""


def in_unit(answer: Answer | None, unit: str) -> float:
    """An answer in a unit; NaN where it isn't known.

    Example:
        >>> in_unit(Answer(0.12, "m", 0.12), "mm"), in_unit(None, "mm")
        (120.0, nan)
    """
    if answer is None:
        return float("nan")
    zero, one = _line(answer.unit, unit)
    return zero + (one - zero) * answer.value if zero else one * answer.value


@lru_cache(maxsize=256)
def _line(unit: str, other: str) -> tuple[float, float]:
    """What 0 and 1 of a unit are in another one."""
    if unit == other:
        return 0.0, 1.0
    found = [registry().Quantity(v, unit).to(other).magnitude for v in (0.0, 1.0)]
    return float(found[0]), float(found[1])


def limit_in(unit: str, answers: Sequence[Answer | None], si: float) -> float:
    """A limit in the SI in the unit of a column of answers.

    Args:
        answers: of the column; one that is known tells of what dimension it is.
    """
    known = next((a for a in answers if a is not None), None)
    if known is None or not unit:
        return si
    base = registry().Quantity(1.0, known.unit).to_base_units()
    grams: Any = base.dimensionality.get("[mass]", 0)
    found = registry().Quantity(si * 1000.0**grams, base.units)
    return float(found.to(unit).magnitude)
