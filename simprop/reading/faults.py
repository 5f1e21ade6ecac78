"""What a validator found wrong with a file, as faults: line, field, value, what was allowed and the nearest name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from simprop.errors import Fault, nearest
from simprop.reading.base import TAG, WRONG_KIND, Record, wrong_kind
from simprop.reading.expressions import DEPENDS
from simprop.reading.keys import keys_of
from simprop.reading.kinds import flat
from simprop.reading.text import Document, Path, dotted

_BOUNDS = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
_WANTED = {
    "bool_type": "true or false",
    "int_type": "a whole number",
    "string_type": "text",
    "dict_type": "a mapping",
    "model_type": "a mapping",
    "model_attributes_type": "a mapping",
    "tuple_type": "a list",
}


def faults_of(
    error: ValidationError, whole: type[Record], data: dict[str, Any], document: Document
) -> list[Fault]:
    """The faults of a file.

    Args:
        error: what its validation raised.
        whole: what it is read as.
        data: what was read.
        document: where it stands in the file.
    """
    return [_fault(e, whole, data, document) for e in flat(error.errors(include_url=False))]


def ordered(faults: Sequence[Fault]) -> list[Fault]:
    """Each fault once, in the order of the file, without those that only follow from another."""
    unique = [f for f in dict.fromkeys(faults) if not f.message.startswith(DEPENDS)]
    return sorted(unique, key=lambda f: f.line or 0)


def fault_at(
    path: Path, message: str, document: Document, value: Any = None, allowed: str | None = None
) -> Fault:
    """A fault of the field at `path` of a file."""
    shown = None if value is None else _shown(value)
    return document.located(Fault(message, field=dotted(path), value=shown, allowed=allowed))


def custom_fault(
    path: Path, context: Mapping[str, Any], message: str, value: Any, document: Document
) -> Fault:
    """A fault that says what is allowed and the nearest name itself, in its context."""
    fault = Fault(
        message,
        field=dotted(path),
        value=_shown(value),
        allowed=context.get("allowed"),
        nearest=context.get("nearest"),
    )
    return document.located(fault)


def _shown(value: Any) -> str | None:
    if isinstance(value, (dict, list)):
        return None
    return "true" if value is True else "false" if value is False else str(value)


def _fault(error: Any, whole: type[Record], data: dict[str, Any], document: Document) -> Fault:
    path: Path = tuple(p for p in error["loc"] if not (isinstance(p, str) and p.startswith(TAG)))
    kind, value = error["type"], error.get("input")
    if kind == "simprop":
        return custom_fault(path, error["ctx"], error["msg"], value, document)
    if kind == WRONG_KIND:
        what, _, names = error["msg"].partition(": ")
        kinds = names.split(", ")
        message, near = wrong_kind(value, what, kinds)
        return custom_fault(path, {"allowed": ", ".join(kinds), "nearest": near}, message, value, document)
    if kind == "extra_forbidden":
        allowed = keys_of(whole, path[:-1], data)
        near = nearest(str(path[-1]), allowed)
        return custom_fault(
            path, {"allowed": ", ".join(allowed), "nearest": near}, "unknown key", {}, document
        )
    if kind == "missing":
        return fault_at(path, "this key is missing", document)
    if kind == "literal_error":
        allowed = [w.strip("'\" ") for w in re.split(r",| or ", error["ctx"]["expected"])]
        near = nearest(str(value), allowed)
        told = {"allowed": ", ".join(allowed), "nearest": near}
        return custom_fault(path, told, "not one of the words for this", value, document)
    if kind == "too_short":
        return fault_at(path, f"at least {error['ctx']['min_length']} is wanted", document)
    bound = next(
        (f"{word} {error['ctx'][key]:g}" for key, word in _BOUNDS.items() if key in error.get("ctx", {})),
        None,
    )
    if bound is not None:
        return custom_fault(path, {}, f"must be {bound}", value, document)
    wanted = _WANTED.get(kind)
    message = f"{wanted} is wanted" if wanted else error["msg"][:1].lower() + error["msg"][1:]
    return custom_fault(path, {}, message, value, document)
