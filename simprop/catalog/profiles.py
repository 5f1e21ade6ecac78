"""Slotted aluminium profiles."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from simprop.catalog.load import find, needed, table


@dataclass(frozen=True)
class SlottedData:
    """A square profile with a slot along each side; lengths in m.

    Attributes:
        name: catalogue name, such as ``20 mm``.
        side: outside.
        slot: opening of a slot.
        lip: thickness of the lips beside it.
        hollow: width of the hollow behind the lips.
        web: thickness of the webs from the core to the corners.
        core: side of the core.
        bore: diameter of the hole along it.
        source: where the figures come from.
    """

    name: str
    side: float
    slot: float
    lip: float
    hollow: float
    web: float
    core: float
    bore: float
    source: str


@cache
def slotted(name: str) -> SlottedData:
    """A profile by its side: ``20 mm``.

    Raises:
        UnknownNameError: for one that the catalogue doesn't have.

    Example:
        >>> slotted("2020").side
        0.02
    """
    rows = table("profiles")
    key = find("profile", name, rows)
    row = rows[key]
    lengths = {k: needed(row, k, "length") for k in ("side", "slot", "lip", "hollow", "web", "core", "bore")}
    return SlottedData(name=key, **lengths, source=str(row["source"]))
