"""Coarse threads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from simprop.catalog.load import find, needed, table


@dataclass(frozen=True)
class Thread:
    """A thread.

    Attributes:
        name: catalogue name, such as ``M8``.
        diameter: outside, m.
        pitch: m.
        depth: by how many pitches a plain rod of the same strength is thinner.
        source: where the figures come from.
    """

    name: str
    diameter: float
    pitch: float
    depth: float
    source: str


@cache
def thread(name: str) -> Thread:
    """A coarse thread by its name: ``M8``, ``1/4-20``.

    Raises:
        UnknownNameError: for one that the catalogue doesn't have.

    Example:
        >>> thread("m8").pitch
        0.00125
    """
    rows = table("threads")
    key = find("thread", name, rows)
    row = rows[key]
    return Thread(
        name=key,
        diameter=needed(row, "diameter", "length"),
        pitch=needed(row, "pitch", "length"),
        depth=needed(row, "depth", "number"),
        source=str(row["source"]),
    )
