"""A measure is a question to a run that has a number with a unit for an answer: ``travel(neck, z)``.

One list of them serves tables, wants and files alike: a function that enters it by `measure` is known everywhere, and
its docstring is its definition.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from inspect import Parameter, signature
from math import isfinite, isnan
from typing import Any, Literal

import pint

from simprop.errors import SimpropError, listed, meant
from simprop.quantities import QuantityError, registry
from simprop.reading.expressions import evaluate
from simprop.run.run import Run
from simprop.study.ask.names import places, spot

Needs = Literal["still", "swept", "run", "loads", "strength"]
"""What a measure takes: the prop put together; where its mechanism goes; its real motion; the loads on it; what they do
to it."""
DEPTHS: tuple[Needs, ...] = ("still", "swept", "run", "loads", "strength")
"""From the cheapest to the dearest."""

Names = Callable[[Run], Iterator[str]]
"""What may stand for an argument in a rig."""


@dataclass(frozen=True)
class Argument:
    """One argument of a measure.

    Attributes:
        word: what it is called.
        names: what may stand for it; None where it is a value with a unit.
        optional: it may be left out.
    """

    word: str
    names: Names | None
    optional: bool


@dataclass(frozen=True)
class Measure:
    """A question that can be asked of a run.

    Attributes:
        name: in expressions.
        arguments: in their order.
        unit: of its answer, as people write it; "" of a plain number; "as the joint moves" of what turns or slides.
        about: its definition, one or two sentences.
        answer: of a run and the arguments, in the unit's SI; NaN where it isn't known.
        needs: what it takes.
    """

    name: str
    arguments: tuple[Argument, ...]
    unit: str
    about: str
    answer: Callable[..., Any]
    needs: Needs = "run"

    @property
    def written(self) -> str:
        """How it is written, such as ``travel(point, axis)``."""
        words = [f"[{a.word}]" if a.optional else a.word for a in self.arguments]
        return f"{self.name}({', '.join(words)})"


MEASURES: dict[str, Measure] = {}
"""Every measure by its name."""


def measure(
    unit: str, needs: Needs, **names: Names | None
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Enter a function of a run and words or values; its docstring becomes the definition.

    Args:
        unit: of its answer, which it hands back as a number of the SI, or as a quantity.
        needs: what it takes; ``swept`` where positions alone tell it, at a crank that turns steadily.
        names: for each argument what may stand for it, or None for a value with a unit.
    """

    def enter(function: Callable[..., Any]) -> Callable[..., Any]:
        parameters = list(signature(function).parameters.values())[1:]
        arguments = tuple(
            Argument(p.name, names[p.name], p.default is not Parameter.empty) for p in parameters
        )
        about = " ".join((function.__doc__ or "").split())
        MEASURES[function.__name__] = Measure(function.__name__, arguments, unit, about, function, needs)
        return function

    return enter


def asked_of(run: Run, text: str) -> pint.Quantity[Any] | float:
    """The answer of a run to an expression of measures.

    Args:
        run: the run.
        text: measures, values with units, ``+ - * / **``, brackets, and min, max, abs, sqrt and the like.

    Raises:
        SimpropError: for a measure, an argument or a unit that isn't one, with the nearest that is; where a measure's
            answer isn't known.

    Example:
        >>> import simprop
        >>> rig = simprop.parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... points: {end: 300 0 0 mm}
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: end}]}}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 2 s}
        ... ''')
        >>> run = simprop.simulate(rig, settle=False)
        >>> round(asked_of(run, "travel(end, x) / 2").to("mm").magnitude)
        300
    """
    calls = {name: _caller(run, one) for name, one in MEASURES.items()}
    try:
        found = evaluate(text, {}, calls)
    except QuantityError as error:
        allowed = f" (allowed: {error.allowed})" if error.allowed else ""
        raise SimpropError(f"{text}: {error}{allowed}") from None
    return found if isinstance(found, pint.Quantity) else float(found)


def needs_of(text: str) -> Needs:
    """What an expression takes: as much as the dearest measure in it.

    Args:
        text: as for `asked_of`.

    Example:
        >>> import simprop.study.ask
        >>> needs_of("travel(neck, z) / 2"), needs_of("peak(wrist) + 3 N"), needs_of("2 mm")
        ('swept', 'loads', 'still')
    """
    found = [MEASURES[word].needs for word in re.findall(r"[A-Za-z_]\w*", text) if word in MEASURES]
    return max(found, key=DEPTHS.index, default="still")


def _caller(run: Run, one: Measure) -> Callable[..., Any]:
    """A measure as a function of words and values alone."""

    def call(*given: Any) -> Any:
        _fits(one, given, run)
        try:
            answer = one.answer(run, *given)
        except SimpropError as error:
            raise QuantityError(str(error)) from None
        if isinstance(answer, pint.Quantity):
            return answer
        if answer is None or isnan(answer):
            raise QuantityError(f"{one.name} is not computed in this run")
        if not isfinite(answer):
            raise QuantityError(f"{one.name} is without limit in this run")
        return registry().Quantity(float(answer), one.unit) if one.unit else float(answer)

    return call


def _fits(one: Measure, given: Sequence[Any], run: Run | None) -> None:
    """Refuse arguments that can't be those of a measure; of names that, where a run is there to have them."""
    least = sum(not a.optional for a in one.arguments)
    if not least <= len(given) <= len(one.arguments):
        raise QuantityError(f"{one.written} takes {_count(least, len(one.arguments))}, not {len(given)}")
    for argument, value in zip(one.arguments, given, strict=False):
        _look(run, one, argument, value)


def _count(least: int, most: int) -> str:
    return f"{least}" if least == most else f"{least} to {most}"


def _look(run: Run | None, one: Measure, argument: Argument, value: Any) -> None:
    """Refuse an argument that can't be one."""
    if argument.names is None:
        if not isinstance(value, pint.Quantity):
            raise QuantityError(f"{argument.word} of {one.written} is a value with its unit")
        return
    if not isinstance(value, str):
        raise QuantityError(f"{argument.word} of {one.written} is a name")
    if run is None:
        return
    allowed = list(dict.fromkeys(argument.names(run)))
    if argument.names is places and " " in value.strip():
        spot(run, value)
    elif value not in allowed:
        told = listed(allowed) if allowed else "none in this rig"
        raise QuantityError(
            f"{value!r}: no such {argument.word} for {one.written}{meant(value, allowed)}", told
        )


def unit_of(text: str, run: Run | None = None) -> pint.Unit | None:
    """In which unit an expression of measures answers, before any is asked.

    Args:
        text: as for `asked_of`.
        run: whose names are looked at, however short it is; None: names aren't, nor what a name alone tells.

    Returns:
        The unit, dimensionless of a plain number; None where it can't be told.

    Raises:
        QuantityError: for a measure, an argument or a unit that isn't one, or units that don't go together.

    Example:
        >>> str(unit_of("travel(neck, z) / 2 s")), str(unit_of("strength"))
        ('meter / second', 'dimensionless')
        >>> unit_of("travel(neck)")
        Traceback (most recent call last):
        ...
        simprop.quantities.QuantityError: travel(point, axis) takes 2, not 1
    """
    for size in (1.0, 0.37, 2.9):  # a difference, a root or a logarithm may not be of one of them
        try:
            found = evaluate(text, {}, {name: _sized(one, run, size) for name, one in MEASURES.items()})
        except _UnclearError:
            return None
        except QuantityError as error:
            if str(error) not in ("divides by zero", "not a finite number"):
                raise
            continue
        return registry().Unit(str(found.units) if isinstance(found, pint.Quantity) else "")
    return None


class _UnclearError(QuantityError):
    """A unit that can't be told yet."""


def _sized(one: Measure, run: Run | None, size: float) -> Callable[..., Any]:
    """A measure that answers with some size in its unit, whatever the run."""

    def call(*given: Any) -> Any:
        _fits(one, given, run)
        if " " not in one.unit:
            return registry().Quantity(size, one.unit) if one.unit else size
        answer = one.answer(run, *given) if run is not None else None
        if not isinstance(answer, pint.Quantity):
            raise _UnclearError(one.unit)
        return registry().Quantity(size, answer.units)

    return call
