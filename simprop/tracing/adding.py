"""New points, pins and bars in a rig file: its text with one more of them, in the style of the file."""

from __future__ import annotations

from dataclasses import replace
from math import dist

from simprop.errors import Fault, RigError, SimpropError
from simprop.reading.fields import Vector
from simprop.reading.text import Document, read_text
from simprop.rig.load import NAME, as_written
from simprop.rig.model import Source
from simprop.tracing.appended import appended
from simprop.tracing.points import place_in_words, points_of
from simprop.tracing.types import View

_ACROSS: dict[View, str] = {"front": "y", "side": "x"}
"""The axis along which a view looks."""
_APART = 1e-6
"""Two points that are nearer are one, m."""


def with_point(text: str, name: str, place: Vector, fineness: float) -> str:
    """A rig file with a new point, in the unit of those that it has (mm where there is none).

    Args:
        text: of the file, with the line ends that it has.
        name: of the point.
        place: x, y, z, m.
        fineness: rounding step, m.

    Raises:
        RigError: for a name that can't be one or is there already, or where the text isn't YAML.
        SimpropError: where it can't be put in without changing something else.

    Example:
        >>> with_point("points:\\n  pin: 0 0 300 mm\\n", "tip", (0.0623, 0.0, 0.51), 0.001)
        'points:\\n  pin: 0 0 300 mm\\n  tip: 62 0 510 mm\\n'
    """
    _free(text, "points", name)
    units = [c.unit for p in points_of(text) for c in p.coordinates if c.field[:1] == ("points",)]
    return appended(text, "points", name, place_in_words(place, units[-1] if units else "mm", fineness))


def with_pin(text: str, name: str, bodies: tuple[str, str], point: str, view: View) -> str:
    """A rig file with a new pin, its axis along the view.

    Args:
        text: of the file, with the line ends that it has.
        name: of the joint.
        bodies: names of the two that it holds together.
        point: name of the point it goes through.
        view: in which it was drawn.

    Raises:
        RigError: for a name that can't be one or is there already, bodies or a point that aren't there, one body
            twice, two bodies that stand still.
        SimpropError: as `with_point`.

    Example:
        >>> text = "points: {hip: 0 0 1 m}\\nbodies: {post: {fixed: true}, leg: {}}\\njoints: {}\\n"
        >>> with_pin(text, "hip", ("post", "leg"), "hip", "side").splitlines()[2]
        'joints: {hip: {pin: [post, leg], at: hip, axis: x}}'
    """
    _free(text, "joints", name)
    for word in (*bodies, point):
        _word("joints", name, word)
    value = f"{{pin: [{bodies[0]}, {bodies[1]}], at: {point}, axis: {_ACROSS[view]}}}"
    return _sound(appended(text, "joints", name, value), "joints", name)


def with_bar(text: str, name: str, first: str, second: str, stock: str, *, fixed: bool = False) -> str:
    """A rig file with a new body: one part from point to point.

    Args:
        text: of the file, with the line ends that it has.
        name: of the body.
        first: name of the point where the part begins.
        second: of that where it ends.
        stock: the part as a rig file has it, without ``from`` and ``to``, such as ``bar: 25 x 3 mm, of: steel``.
        fixed: the body stands still.

    Raises:
        RigError: for a name that can't be one or is there already, points that aren't there or lie on one spot, and for
            a part that can't be one.
        SimpropError: as `with_point`.

    Example:
        >>> text = "points: {pin: 0 0 300 mm, tip: 0 0 500 mm}\\nbodies:\\n  post: {fixed: true}\\n"
        >>> print(with_bar(text, "rod", "pin", "tip", "pipe: 1/2 in PVC"), end="")
        points: {pin: 0 0 300 mm, tip: 0 0 500 mm}
        bodies:
          post: {fixed: true}
          rod: {parts: [{pipe: 1/2 in PVC, from: pin, to: tip}]}
    """
    _free(text, "bodies", name)
    for word in (first, second):
        _word("bodies", name, word)
    part = _part(stock, first, second)
    ends = [p.at for p in points_of(text) if p.name in (first, second)]
    if first == second or (len(ends) == 2 and dist(*ends) < _APART):
        message = "both its ends are on one spot, so it has no direction"
        raise RigError(
            [Fault(message, field=f"bodies.{name}", value=f"{first}, {second}", allowed="two points apart")]
        )
    rows = [*([("fixed", "true")] if fixed else []), ("parts", f"[{part}]")]
    return _sound(appended(text, "bodies", name, rows), "bodies", name)


def _part(stock: str, first: str, second: str) -> str:
    """A part from point to point, in braces."""
    example = "bar: 25 x 3 mm, of: steel"
    bare = stock.strip()
    bare = bare[1:-1].strip() if bare.startswith("{") and bare.endswith("}") else bare
    whole = f"{{{bare}, from: {first}, to: {second}}}"
    try:
        alone, part = read_text(f"{{{bare}}}"), read_text(whole).data
    except RigError:
        alone, part = Document("", {}, {}, ()), {}
    if (
        not alone.faults
        and "\n" not in bare
        and not {"from", "to"} & set(alone.data)
        and part == {**alone.data, "from": first, "to": second}
    ):
        return whole
    message = "not a part as a rig file has it, on one line, without from and to"
    raise RigError([Fault(message, field="stock", value=stock, allowed=example)])


def _free(text: str, section: str, name: str) -> None:
    """Refuse a name that can't be one, or that is taken.

    Raises:
        RigError: with it.
    """
    _word(section, name, name)
    document = read_text(text)
    held = document.data.get(section) if isinstance(document.data, dict) else None
    if isinstance(held, dict) and name in held:
        line = document.lines[(section, name)]
        raise RigError(
            [Fault(f"there is one of this name already, in line {line}", field=f"{section}.{name}")]
        )


def _word(section: str, name: str, word: str) -> None:
    if not NAME.fullmatch(word):
        field = section if name == word else f"{section}.{name}"
        message = "not a name" if word else "a name is wanted"
        raise RigError(
            [Fault(message, field=field, value=word, allowed="letters, digits and _, such as left_arm")]
        )


def _sound(text: str, section: str, name: str) -> str:
    """The text, unless the new entry has faults; those that the file has elsewhere aren't looked at.

    Raises:
        RigError: with those.
    """
    try:
        as_written(Source(text, "", {}, document=read_text(text)))
    except RigError as error:
        field = f"{section}.{name}"
        own = [
            replace(f, file=None, line=None) for f in error.faults if f"{f.field}.".startswith(f"{field}.")
        ]
        if own:
            raise RigError(own) from None
    except SimpropError:
        pass
    return text
