"""Puts a prop together; where a named value was set to something that can't close, names the nearest that does."""

from __future__ import annotations

from dataclasses import replace

import pint

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.errors import AssemblyError, OpenLoopError, SimpropError
from simprop.quantities import QuantityError
from simprop.reading.expressions import evaluate
from simprop.rig.load import rig_of
from simprop.rig.model import Rig


def assembled(rig: Rig) -> Assembly:
    """A rig put together, as `simprop.assembly.assemble.assemble`.

    Args:
        rig: as read by `load_rig`.

    Raises:
        AssemblyError: when it doesn't go together; where a named value was set, with the nearest that does.
    """
    try:
        return assemble(rig)
    except OpenLoopError as error:
        raise AssemblyError(str(error) + _nearest(rig)) from None


def _closes(rig: Rig) -> bool:
    try:
        assemble(rig)
    except AssemblyError:
        return False
    return True


def _nearest(rig: Rig) -> str:
    """A clause for the message of a loop that doesn't close, or "" when no single named value was set.

    Looks between the value in the file and the one asked for, by halving, and takes it that all values between
    the file's and the one found close.
    """
    source = rig.source
    names = [n.removeprefix("params.") for n in source.sets]
    asked = [n for n in names if n in rig.params]
    if len(asked) != 1:
        return ""
    name = asked[0]
    others = {k: v for k, v in source.sets.items() if k.removeprefix("params.") != name}
    try:
        plain = rig_of(replace(source, sets=others))
        start, end = plain.params[name], evaluate(rig.params[name], {})
        if not _closes(plain):
            return ""
        good, bad = 0.0, 1.0
        for _ in range(40):
            middle = (good + bad) / 2
            value = start + (end - start) * middle
            trial = rig_of(replace(source, sets={**others, f"params.{name}": _text(value)}))
            good, bad = (middle, bad) if _closes(trial) else (good, middle)
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
