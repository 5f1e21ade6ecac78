"""How far a built prop is off its rig: what differs from build to build, by how much, and the rig as one was built.

Four sorts of thing differ (`SORTS`):

- ``lengths``: each place that joints, springs, pushers, pulls and cords use is off by so much to either side along x, y
  and z, but not along the axis of its joint; places that must share an axis are off together (see `holes.drilled`).
  A place goes for all that uses it, so that the prop always goes together as drawn and the lengths between its joints
  are off by what is off at their two ends. Held lengths are cut off by so much. Where the place of a joint has no name,
  parts drawn to the same numbers stay.
- ``friction``: each friction of a joint, contact, coupling and cord is another share of what the rig says, at rest and
  sliding alike.
- ``motors``: what differs from piece to piece of each motor and pusher (torque and speed of a DC motor; see
  `simprop.drives.base.Drive.piece`).
- ``supplies``: voltage and limit of each direct-current supply.

A single thing may be named too: ``points.pin``, ``params.throw``, ``joints.tee.friction``, ``motors.drive.torque``,
``supplies.box.voltage``, or any value of the rig, such as ``springs.lift.rate`` or ``bodies.bob.parts.0.lump``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import pint

from simprop.catalog.friction import Surfaces
from simprop.errors import Fault, RigError, nearest, together
from simprop.quantities import QuantityError, to_si
from simprop.reading.expressions import evaluate
from simprop.reading.fields import Point
from simprop.reading.inside import inside
from simprop.reading.text import as_path, dotted
from simprop.rig.load import as_written
from simprop.rig.model import Rig
from simprop.study.vary.holes import Drilled, drilled

SORTS = ("lengths", "friction", "motors", "supplies")
"""Sorts of thing that differ from build to build."""
USUAL = ("lengths=1 mm", "friction=30 %", "motors=10 %", "supplies=5 %")
"""How far they are off where nothing is said (common practice, no source)."""
_RUBS = ("friction", "turning_friction", "mu")
DRIVEN = ("motors", "pushers")
"""Where what is driven stands."""
FED = ("voltage", "limit")
"""What differs of a supply."""
MOST = 0.95
"""A share by which something may be off at most, so that nothing gets to zero or turns its sign."""


@dataclass(frozen=True)
class Within:
    """How far something may be off.

    Attributes:
        place: a sort, or one place.
        size: to either side: a share, or metres of what is a place.
        keys: the keys of `Variant.scatter` that it stands for.
    """

    place: str
    size: float
    keys: tuple[str, ...]


def places(rig: Rig, sort: str) -> tuple[str, ...]:
    """The keys of all that differs of a sort in a rig.

    Args:
        rig: as read by `load_rig`.
        sort: one of `SORTS`.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Turner
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y, friction: 0.1 N*m}}
        ... motors: {turn: {joint: hook, motor: wiper, supply: 12 V 5 A}}
        ... run: {for: 1 s}
        ... ''')
        >>> [places(rig, sort) for sort in SORTS]  # doctest: +NORMALIZE_WHITESPACE
        [('joints.hook.at.x', 'joints.hook.at.z'), ('joints.hook.friction',),
         ('motors.turn.torque', 'motors.turn.speed'), ('motors.turn.supply.voltage', 'motors.turn.supply.limit')]
    """
    return _places(as_written(rig.source))[sort]


def _places(rig: Rig) -> dict[str, tuple[str, ...]]:
    return dict(
        zip(SORTS, (tuple(found(rig)) for found in (_lengths, _frictions, _pieces, _supplies)), strict=True)
    )


def _lengths(rig: Rig) -> Iterator[str]:
    for group in drilled(rig):
        yield from (f"{group.key}.{way}" for way in group.ways)
    yield from (f"bodies.{name}.hold.length" for name, body in rig.bodies.items() if body.hold is not None)


def _frictions(rig: Rig) -> Iterator[str]:
    for section in ("joints", "contacts", "couplings", "cords"):
        for path, value, _ in inside(getattr(rig, section), (section,)):
            if path[-1] in _RUBS and (isinstance(value, Surfaces) or value):
                yield dotted(path)


def _pieces(rig: Rig) -> Iterator[str]:
    for section in DRIVEN:
        for name, drive in getattr(rig, section).items():
            yield from (f"{section}.{name}.{word}" for word in drive.figures.varied)


def _supplies(rig: Rig) -> Iterator[str]:
    fed = {f"supplies.{name}": supply for name, supply in rig.supplies.items()}
    for section in DRIVEN:
        for name, drive in getattr(rig, section).items():
            if drive.supply is not None and drive.supply.shared is None:
                fed[f"{section}.{name}.supply"] = drive.supply
    for place, supply in fed.items():
        if supply.frequency is None:
            yield from (f"{place}.{key}" for key in FED if getattr(supply, key) is not None)


def withins_of(rig: Rig, texts: Sequence[str] = USUAL) -> tuple[Within, ...]:
    """What is said of how far things may be off; what is named by itself goes before its sort.

    Args:
        rig: as read by `load_rig`.
        texts: such as ``lengths=1 mm`` or ``joints.tee.friction=50 %``.

    Raises:
        RigError: for a place that isn't there, and for a size of the wrong kind.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... params: {long: 300 mm}
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: [long, 0 mm, 0 mm]}]}}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 1 s}
        ... ''')
        >>> withins_of(rig, ["params.long=3 mm"])
        (Within(place='params.long', size=0.01, keys=('params.long',)),)
    """
    drawn = as_written(rig.source)
    sorts = _places(drawn)

    def read(text: str) -> Sequence[Within]:
        place, sign, size = (word.strip() for word in text.partition("="))
        if not sign:
            raise off_fault(text, "it says what may be off, and by how much", allowed="lengths=1 mm")
        return tuple(_within(drawn, sorts, place, size))

    every = together(partial(read, text) for text in texts)
    named = {w.keys: w for own in every for w in own}  # the last word on a place counts
    return tuple(sorted(named.values(), key=lambda w: w.place not in SORTS))


def off_fault(field: str, message: str, value: str | None = None, **more: str | None) -> RigError:
    """An error of one fault of what may be off.

    Args:
        field: the place.
        message: what is wrong.
        value: as written.
        more: `allowed` and `nearest`.
    """
    return RigError([Fault(message, file="--within", field=field, value=value, **more)])  # type: ignore[arg-type]


def _within(rig: Rig, sorts: Mapping[str, tuple[str, ...]], place: str, text: str) -> Iterator[Within]:
    try:
        size = evaluate(text, {})
    except QuantityError as error:
        raise off_fault(place, str(error), text, allowed=error.allowed or "1 mm, 10 %") from None
    if place in sorts:
        lengths = place == "lengths"
        yield from _of_sort(
            rig, place, sorts[place], _sized(place, size, "length" if lengths else "number", text)
        )
        return
    group = _group_of(rig, place)
    if group is not None:
        size = _sized(place, size, "length", text)
        yield Within(place, size, tuple(f"{group.key}.{way}" for way in group.ways))
        return
    value, kind = _value(rig, sorts, place)
    yield Within(place, _share(place, size, value, kind, text), (place,))


def _of_sort(rig: Rig, sort: str, keys: tuple[str, ...], size: float) -> Iterator[Within]:
    """A sort as what is off by one share or one length each; held lengths are off by a share of their own."""
    held = tuple(key for key in keys if key.endswith(".hold.length"))
    yield Within(sort, size, tuple(key for key in keys if key not in held))
    for key in held:
        hold = rig.bodies[str(as_path(key)[1])].hold
        assert hold is not None
        yield Within(sort, size / hold.length, (key,))


def _sized(place: str, size: Any, kind: str, text: str) -> float:
    example = "1 mm" if kind == "length" else "10 %"
    try:
        found = to_si(size, kind)
    except QuantityError as error:
        raise off_fault(place, str(error), text, allowed=example) from None
    if found < 0.0 or (kind == "number" and found > MOST):
        raise off_fault(
            place,
            "out of range",
            text,
            allowed=f"0 to {100 * MOST:g} %" if kind == "number" else "0 mm and more",
        )
    return found


def _share(place: str, size: Any, value: Any, kind: str, text: str) -> float:
    """A size of a value's own unit, or a share, as a share of it."""
    if isinstance(size, pint.Quantity) and not size.dimensionless:
        if isinstance(value, Surfaces) or not value:
            raise off_fault(place, "it has no value that this could be a share of", text, allowed="10 %")
        try:
            if isinstance(value, pint.Quantity):
                size = abs(float((size / value).to("").magnitude))
            else:
                size = abs(to_si(size, kind or "number") / value)
        except (QuantityError, pint.DimensionalityError) as error:
            raise off_fault(
                place, str(error), text, allowed="10 %, or a size in the unit of the value"
            ) from None
    return _sized(place, size, "number", text)


def _group_of(rig: Rig, place: str) -> Drilled | None:
    """The places that a named point or a place of the file goes with."""
    found = next((g for g in drilled(rig) if place in g.keys), None)
    if found is None and place.startswith("points.") and place.removeprefix("points.") in rig.points:
        return Drilled(place, (place,), ())
    return found


def _value(rig: Rig, sorts: Mapping[str, tuple[str, ...]], place: str) -> tuple[Any, str]:
    """The value at a single place, and its kind; 1 where only a share of it means anything."""
    if place.startswith("params.") and place.removeprefix("params.") in rig.params:
        return rig.params[place.removeprefix("params.")], ""
    values = {
        dotted(path): (value, kind)
        for section in _scattered_sections(rig)
        for path, value, kind in inside(getattr(rig, section), (section,))
        if not isinstance(value, Point)
    }
    shares = {key for sort in SORTS[2:] for key in sorts[sort]}
    if place in shares and place not in values:
        return None, ""
    if place not in values:
        known = [
            *SORTS,
            *(f"params.{name}" for name in rig.params),
            *(f"points.{name}" for name in rig.points),
        ]
        known += [*shares, *values]
        allowed = ", ".join((*SORTS, "a point, a named value or a value of the rig"))
        raise off_fault(
            place, "nothing of that name can be off", nearest=nearest(place, known), allowed=allowed
        )
    value, kind = values[place]
    if isinstance(value, float) and value == 0.0:
        raise off_fault(
            place, "it is zero, and no share of that is anything", allowed="a value that isn't zero"
        )
    return value, kind


def _scattered_sections(rig: Rig) -> tuple[str, ...]:
    return tuple(
        n
        for n in type(rig).model_fields
        if isinstance(getattr(rig, n), dict) and n not in ("params", "points")
    )
