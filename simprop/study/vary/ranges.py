"""Ranges and choices that a field of a rig goes through, and the variants that they make."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import product
from math import floor, log10, prod
from typing import Any

import pint

from simprop.errors import Fault, RigError
from simprop.quantities import QuantityError, not_a_unit, shown, whole_literal
from simprop.reading.expressions import evaluate
from simprop.reading.text import as_path
from simprop.rig.load import data_of, rig_of
from simprop.rig.model import Rig
from simprop.study.types import Variant
from simprop.study.vary.choices import ANY, choices_of, standing

MOST = 5_000_000
"""Variants of a study, at most."""
COUNT = 100_000
"""Values of a range, at most."""
HOW = "NAME=30..70mm:9 (nine values), NAME=30..70mm (to be sampled), or NAME=A,B,C"
PAIRS = {"(": ")", "[": "]", "{": "}"}


@dataclass(frozen=True)
class Span:
    """What a field goes through: a range of numbers, or choices.

    Attributes:
        field: as `--set` has it.
        low: end of the range in `unit`; None of choices.
        high: its other end, greater.
        unit: as people write it; "" of plain numbers.
        count: evenly spaced values, the ends among them; None: any in between.
        whole: only whole numbers.
        choices: texts as they would stand in the file; () of a range.
        called: what each choice was called, where it was said in short.
    """

    field: str
    low: float | None = None
    high: float | None = None
    unit: str = ""
    count: int | None = None
    whole: bool = False
    choices: tuple[str, ...] = ()
    called: tuple[str, ...] = ()


def spans(text: str, rig: Rig, option: str = "--over") -> Span:
    """What one option says that a field goes through.

    Args:
        text: ``throw=30..70mm:9``, ``throw=30..70mm``, ``motors.drive.supply=5 V 5 A,12 V 5 A``; commas within brackets
            or quotes don't part choices; ``any`` and fastenings in short as `choices_of` has them.
        rig: whose field it is; each end and each choice is tried in it.
        option: that it was said with, for messages.

    Raises:
        RigError: for a field that isn't there, a range that is empty or lacks its unit, a unit of another dimension, a
            value that can't stand there.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Post
        ... params: {high: 900 mm}
        ... bodies: {post: {fixed: true, parts: [{rod: 20 mm, of: pine, from: 0 0 0 mm, to: [0 mm, 0 mm, high]}]}}
        ... run: {for: 1 s}
        ... ''')
        >>> values(spans("high=50..90cm:3", rig))
        ('50 cm', '70 cm', '90 cm')
    """
    name, equals, rest = text.partition("=")
    field, rest = name.strip(), rest.strip()
    if not equals or not field or not rest:
        raise _wrong(option, "", "nothing is said to go through", text, HOW)
    pieces = split(rest)
    if not all(pieces):
        raise _wrong(option, field, "a choice is empty", rest, HOW)
    before = _before(rig, field, pieces[0], option)
    if ".." in rest and len(pieces) == 1 and not rest.startswith(tuple(PAIRS)):
        return _range(field, pieces[0], rig, before, option)
    called: dict[str, str] = {}
    for piece in pieces:
        if ".." in piece and whole_literal(piece.partition("..")[0]) is not None:
            raise _wrong(option, field, "a range stands alone, not among choices", piece, HOW)
        for choice in choices_of(rig, field, _tidy(piece), option):
            if piece != ANY:  # what is any has been tried
                _fits(before, field, choice, rig, option)
                _tried(rig, field, choice, option)
            called.setdefault(choice, choice if piece == ANY else _tidy(piece))
    return Span(field, choices=tuple(called), called=tuple(called.values()))


def all_spans(texts: Sequence[str], rig: Rig, option: str = "--over") -> tuple[Span, ...]:
    """What several options say, each of another field.

    Raises:
        RigError: with the faults of all of them.
    """
    found: list[Span] = []
    faults: list[Fault] = []
    for text in texts:
        try:
            one = spans(text, rig, option)
        except RigError as error:
            faults += error.faults
            continue
        if _whole_field(rig, one.field) in [_whole_field(rig, other.field) for other in found]:
            faults.append(Fault("stands twice", option, None, one.field, text, "each field once"))
        found.append(one)
    if faults:
        raise RigError(faults)
    return tuple(found)


def split(text: str) -> list[str]:
    """Text at its commas, those in brackets or quotes left alone; quotes round a whole piece are taken off.

    Example:
        >>> split('{bolt: M5, grade: 8.8}, "12 V, 5 A",wiper')
        ['{bolt: M5, grade: 8.8}', '12 V, 5 A', 'wiper']
    """
    pieces, start, close, quote = [], 0, list[str](), ""
    for k, letter in enumerate(text):
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'":
            quote = letter
        elif letter in PAIRS:
            close.append(PAIRS[letter])
        elif close and letter == close[-1]:
            close.pop()
        elif letter == "," and not close:
            pieces.append(text[start:k])
            start = k + 1
    return [re.sub(r"""^(["'])([^"']*)\1$""", r"\2", p.strip()) for p in (*pieces, text[start:])]


def values(span: Span) -> tuple[str, ...]:
    """All that a field takes in a grid, as texts that would stand in the file; () of a range without a count."""
    if span.choices or span.count is None or span.low is None or span.high is None:
        return span.choices
    low, wide = _exact(span.low), _exact(span.high) - _exact(span.low)
    steps = span.count - 1
    places = _decimals(float(wide) / steps, 3)
    return tuple(_text(span, low + wide * k / steps, places) for k in range(span.count))


def written(span: Span, value: float) -> str:
    """A number of a range as text that would stand in the file, with a fifth of a million of its width for a digit.

    Args:
        value: in the unit of the range.

    Example:
        >>> written(Span("throw", 30.0, 70.0, "mm"), 41.23456789)
        '41.2346 mm'
    """
    assert span.low is not None
    assert span.high is not None
    return _text(span, _exact(value), _decimals(span.high - span.low, 5))


def at_share(span: Span, share: float) -> str:
    """What stands at a share of the way through a span, as text.

    Args:
        share: 0 to 1.

    Example:
        >>> at_share(Span("supply", choices=("5 V", "12 V")), 0.6), at_share(Span("teeth", 12, 24, whole=True), 0.99)
        ('12 V', '24')
    """
    every = values(span)
    if every:
        return every[min(int(share * len(every)), len(every) - 1)]
    assert span.low is not None
    assert span.high is not None
    if span.whole:
        return written(span, min(span.low + floor(share * (span.high - span.low + 1)), span.high))
    return written(span, span.low + share * (span.high - span.low))


def size(found: Sequence[Span]) -> int:
    """Variants in the grid of some spans."""
    return prod(len(one.choices) or one.count or 1 for one in found)


def grid(found: Sequence[Span]) -> Iterator[Variant]:
    """Every combination of values, that of the last span changing fastest.

    Raises:
        RigError: for a range without a count, or for more than `MOST`.

    Example:
        >>> [v.sets for v in grid([Span("throw", 30.0, 40.0, "mm", 2), Span("motor", choices=("a", "b"))])][1]
        (('throw', '30 mm'), ('motor', 'b'))
    """
    for one in found:
        if not one.choices and one.count is None:
            told = f"{one.field}={_number(one.low)}..{_number(one.high)}{one.unit}"
            allowed = f"{told}:9 for nine values, or --sample N for N variants anywhere in it"
            raise _wrong("--over", one.field, "how many values it takes isn't said", told, allowed)
    _few(size(found), "the grid")
    fields = [one.field for one in found]
    return (Variant(tuple(zip(fields, texts, strict=True))) for texts in product(*(values(o) for o in found)))


def sampled(found: Sequence[Span], count: int, seed: int) -> Iterator[Variant]:
    """Variants spread evenly through all spans: a Latin hypercube (McKay, Beckman, Conover 1979, from memory).

    Each span is parted into `count` strips and each strip is met once; choices come equally often.

    Args:
        count: how many.
        seed: the same one gives the same variants.

    Raises:
        RigError: for more than `MOST`.

    Example:
        >>> few = list(sampled([Span("throw", 30.0, 70.0, "mm"), Span("motor", choices=("a", "b"))], 4, seed=1))
        >>> sorted(dict(v.sets)["motor"] for v in few)
        ['a', 'a', 'b', 'b']
    """
    from scipy.stats import qmc

    _few(count, "the sample")
    rows = qmc.LatinHypercube(len(found), seed=seed).random(count)
    return (
        Variant(tuple((one.field, at_share(one, float(u))) for one, u in zip(found, row, strict=True)))
        for row in rows
    )


def _few(count: int, what: str) -> None:
    if count > MOST:
        message = f"{what} has {count:,} variants, more than can be told apart or kept"
        raise RigError([Fault(message, "--over", allowed=f"up to {MOST:,}: fewer values, or --sample N")])


def _wrong(option: str, field: str, message: str, value: str, allowed: str | None = None) -> RigError:
    return RigError([Fault(message, option, None, field, value, allowed)])


def _whole_field(rig: Rig, field: str) -> str:
    return f"params.{field}" if field in rig.params and "." not in field else field


def _with(rig: Rig, field: str, text: str) -> Any:
    source = rig.source
    return replace(source, sets={**source.sets, field: text})


def _before(rig: Rig, field: str, text: str, option: str) -> Any:
    """What a field holds in the rig: a quantity or a number, else what stands there; None where nothing does."""
    try:
        data_of(_with(rig, field, text.partition("..")[0]))
    except RigError as error:
        raise RigError([replace(f, file=option) for f in error.faults]) from None
    now = standing(rig, field)
    try:
        return evaluate(now, rig.params)
    except QuantityError:
        return now


def _fits(before: Any, field: str, text: str, rig: Rig, option: str) -> None:
    """Refuse a value of another dimension than a named value has; of other fields the rig knows what may be there."""
    if as_path(_whole_field(rig, field))[0] != "params":
        return
    try:
        value = evaluate(text, rig.params)
    except QuantityError as error:
        raise _wrong(option, field, str(error), text, error.allowed) from None
    plain = isinstance(before, float)
    told = ""
    if not isinstance(value, pint.Quantity):
        told = "" if plain else "a unit is missing"
    elif plain and not value.dimensionless:
        told = f"{_unit(text)} doesn't fit a plain number"
    elif not plain and not value.is_compatible_with(before.units):
        told = f"{_unit(text)} is not a unit of what stands there"
    if told:
        raise _wrong(option, field, told, text, f"such as {_said(before)}, which stands there")


def _said(value: Any) -> str:
    return shown(value) if isinstance(value, pint.Quantity) else _number(value)


def _tried(rig: Rig, field: str, text: str, option: str) -> None:
    """Refuse a value that can't stand in a field, whatever the others are."""
    path = as_path(_whole_field(rig, field))
    row = ".".join(str(k) for k in path[:-1]) if path and isinstance(path[-1], int) else None
    whole = _whole_field(rig, field)
    try:
        rig_of(_with(rig, field, text))
    except RigError as error:
        own = [f for f in error.faults if f.field in (whole, row) or f.field.startswith(f"{whole}.")]
        if own:
            raise RigError([replace(own[0], file=option, line=None, field=field, value=text)]) from None


def _range(field: str, text: str, rig: Rig, before: Any, option: str) -> Span:
    ends, colon, last = text.rpartition(":")
    if not colon:
        ends, last = text, ""
    elif not re.fullmatch(r"\s*[0-9]+\s*", last):
        raise _wrong(option, field, f"{last.strip()!r} is not how many values", text, HOW)
    count = int(last[:20]) if colon else None
    if count is not None and not 2 <= count <= COUNT:
        raise _wrong(
            option, field, f"{last.strip()} values", text, f"2 to {COUNT:,}; one alone is NAME=VALUE"
        )
    one, two = _ends(field, ends, before, option)
    unit = next((_unit(end) for end in reversed(ends.split("..")) if _unit(end)), "")
    low, high = (float(v.magnitude) if isinstance(v, pint.Quantity) else float(v) for v in (one, two))
    if not low < high:
        raise _wrong(option, field, "the range is empty", text, "the lower end first: 30..70mm")
    found = Span(field, low, high, unit, count)
    try:
        for end in (low, high):
            _fits(before, field, written(found, end), rig, option)
            _tried(rig, field, written(found, end), option)
    except RigError:
        if unit or not isinstance(before, pint.Quantity):
            raise
        allowed = f"{ends.strip()} {before.units:~}"
        raise _wrong(option, field, "the range has no unit", text, allowed) from None
    found = replace(found, whole=_wants_whole(rig, found))
    if found.whole and count is not None and count > high - low + 1:
        raise _wrong(option, field, f"there are only {high - low + 1:.0f} whole numbers there", text)
    return found


def _ends(field: str, text: str, before: Any, option: str) -> tuple[Any, Any]:
    """Both ends of a range, in the unit of the second, or in that which only one has."""
    first, _, second = (part.strip() for part in text.partition(".."))
    try:
        one, two = whole_literal(first), whole_literal(second)
    except QuantityError as error:
        raise _wrong(option, field, str(error), text, error.allowed) from None
    if one is None or two is None:
        wrong = first if one is None else second
        told = str(not_a_unit(_unit(wrong))) if _unit(wrong) else f"{wrong!r} is not an end of a range"
        raise _wrong(option, field, told, text, HOW)
    has = [isinstance(v, pint.Quantity) for v in (one, two)]
    if has == [False, True]:
        one = type(two)(one, two.units)
    elif has == [True, False]:
        two = type(one)(two, one.units)
    elif all(has):
        try:
            one = one.to(two.units)
        except pint.DimensionalityError:
            raise _wrong(option, field, "its ends are of two dimensions", text, "30..70mm") from None
    return one, two


def _unit(text: str) -> str:
    """The unit at the end of a text, as it is written there."""
    match = re.search(r"[0-9.]\s*([A-Za-zµΩ°%].*)$", text.strip())
    return match[1] if match else ""


def _wants_whole(rig: Rig, found: Span) -> bool:
    """Whether only whole numbers can stand in a field: the rig takes an end of the range, not what lies beside it."""
    assert found.low is not None
    if found.unit or found.low != int(found.low) or found.high != int(found.high or 0):
        return False
    try:
        rig_of(_with(rig, found.field, written(found, found.low)))
    except RigError:
        return False
    try:
        rig_of(_with(rig, found.field, f"{found.low + 0.5:g}"))
    except RigError:
        return True
    return False


def _tidy(text: str) -> str:
    """``40mm`` as ``40 mm``; anything else as it is."""
    match = re.fullmatch(r"([-+]?[0-9./-]+)\s*([A-Za-zµΩ°%].*)", text)
    return f"{match[1]} {match[2]}" if match and whole_literal(text) is not None else text


def _exact(value: float) -> Fraction:
    return Fraction(Decimal(repr(float(value))))


def _decimals(width: float, more: int) -> int:
    return max(0, more - floor(log10(width)))


def _number(value: float | Fraction | None, places: int = 12) -> str:
    exact = value if isinstance(value, Fraction) else _exact(value or 0.0)
    text = f"{Decimal(round(exact * 10**places)).scaleb(-places):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _text(span: Span, value: Fraction, places: int) -> str:
    ends = [_exact(end) for end in (span.low, span.high) if end is not None]
    if span.whole:
        text = str(round(value))
    else:
        text = _number(value, 15) if value in ends else _number(value, places)
    return f"{text} {span.unit}".rstrip()
