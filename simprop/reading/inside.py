"""What stands inside records that are read: each value by its place in the file, and a copy with another there."""

from __future__ import annotations

import typing
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, TypeVar

from pydantic import BeforeValidator

from simprop.catalog.friction import Surfaces
from simprop.reading.base import Record
from simprop.reading.fields import Point, how_written
from simprop.reading.text import Path

R = TypeVar("R", bound=Record)


def altered(record: R, **changes: Any) -> R:
    """A copy with other values of some fields, which aren't checked again.

    Args:
        changes: by the names of the fields.

    Example:
        >>> from simprop.drives.supplies import SupplySpec
        >>> altered(SupplySpec(voltage="12 V"), voltage=11.4).voltage
        11.4
    """
    cls = type(record)
    values = {name: getattr(record, name) for name in cls.model_fields} | changes
    return cls.model_construct(record.model_fields_set | changes.keys(), **values)


def inside(value: Any, path: Path = ()) -> Iterator[tuple[Path, Any, str]]:
    """Every number, point and pair of surfaces within a record, mapping or row.

    Args:
        value: where to look.
        path: of it in the file.

    Yields:
        Path in the file, the value in SI, and the kind that it is read as (a key of `simprop.quantities.KINDS`; ""
        where it has none).

    Example:
        >>> from simprop.rig.site import Wind
        >>> list(inside(Wind(speed="5 m/s")))[0]
        (('speed',), 5.0, 'speed')
    """
    yield from _inside(value, path, "")


def _inside(value: Any, path: Path, kind: str) -> Iterator[tuple[Path, Any, str]]:
    if isinstance(value, Point | Surfaces) or (isinstance(value, float) and not isinstance(value, bool)):
        yield path, value, kind
    elif isinstance(value, Record):
        for name, info in type(value).model_fields.items():
            own = getattr(value, name)
            yield from _inside(own, (*path, info.alias or name), _kind(type(value), name))
    elif isinstance(value, dict):
        for key, own in value.items():
            yield from _inside(own, (*path, str(key)), "")
    elif isinstance(value, tuple):
        for i, own in enumerate(value):
            yield from _inside(own, (*path, i), "")


@cache
def _kind(cls: type[Record], name: str) -> str:
    """The kind that a field of a record is read as; "" for one of another sort."""
    info = cls.model_fields[name]
    for one in _validators((info.annotation, *info.metadata)):
        written = how_written(one.func)
        if written is not None:
            return written[0]
    return ""


def _validators(hints: tuple[Any, ...]) -> Iterator[BeforeValidator]:
    for hint in hints:
        if isinstance(hint, BeforeValidator):
            yield hint
        yield from _validators(typing.get_args(hint))


def put(value: Any, path: Path, change: Callable[[Any], Any]) -> Any:
    """A copy of a record, mapping or row in which the value at a place is another.

    Args:
        value: in which.
        path: as `inside` tells it.
        change: makes the new value of the old one.

    Raises:
        KeyError: when there is no such place.

    Example:
        >>> from simprop.rig.site import Wind
        >>> put(Wind(speed="5 m/s"), ("speed",), lambda v: 2 * v).speed
        10.0
    """
    if not path:
        return change(value)
    key, rest = path[0], path[1:]
    if isinstance(value, Record):
        fields = type(value).model_fields
        name = next((n for n, info in fields.items() if (info.alias or n) == key), None)
        if name is None:
            raise KeyError(key)
        return altered(value, **{name: put(getattr(value, name), rest, change)})
    if isinstance(value, dict) and key in value:
        return {**value, key: put(value[key], rest, change)}
    if isinstance(value, tuple) and isinstance(key, int) and key < len(value):
        return (*value[:key], put(value[key], rest, change), *value[key + 1 :])
    raise KeyError(key)


def moved(value: Any, change: Callable[[Point], Point]) -> Any:
    """A copy in which every point is another; what has none stays as it is.

    Args:
        value: a record, a mapping or a row.
        change: makes the new point of the old one, or hands it back.

    Example:
        >>> moved({"a": Point(0.0, 0.0, 1.0, "pin")}, lambda p: p._replace(z=2.0))
        {'a': Point(x=0.0, y=0.0, z=2.0, name='pin')}
    """
    if isinstance(value, Point):
        return change(value)
    if isinstance(value, Record):
        own = {name: getattr(value, name) for name in type(value).model_fields}
        new = {name: moved(one, change) for name, one in own.items()}
        other = {name: one for name, one in new.items() if one is not own[name]}
        return altered(value, **other) if other else value
    if isinstance(value, dict):
        mapped = {key: moved(one, change) for key, one in value.items()}
        return mapped if any(mapped[key] is not one for key, one in value.items()) else value
    if type(value) is tuple:
        row = tuple(moved(one, change) for one in value)
        return row if any(a is not b for a, b in zip(row, value, strict=True)) else value
    return value
