"""When a named value was set to something that can't close: the nearest value that does."""

from __future__ import annotations

from collections.abc import Callable

import pint

from simprop.errors import SimpropError
from simprop.quantities import QuantityError
from simprop.reading.expressions import evaluate
from simprop.rig.load import parse_rig
from simprop.rig.model import Rig


def nearest_that_closes(rig: Rig, closes: Callable[[Rig], bool]) -> str:
    """A clause for the message of a loop that doesn't close, or "" when no single named value was set.

    Looks between the value in the file and the one asked for, by halving, and takes it that all values between
    the file's and the one found close.

    Args:
        rig: the rig that doesn't close.
        closes: says whether a rig does.
    """
    source = rig.source
    names = [n.removeprefix("params.") for n in source.sets]
    asked = [n for n in names if n in rig.params]
    if len(asked) != 1:
        return ""
    name = asked[0]
    others = {k: v for k, v in source.sets.items() if k.removeprefix("params.") != name}
    try:
        plain = parse_rig(source.text, source.file, others)
        start, end = plain.params[name], evaluate(rig.params[name], {})
        if not closes(plain):
            return ""
        good, bad = 0.0, 1.0
        for _ in range(40):
            middle = (good + bad) / 2
            value = start + (end - start) * middle
            trial = parse_rig(source.text, source.file, {**others, f"params.{name}": _text(value)})
            good, bad = (middle, bad) if closes(trial) else (good, middle)
            if bad - good < 1e-5:
                break
    except (SimpropError, QuantityError, pint.PintError):
        return ""
    found = _text(start + (end - start) * good, 5)
    return f"; {name} = {_text(end, 6)} is too far: the nearest value that closes is {found}"


def _text(value: object, digits: int = 12) -> str:
    if isinstance(value, pint.Quantity):
        return (
            f"{float(value.magnitude):.{digits}g} {value.units:~}".replace(" ** ", "^")
            .replace(" * ", "*")
            .replace(" / ", "/")
        )
    return f"{value:.{digits}g}"
