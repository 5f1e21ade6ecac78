"""What all records of the rig model share: frozen, strict, and told apart by the key that names their kind."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Discriminator, Tag

from simprop.errors import nearest
from simprop.rig.fields import fault

TAG = "kind:"


class Record(BaseModel):
    """A frozen record of the rig file; unknown and missing keys are faults."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, arbitrary_types_allowed=True)


def by_key(*kinds: str, what: str) -> Discriminator:
    """Tells the members of a union apart by which of `kinds` is a key of the mapping.

    Args:
        kinds: the keys, one a member.
        what: what the union is called in messages, such as ``part``.
    """

    def find(value: Any) -> str | None:
        if isinstance(value, Record):
            return TAG + str(getattr(value, "kind", ""))
        if not isinstance(value, dict):
            raise fault(f"a {what} is a mapping such as {{{kinds[0]}: ...}}", ", ".join(kinds))
        found = [k for k in kinds if k in value]
        if len(found) == 1:
            return TAG + found[0]
        if found:
            raise fault(f"a {what} is of one kind, this one names {' and '.join(found)}", ", ".join(kinds))
        near = next((n for n in (nearest(k, kinds) for k in value) if n), None)
        raise fault(f"a {what} names its kind as a key", ", ".join(kinds), near)

    return Discriminator(find)


def text_or_mapping(value: Any) -> str:
    """Tells a catalogue name (``kind:text``) from an inline description (``kind:inline``)."""
    return TAG + ("inline" if isinstance(value, dict | BaseModel) else "text")


TEXT = Tag(TAG + "text")
INLINE = Tag(TAG + "inline")
NAME_OR_INLINE = Discriminator(text_or_mapping)
