"""What an answer shall be, as people write it: ``strength > 1``, ``travel(neck, z) = 120 mm within 1 mm``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from math import inf
from typing import Any

import pint

from simprop.errors import Fault, RigError, together
from simprop.quantities import KINDS, QuantityError, in_si, registry
from simprop.reading.expressions import evaluate
from simprop.run.run import Run
from simprop.study.ask.measure import MEASURES, unit_of
from simprop.study.types import Limit

WITHIN = 0.01
"""By what share of itself a value that shall be met may be missed, where nothing is said."""
WRITTEN = '"strength > 1", "travel(neck, z) = 120 mm within 1 mm", "mass from 2 kg to 3 kg"'
_FROM = re.compile(r"(?P<ask>.*?)\s+from\s+(?P<low>.+?)\s+to\s+(?P<high>.+)", re.DOTALL)
_THAN = re.compile(r"(?P<ask>[^<>=]*)(?P<sign>>=|<=|==|>|<|=)(?P<value>[^<>=]*)", re.DOTALL)
_WITHIN = re.compile(r"(?P<value>.*?)\s+within\s+(?P<within>.+)", re.DOTALL)


@dataclass(frozen=True)
class Bound:
    """Between what the answer to an expression shall lie.

    Attributes:
        text: as written.
        ask: the expression.
        least: in the SI; None: no such side.
        most: likewise.
        value: what it shall be, in the SI, where one value is wanted.
        unit: in which it was written; "" of a plain number.
    """

    text: str
    ask: str
    least: float | None = None
    most: float | None = None
    value: float | None = None
    unit: str = ""


def bounds_of(texts: Sequence[str], run: Run | None = None, option: str = "--keep") -> tuple[Bound, ...]:
    """What is wanted of answers, read.

    Args:
        texts: an expression of measures and ``>``, ``<``, ``>=``, ``<=``, ``=`` with a value and, for ``=``, ``within``
            (1 % of the value by default), or ``from`` one value ``to`` another.
        run: of the rig, however short, whose names are looked at; None: names aren't.
        option: where they were written, for messages.

    Raises:
        RigError: with a fault for each that can't be read, asks what isn't there, or has another dimension than asked.

    Example:
        >>> bounds_of(["travel(neck, z) = 120 mm"])[0].most
        0.1212
        >>> bounds_of(["mass < 3 s"])
        Traceback (most recent call last):
        ...
        simprop.errors.RigError: --keep: mass: second is not a unit of what it answers (got '3 s'; allowed: 0.25 kg, \
120 g, 2 lb)
    """
    return tuple(together(partial(_bound, text, run, option) for text in texts))


def limits_of(bounds: Sequence[Bound], asks: Sequence[str] = ()) -> tuple[tuple[str, ...], tuple[Limit, ...]]:
    """Questions and limits of a study out of what is wanted.

    Args:
        bounds: as `bounds_of` reads them.
        asks: questions that are asked in any case.

    Returns:
        Every question once, those of `asks` first, and a limit for each bound, in its order.

    Example:
        >>> limits_of(bounds_of(["strength > 1", "mass < 3 kg"]), ["mass"])
        (('mass', 'strength'), (Limit(ask=1, least=1.0, most=None), Limit(ask=0, least=None, most=3.0)))
    """
    every = tuple(dict.fromkeys([*asks, *(b.ask for b in bounds)]))
    return every, tuple(Limit(every.index(b.ask), b.least, b.most) for b in bounds)


def asks_of(texts: Sequence[str], run: Run | None = None, option: str = "--ask") -> tuple[str, ...]:
    """Expressions of measures, looked at: whether there are such measures, names and units.

    Args:
        texts: expressions.
        run: as for `bounds_of`.
        option: where they were written.

    Raises:
        RigError: with a fault for each that can't be asked.

    Example:
        >>> asks_of([" mass / 2 "])
        ('mass / 2',)
    """
    asks = tuple(text.strip() for text in texts)
    together(partial(_unit, ask, run, option) for ask in asks)
    return asks


def _bound(text: str, run: Run | None, option: str) -> Bound:
    between, than = _FROM.fullmatch(text.strip()), _THAN.fullmatch(text.strip())
    match = between if than is None else than
    if match is None or not match["ask"].strip():
        raise RigError([Fault("not a limit", file=option, value=text, allowed=WRITTEN)])
    ask = match["ask"].strip()
    unit = _unit(ask, run, option)
    if than is None:
        low, high = (_value(match[side], unit, ask, option) for side in ("low", "high"))
        if low[0] > high[0]:
            raise _fault("the lower value stands first", ask, text, option, f"from {match['high']} to ...")
        return Bound(text.strip(), ask, low[0], high[0], unit=low[1])
    if than["sign"] not in ("=", "=="):
        value, written = _value(than["value"], unit, ask, option)
        least, most = (value, None) if than["sign"].startswith(">") else (None, value)
        return Bound(text.strip(), ask, least, most, unit=written)
    apart = _WITHIN.fullmatch(than["value"].strip())
    value, written = _value(apart["value"] if apart else than["value"], unit, ask, option)
    width = _width(apart["within"], value, unit, ask, option) if apart else WITHIN * abs(value)
    if not width > 0.0:
        raise _fault("say how near to that", ask, than["value"], option, f"{text.strip()} within ...")
    return Bound(text.strip(), ask, value - width, value + width, value, written)


def _unit(ask: str, run: Run | None, option: str) -> pint.Unit | None:
    """The unit of an answer; None where it can't be told."""
    if not any(re.search(rf"\b{name}\b", ask) for name in MEASURES) and not re.search(r"[A-Za-z_]", ask):
        raise _fault("no measure is asked for", ask, None, option, WRITTEN)
    try:
        return unit_of(ask, run)
    except QuantityError as error:
        raise _fault(str(error), ask, None, option, error.allowed) from None


def _value(text: str, unit: pint.Unit | None, ask: str, option: str) -> tuple[float, str]:
    """A value in the SI, and its unit as written."""
    try:
        found = evaluate(text.strip(), {})
    except QuantityError as error:
        raise _fault(str(error), ask, text.strip(), option, error.allowed or _example(unit)) from None
    own = registry().Unit(str(found.units) if isinstance(found, pint.Quantity) else "")
    if unit is not None and (not unit.is_compatible_with(own) or _plain(unit) != _plain(own)):
        told = "a unit is wanted" if _plain(own) else f"{own} is not a unit of what it answers"
        if _plain(unit):
            told = "a plain number is wanted, without a unit"
        raise _fault(told, ask, text.strip(), option, _example(unit))
    return in_si(found), f"{own:~}"


def _plain(unit: pint.Unit) -> bool:
    """Whether a unit is that of plain numbers, which an angle isn't."""
    return unit.dimensionless and str(registry().Quantity(1.0, unit).to_base_units().units) == "dimensionless"


def _width(text: str, value: float, unit: pint.Unit | None, ask: str, option: str) -> float:
    """How far off a value may be, in the SI: a share of it, or so much."""
    share = re.fullmatch(r"\s*([\d.]+)\s*%\s*", text)
    if share is not None:
        return float(share[1]) / 100.0 * abs(value)
    found, _ = _value(text, unit, ask, option)
    if unit is not None and registry().Unit("degC").is_compatible_with(unit):
        zero: Any = evaluate(f"0 {text.rsplit(maxsplit=1)[-1]}", {})  # a difference, and not a temperature
        found -= in_si(zero)
    return found if 0.0 < found < inf else 0.0


def _example(unit: pint.Unit | None) -> str | None:
    """How a value of the dimension of a unit is written."""
    if unit is None:
        return None
    if _plain(unit):
        return KINDS["number"][1]
    found = [k for k in KINDS if k != "number" and unit.is_compatible_with(registry().Unit(KINDS[k][0]))]
    return KINDS[found[0]][1] if found else None


def _fault(message: str, ask: str, value: str | None, option: str, allowed: str | None) -> RigError:
    return RigError([Fault(message, file=option, field=ask, value=value, allowed=allowed)])
