"""What may stand in a rig file, read off the model itself: sections, kinds, keys."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BeforeValidator

from simprop.quantities import KINDS
from simprop.reading.base import Record
from simprop.reading.kinds import Kinds
from simprop.rig.model import Rig


@dataclass(frozen=True)
class Entry:
    """One kind of record.

    Attributes:
        place: where it stands, such as ``joints.NAME``.
        kind: the key that names its kind, or "".
        about: what it is, one sentence.
        needs: keys it must have, each with how to write its value where that is known.
        may: keys it may have, likewise.
    """

    place: str
    kind: str
    about: str
    needs: tuple[str, ...]
    may: tuple[str, ...]


def reference() -> list[Entry]:
    """Every kind of record of a rig file, place by place in the order of the model.

    Example:
        >>> [e.kind for e in reference() if e.place == "joints.NAME"]
        ['pin', 'slider', 'cylindrical', 'ball', 'fixed']
    """
    found = list(_walk("", Rig, set()))
    places = list(dict.fromkeys(e.place for e in found))
    return sorted(found, key=lambda e: places.index(e.place))


def _walk(place: str, record: type[Record], seen: set[type[Record]]) -> Iterator[Entry]:
    if record in seen:
        return
    seen.add(record)
    hints = typing.get_type_hints(record, include_extras=True)
    keys = {name: info for name, info in record.model_fields.items() if name != "kind"}
    kind_field = record.model_fields.get("kind")
    kind = str(kind_field.default) if kind_field is not None else ""
    shown = {n: _key(i.alias or n, hints[n]) for n, i in keys.items()}
    needs = tuple(shown[n] for n, i in keys.items() if i.is_required())
    may = tuple(shown[n] for n, i in keys.items() if not i.is_required())
    about = (record.__doc__ or "").strip().split("\n\n")[0].replace("\n    ", " ").replace("``", "")
    if place:
        yield Entry(place, kind, about, needs, may)
    for name, info in keys.items():
        key = info.alias or name
        for inner, named in _records(hints[name]):
            yield from _walk(f"{place}.{key}{named}".strip("."), inner, seen)


def _records(hint: Any, named: str = "") -> Iterator[tuple[type[Record], str]]:
    """Records inside a type, with ``.NAME`` for mappings and nothing for lists."""
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if isinstance(hint, type) and issubclass(hint, Record):
        yield hint, named
    elif origin is typing.Annotated:
        sorts = [extra for extra in inner[1:] if isinstance(extra, Kinds)]
        for sort in sorts:
            for kind in sort:
                yield kind, f"{named}.{kind.model_fields['kind'].default}" if sort.inside else named
        if not sorts:
            yield from _records(inner[0], named)
    elif origin in (typing.Union, types.UnionType, tuple, list):
        for one in inner:
            yield from _records(one, named)
    elif origin is dict:
        yield from _records(inner[1], named + ".NAME")


def _key(name: str, hint: Any) -> str:
    """A key with an example of its value where the type tells one."""
    words = _literals(hint)
    if words:
        return f"{name} ({' | '.join(words)})"
    example = _example(hint)
    return f"{name} ({example})" if example else name


def _literals(hint: Any) -> list[str]:
    if typing.get_origin(hint) is typing.Literal:
        return [str(word) for word in typing.get_args(hint)]
    return [w for inner in typing.get_args(hint) for w in _literals(inner)] if _plain(hint) else []


def _plain(hint: Any) -> bool:
    return typing.get_origin(hint) in (typing.Annotated, typing.Union, types.UnionType)


def _example(hint: Any) -> str | None:
    if typing.get_origin(hint) is typing.Annotated:
        for extra in typing.get_args(hint)[1:]:
            kind = (
                getattr(getattr(extra, "func", None), "kind", None)
                if isinstance(extra, BeforeValidator)
                else None
            )
            if kind in KINDS:
                return KINDS[kind][1].split(", ")[0]
    if _plain(hint):
        return next((e for inner in typing.get_args(hint) if (e := _example(inner))), None)
    return None
