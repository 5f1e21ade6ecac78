"""The points of a rig file, and the file with one of them moved.

A number follows where it stands: in the row or the list of the point, or in a named value that a coordinate is nothing
else than. What is worked out stays.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isnan
from typing import Any

from simprop.errors import SimpropError, listed, meant
from simprop.quantities import LITERAL, is_unit, literal, registry
from simprop.reading.fields import Vector
from simprop.reading.text import Path, dotted, read_text
from simprop.rig.load import named
from simprop.tracing.placing import AXES
from simprop.tracing.rounding import rounded, rounded_fraction
from simprop.tracing.types import Change, Coordinate, Draggable, Moved, Pair, View
from simprop.tuning.rewrite import rewritten, written_at

_NUMBER = re.compile(rf"([+-]?\s*)(?:{LITERAL.pattern})")
_NAME = re.compile(r"([+-]?)\s*([A-Za-z_]\w*)")
_BEFORE = re.compile(r"(?:[&!]\S*\s+)*[\"']?")
"""An anchor, a tag and a quote before a value."""
_TRIFLE = 1e-6
"""Share of a rounding step that is no move."""


def points_of(text: str, file: str = "rig.yaml") -> tuple[Draggable, ...]:
    """The points of a rig file in its order; also where the rig as a whole has faults. What can't be read is left out.

    Args:
        text: of the file.
        file: its name, for messages.

    Raises:
        RigError: where it isn't YAML.

    Example:
        >>> pin, = points_of("params: {throw: 50 mm}\\npoints: {pin: [throw, 2 * throw, 300 mm]}")
        >>> pin.at, [c.field for c in pin.coordinates]
        ((0.05, 0.1, 0.3), [('params', 'throw'), (), ('points', 'pin', 2)])
        >>> pin.coordinates[1].why
        'y of pin is worked out: 2 * throw'
    """
    document = read_text(text, file)
    scope = named(document)
    found = []
    for name, (x, y, z, _) in scope.points.items():
        if not isnan(x):
            line = document.lines[("points", name)]
            found.append(Draggable(name, (x, y, z), line, _coordinates(document.data, name)))
    return tuple(found)


def free(point: Draggable, view: View) -> bool:
    """Whether a point can be moved in a view: at least one of the two coordinates that it shows follows.

    Args:
        point: of a rig.
        view: in which it is moved.

    Example:
        >>> pin, = points_of("params: {throw: 50 mm}\\npoints: {pin: [300 mm, throw + 1 mm, 2 * throw]}")
        >>> free(pin, "front"), free(pin, "side")
        (True, False)
    """
    return any(point.coordinates[axis].field for axis in AXES[view][:2])


def moved(text: str, name: str, view: View, to: Pair, fineness: float) -> Moved:
    """A rig file with one of its points elsewhere in a view.

    Args:
        text: of the file, with the line ends that it has.
        name: of the point.
        view: in which it was moved; the coordinate along which that looks stays.
        to: where to, to the right and up, m.
        fineness: rounding step, m; numbers are rounded to the next 1, 2, 5 of a power of ten in their own unit
            (fractions to the next half, quarter ...), and a coordinate that moves less than half of it stays.

    Returns:
        The text, in which every byte stands as it did but for the numbers that changed.

    Raises:
        RigError: where it isn't YAML.
        SimpropError: where there is no such point, or its text can't be changed alone (an alias shares it).

    Example:
        >>> found = moved("points:\\n  pin: 50 0 300 mm   # up\\n", "pin", "front", (0.0623, 0.3), 0.001)
        >>> found.text, found.changes
        ('points:\\n  pin: 62 0 300 mm   # up\\n',
         (Change(field='points.pin', before='50 0 300 mm', after='62 0 300 mm', line=2),))
    """
    points = {p.name: p for p in points_of(text)}
    if name not in points:
        hint = meant(name, points) or f"; there are {listed(points) or 'none'}"
        raise SimpropError(f"{name!r} is not a point of this file that can be read{hint}")
    point = points[name]
    told: list[str] = []
    asked: dict[tuple[Path, int | None], _Follow] = {}
    for axis, goal in zip(AXES[view][:2], to, strict=True):
        way, one = goal - point.at[axis], point.coordinates[axis]
        if abs(way) < (0.5 - _TRIFLE) * fineness:
            continue
        if not one.field:
            told.append(one.why)
            continue
        follow = _Follow(axis, abs(way), one, one.sign * goal)
        other = asked.get((one.field, one.word))
        if other is not None:  # both go by one named value
            told.append(
                f"{'xyz'[min((follow, other), key=lambda f: f.way).axis]} of {name} goes by {one.text} too"
            )
        if other is None or follow.way > other.way:
            asked[one.field, one.word] = follow
    return _followed(text, asked, fineness, tuple(told))


@dataclass(frozen=True)
class _Follow:
    """A coordinate that is moved: by which way, and what its number becomes, m."""

    axis: int
    way: float
    coordinate: Coordinate
    value: float


def _followed(
    text: str, asked: Mapping[tuple[Path, int | None], _Follow], fineness: float, told: tuple[str, ...]
) -> Moved:
    """The file with other numbers in some fields."""
    before = {field: written_at(text, field) for field, _ in asked}
    after = dict(before)
    for (field, word), follow in asked.items():
        unit = follow.coordinate.unit
        metre = float(registry().Quantity(1.0, unit.replace("°", "deg")).to("m").magnitude)
        after[field] = _put(after[field], word, follow.value / metre, fineness / metre, field)
    values = {field: put for field, put in after.items() if put != before[field]}
    if not values:
        return Moved(text, (), told)
    lines = read_text(text).lines
    changes = tuple(Change(dotted(f), _bare(before[f]), _bare(put), lines[f]) for f, put in values.items())
    return Moved(rewritten(text, values), changes, told)


def _bare(written: str) -> str:
    """A value without anchor and quotes, on one line."""
    return " ".join(written[_end(_BEFORE.match(written)) :].rstrip("\"'").split())


def _end(match: re.Match[str] | None) -> int:
    return match.end() if match else 0


def _put(written: str, word: int | None, value: float, fineness: float, field: Path) -> str:
    """A value as it stands in the file with another number in it."""
    start = _end(_BEFORE.match(written))
    spans = [m.span() for m in re.compile(r"[^\s\"']+").finditer(written, start)]
    if word is None:
        begin, end = spans[0][0], spans[-1][1]
    elif word < len(spans):
        begin, end = spans[word]
    else:
        raise SimpropError(f"{dotted(field)}: can't be changed alone in the rig file")
    match = _NUMBER.match(written, begin, end)
    if match is None:
        raise SimpropError(f"{dotted(field)}: can't be changed alone in the rig file")
    number = (rounded_fraction if "/" in match[2] and fineness < 1 else rounded)(value, fineness)
    stays = abs(_sign(match[1]) * float(literal(match[2], None)) - value) < (0.5 - _TRIFLE) * fineness
    return written if stays else written[:begin] + number + written[match.end(2) :]


def _sign(text: str) -> float:
    return -1.0 if text.startswith("-") else 1.0


def _coordinates(data: Any, name: str) -> tuple[Coordinate, Coordinate, Coordinate]:
    """How the three coordinates of a point that can be read are written."""
    params = data.get("params") or {}
    value, path = data["points"][name], ("points", name)
    if isinstance(value, list):
        found = [
            _coordinate(str(v), (*path, i), None, params, f"{'xyz'[i]} of {name}")
            for i, v in enumerate(value)
        ]
    else:
        words = str(value).split()
        unit = words.pop() if len(words) > 3 and is_unit(words[-1]) else ""
        found = [_coordinate(w, path, i, params, f"{'xyz'[i]} of {name}", unit) for i, w in enumerate(words)]
    x, y, z = found
    return x, y, z


def _coordinate(
    text: str, path: Path, word: int | None, params: Mapping[str, Any], what: str, shared: str = ""
) -> Coordinate:
    """One coordinate.

    Args:
        text: as it stands.
        path: of what holds it.
        word: which of the words there.
        params: the named values of the file, as written.
        what: it is, for a sentence.
        shared: the unit that stands after all three.
    """
    unit = _unit(text, shared)
    if unit:
        return Coordinate(text, path, word, unit)
    match = _NAME.fullmatch(text.strip())
    if match is None or shared or match[2] not in params:
        return Coordinate(text, why=f"{what} is worked out: {text}{' ' * bool(shared)}{shared}")
    stands = str(params[match[2]])
    unit = _unit(stands, "")
    if not unit:
        return Coordinate(text, why=f"{what} is worked out: {match[2]} = {stands}")
    return Coordinate(text, ("params", match[2]), None, unit, _sign(match[1]))


def _unit(text: str, shared: str) -> str:
    """The unit of a single number; "" where it is something else."""
    match = _NUMBER.fullmatch(text.strip())
    if match is None or (shared and match[3]):
        return ""
    return shared or str(match[3] or "")


def place_in_words(at: Vector, unit: str, fineness: float) -> str:
    """A place as it is written in a rig file: three numbers and a unit.

    Args:
        at: x, y, z, m.
        unit: of length.
        fineness: rounding step, m.

    Example:
        >>> place_in_words((0.0623, 0.0, 0.3), "mm", 0.001), place_in_words((0.0623, 0.0, 0.3), "in", 0.001)
        ('62 0 300 mm', '2.45 0 11.8 in')
    """
    metre = float(registry().Quantity(1.0, unit.replace("°", "deg")).to("m").magnitude)
    return " ".join([*(rounded(v / metre, fineness / metre) for v in at), unit])
