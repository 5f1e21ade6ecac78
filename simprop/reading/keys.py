"""Which keys may stand at a path of a file, found from the types of the records that read it."""

from __future__ import annotations

import types
import typing
from functools import cache
from typing import Any

from pydantic import Tag

from simprop.reading.base import TAG, Record
from simprop.reading.kinds import Kinds
from simprop.reading.text import Path


def keys_of(whole: type[Record], path: Path, data: Any) -> list[str]:
    """The keys that a mapping at `path` may have; empty where any name is free.

    Args:
        whole: what the file is read as.
        path: keys and indices from the top.
        data: the file's data, to tell members of a union apart.

    Example:
        >>> class Lamp(Record):
        ...     volts: float
        ...     glow: float = 1.0
        >>> keys_of(Lamp, (), {})
        ['volts', 'glow']
    """
    kind: Any = whole
    for i, key in enumerate(path):
        value = _get(data, path[:i])
        kind = _kind_inside(kind, value, key) or _inside(_member(kind, value), key)
        if kind is None:
            return []
    sort = _sort(kind)
    if sort is not None and sort.inside:
        return list(sort.names)
    record = _member(kind, _get(data, path))
    return _keys(record) if isinstance(record, type) and issubclass(record, Record) else []


def _keys(record: type[Record]) -> list[str]:
    return [f.alias or name for name, f in record.model_fields.items() if name != "kind"]


def _get(data: Any, path: Path) -> Any:
    for key in path:
        try:
            data = data[key]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _member(kind: Any, value: Any) -> Any:
    """The one type that `value` is read as: unions resolved, annotations stripped."""
    while typing.get_origin(kind) is typing.Annotated:
        sort = next((extra for extra in typing.get_args(kind)[1:] if isinstance(extra, Kinds)), None)
        if sort is not None:
            key = sort.key_of(value)
            return None if key is None else sort[key]
        kind = typing.get_args(kind)[0]
    if typing.get_origin(kind) not in (typing.Union, types.UnionType):
        return kind
    members = [m for m in typing.get_args(kind) if m is not type(None)]
    tags = {_tag(m): m for m in members}
    if isinstance(value, dict):
        for tag, member in tags.items():
            if tag in value or tag == "inline":
                return _member(member, value)
    records = [
        m for m in (_member(m, value) for m in members) if isinstance(m, type) and issubclass(m, Record)
    ]
    return records[0] if len(records) == 1 else None


def _sort(kind: Any) -> Kinds[Any] | None:
    """The sort of kinds that a type stands for; None where it stands for none."""
    while typing.get_origin(kind) is typing.Annotated:
        for extra in typing.get_args(kind)[1:]:
            if isinstance(extra, Kinds):
                return extra
        kind = typing.get_args(kind)[0]
    inner = (_sort(member) for member in typing.get_args(kind)) if _is_union(kind) else ()
    return next((sort for sort in inner if sort is not None), None)


def _is_union(kind: Any) -> bool:
    return typing.get_origin(kind) in (typing.Union, types.UnionType)


def _kind_inside(kind: Any, value: Any, key: str | int) -> Any:
    """The kind whose figures stand under a key that names it."""
    sort = _sort(kind)
    return (
        sort[key]
        if sort is not None and sort.inside and key in sort.names and isinstance(value, dict)
        else None
    )


def _tag(kind: Any) -> str | None:
    if typing.get_origin(kind) is typing.Annotated:
        for extra in typing.get_args(kind)[1:]:
            if isinstance(extra, Tag):
                return extra.tag.removeprefix(TAG)
    return None


@cache
def _hints(kind: type[Record]) -> dict[str, Any]:
    return typing.get_type_hints(kind, include_extras=True)


def _inside(kind: Any, key: str | int) -> Any:
    origin = typing.get_origin(kind)
    if isinstance(kind, type) and issubclass(kind, Record):
        for name, info in kind.model_fields.items():
            if (info.alias or name) == key:
                return _hints(kind)[name]
        return None
    if origin is dict:
        return typing.get_args(kind)[1]
    if origin in (tuple, list):
        return typing.get_args(kind)[0]
    return None
