"""Which keys may stand at a path of a rig file."""

from __future__ import annotations

from typing import Any

from simprop.reading.keys import keys_of
from simprop.reading.text import Path
from simprop.rig.model import Rig


def keys_at(path: Path, data: Any) -> list[str]:
    """The keys that a mapping at `path` may have; empty where any name is free.

    Args:
        path: keys and indices from the top.
        data: the file's data, to tell members of a union apart.

    Example:
        >>> keys_at(("joints", "wrist"), {"joints": {"wrist": {"ball": ["a", "b"]}}})
        ['at', 'held_by', 'give', 'ball']
    """
    return keys_of(Rig, path, data)
