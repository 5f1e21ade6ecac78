"""The rig format as JSON Schema (draft 2020-12), read off the model, so that an editor completes and checks."""

from __future__ import annotations

import types
import typing
from typing import Any, Literal

from pydantic import BeforeValidator

from simprop.reading.base import Record
from simprop.reading.fields import how_written
from simprop.reading.kinds import Kinds
from simprop.rig.model import Rig
from simprop.rig.reference import told_of

DRAFT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Any]

ROWS = ("point", "direction", "sizes", "moments", "window")
"""Values that may be a list as well."""
MARK: Schema = {"type": ["string", "number"]}
"""A value: a number with its unit, or arithmetic on named values."""
PLAIN: dict[Any, Schema] = {
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    str: {"type": "string"},
    float: MARK,
    type(None): {"type": "null"},
}


def json_schema() -> Schema:
    """The schema of a rig file.

    What stands in the values themselves - units, names that must be there, two points that are one - isn't in it:
    `simprop check` tells that.

    Example:
        >>> made = json_schema()
        >>> made["required"], made["properties"]["rig"]["const"]
        (['rig', 'name', 'bodies', 'run'], 1)
    """
    writer = _Writer()
    whole = writer.record(Rig)
    return {"$schema": DRAFT, "title": "A simprop rig", **whole, "$defs": writer.made}


class _Writer:
    """Writes types as schemas; each record once, under its name.

    Attributes:
        made: schemas of records by name.
    """

    def __init__(self) -> None:
        self.made: dict[str, Schema] = {}

    def record(self, record: type[Record]) -> Schema:
        """A mapping with the keys of a record and no others."""
        hints = typing.get_type_hints(record, include_extras=True)
        about, told = told_of(record)
        properties: dict[str, Schema] = {}
        needed = []
        for name, info in record.model_fields.items():
            if name == "kind":
                continue
            key = info.alias or name
            own = self.of(hints[name])
            if told.get(name):
                own = {"description": told[name], **own}
            properties[key] = own
            if info.is_required():
                needed.append(key)
        found: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
        if needed:
            found["required"] = needed
        return {"description": about, **found} if about else found

    def named(self, record: type[Record]) -> Schema:
        """The same by its name."""
        name = record.__name__
        if name not in self.made:
            self.made[name] = {}
            self.made[name] = self.record(record)
        return {"$ref": f"#/$defs/{name}"}

    def of(self, hint: Any) -> Schema:
        """Schema of a type."""
        origin, inner = typing.get_origin(hint), typing.get_args(hint)
        if hint in PLAIN:
            return dict(PLAIN[hint])
        if isinstance(hint, type) and issubclass(hint, Record):
            return self.named(hint)
        if origin is typing.Annotated:
            return self._annotated(inner)
        if origin is Literal:
            return {"const": inner[0]} if len(inner) == 1 else {"enum": list(inner)}
        if origin in (typing.Union, types.UnionType):
            return _any([self.of(one) for one in inner])
        if origin is dict:
            return {"type": "object", "additionalProperties": self.of(inner[1])}
        if origin in (tuple, list):
            return self._row(inner)
        return {}

    def _row(self, inner: tuple[Any, ...]) -> Schema:
        if len(inner) != 2 or inner[1] is not Ellipsis:
            items = [self.of(one) for one in inner]
            return {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}
        return {"type": "array", "items": self.of(inner[0])}

    def _annotated(self, inner: tuple[Any, ...]) -> Schema:
        for extra in inner[1:]:
            if isinstance(extra, Kinds):
                return self._kinds(extra)
        for extra in inner[1:]:
            if isinstance(extra, BeforeValidator):
                return self._read(extra, inner[0])
        return self.of(inner[0])

    def _kinds(self, sort: Kinds[Any]) -> Schema:
        if sort.inside:
            kinds = {name: self.named(sort[name]) for name in sort.names}
            return {
                "type": "object",
                "properties": kinds,
                "additionalProperties": False,
                "minProperties": 1,
                "maxProperties": 1,
            }
        return _any([self.named(sort[name]) for name in sort.names])

    def _read(self, reader: BeforeValidator, hint: Any) -> Schema:
        """What a reader of text takes."""
        how = how_written(reader.func)
        if how is None:  # one of its own: text, and what its type may be written as besides
            return _any([MARK, {"type": "array"}, self.of(hint)])
        topic, example = how
        found: Schema = {"anyOf": [{"type": "string"}, {"const": 0}]}  # nothing needs no unit
        if topic == "number":
            found = dict(MARK)
        elif topic in ROWS:
            found = {"type": ["string", "array"]}
        if topic == "point" and "dict" in str(hint):
            found = _any([found, {"type": "object", "additionalProperties": dict(found)}])
        return {**found, "examples": [example]}


def _any(options: list[Schema]) -> Schema:
    """One of some schemas, each once."""
    flat: list[Schema] = []
    for option in options:
        flat += option["anyOf"] if set(option) == {"anyOf"} else [option]
    once = [option for k, option in enumerate(flat) if option not in flat[:k]]
    return once[0] if len(once) == 1 else {"anyOf": once}
