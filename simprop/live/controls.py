"""What can be changed of a rig: its named values, and the class and supply of each of its drives."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor, isfinite, log10
from typing import Any

from simprop.errors import RigError
from simprop.live.change import filed, study_of
from simprop.live.types import Control, State
from simprop.quantities import QuantityError, whole_literal
from simprop.reading.text import read_text
from simprop.rig.model import Rig
from simprop.study.trial.tried import rig_in
from simprop.study.types import Variant
from simprop.study.vary.choices import ANY, choices_of, standing

STEPS = 200
"""Steps of a slider, at least half as many and at most two and a half times."""


def controls(state: State) -> tuple[Control, ...]:
    """Controls of a rig, as its file stands.

    A named value moves from half to double of what the file says, further where it stands further now, in the unit that
    it is written in; one that is worked out from others, or is nought, has none.

    Args:
        state: of the rig.

    Raises:
        RigError: where the file has faults.

    Example:
        >>> text = "rig: 1\\nname: A\\nparams: {throw: 50 mm, reach: 2 * throw}\\nbodies: {post: {fixed: true}}"
        >>> state = State(text + "\\nrun: {for: 1 s}", "")
        >>> [(c.field, c.low, c.high, c.step, c.unit) for c in controls(state)]
        [('throw', 25.0, 100.0, 0.5, 'mm')]
    """
    rig = rig_in(study_of(state), Variant())
    over = dict(state.sets)
    return (*_values(state, over), *_drives(rig, over))


def _values(state: State, over: dict[str, str]) -> Iterator[Control]:
    params = read_text(study_of(state).text, state.file).data.get("params") or {}
    for name in params:
        text = filed(state, name)
        number, unit = split(text)
        if number is None or number == 0:
            continue
        now = over.get(name, text)
        ends = (number / 2, number * 2, _in_unit_of(text, now))
        low, high = min(ends), max(ends)
        yield Control(name, now, text, (), low, high, step(high - low), unit)


def split(text: str) -> tuple[float | None, str]:
    """A value as a number and the unit that it is written in; (None, "") for what is worked out from others.

    Example:
        >>> split("1/4 in"), split("0.35"), split("2 * throw")
        ((0.25, 'in'), (0.35, ''), (None, ''))
    """
    try:
        value = whole_literal(text.strip())
    except QuantityError:
        return None, ""
    if value is None:
        return None, ""
    number = float(getattr(value, "magnitude", value))
    unit = text.strip().lstrip("+-.0123456789/eE ").strip() if hasattr(value, "magnitude") else ""
    return (number, unit) if isfinite(number) else (None, "")


def step(width: float) -> float:
    """A round step that divides a range into about `STEPS`.

    Example:
        >>> step(75.0), step(0.3)
        (0.5, 0.002)
    """
    rough = width / STEPS
    ten = 10.0 ** floor(log10(rough))
    return float(f"{max((k for k in (1, 2, 5) if k * ten <= rough * 1.5), default=1) * ten:.3g}")


def value_text(control: Control, number: float) -> str:
    """A number of a slider as it would stand in the file.

    Example:
        >>> value_text(Control("throw", "50 mm", "50 mm", (), 25.0, 100.0, 0.5, "mm"), 62.50000001)
        '62.5 mm'
    """
    return f"{number:.6g} {control.unit}".strip()


def number_of(control: Control, *, filed: bool = False) -> float:
    """The number of a slider, in its unit, within its range.

    Args:
        control: of a number.
        filed: as the file has it; else as it is now.

    Example:
        >>> number_of(Control("throw", "60 mm", "50 mm", (), 25.0, 100.0, 0.5, "mm"))
        60.0
    """
    number = _in_unit_of(control.filed, control.filed if filed else control.value)
    return min(max(number, control.low), control.high)


def _in_unit_of(filed: str, text: str) -> float:
    """The number of a value, in the unit of the one that the file has."""
    own, value = literal_of(filed), literal_of(text)
    if hasattr(value, "to") and hasattr(own, "units"):
        value = value.to(own.units)
    return float(getattr(value, "magnitude", value))


def literal_of(text: str) -> Any:
    """A value with its unit; nought where it is none."""
    try:
        return whole_literal(text.strip()) or 0.0
    except QuantityError:
        return 0.0


def _drives(rig: Rig, over: dict[str, str]) -> Iterator[Control]:
    for room, drives in (("motors", rig.motors), ("pushers", rig.pushers)):
        for name in drives:
            for key in ("motor", "supply"):
                field = f"{room}.{name}.{key}"
                now = standing(rig, field)
                if not isinstance(now, str):
                    continue
                try:
                    choices = choices_of(rig, field, ANY)
                except RigError:
                    continue
                found = tuple(dict.fromkeys((now, over.get(field, now), *choices)))
                if len(found) > 1:
                    yield Control(field, over.get(field, now), now, found)
