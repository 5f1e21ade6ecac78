"""What all records of the rig model share: frozen, strict, and told apart by the key that names their kind."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Discriminator, Tag

from simprop.errors import nearest

TAG = "kind:"
WRONG_KIND = "simprop_kind"


class Record(BaseModel):
    """A frozen record of the rig file; unknown and missing keys are faults."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, arbitrary_types_allowed=True, defer_build=True
    )


def wrong_kind(value: Any, what: str, kinds: list[str]) -> tuple[str, str | None]:
    """What to say of a mapping that doesn't name one of `kinds`, and the nearest kind."""
    if not isinstance(value, dict):
        return f"a {what} is a mapping such as {{{kinds[0]}: ...}}", None
    found = [k for k in kinds if k in value]
    if found:
        return f"a {what} is of one kind, this one names {' and '.join(found)}", None
    return f"a {what} names its kind as a key", next(
        (n for n in (nearest(k, kinds) for k in value) if n), None
    )


def text_or_mapping(value: Any) -> str:
    """Tells a catalogue name (``kind:text``) from an inline description (``kind:inline``)."""
    return TAG + ("inline" if isinstance(value, dict | BaseModel) else "text")


TEXT = Tag(TAG + "text")
INLINE = Tag(TAG + "inline")
NAME_OR_INLINE = Discriminator(text_or_mapping)
