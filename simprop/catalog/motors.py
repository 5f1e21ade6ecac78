"""Motors, actuators and supplies by neutral class, each row written as in a rig file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from simprop.catalog.load import find, needed, table, value
from simprop.errors import SimpropError


@dataclass(frozen=True)
class MotorRow:
    """A class of drive.

    Attributes:
        name: catalogue name.
        kind: of drive, as the key that names it in a rig file.
        figures: its figures as they would stand in a rig file under that key.
        continuous_share: share of its stall torque that it may give for ever; None where not known.
        mass: kg; None where not known.
        source: where the figures come from.
        assumed: names of the figures that no publication gives.
        note: what else a builder should know.
    """

    name: str
    kind: str
    figures: Mapping[str, Any]
    continuous_share: float | None
    mass: float | None
    source: str
    assumed: tuple[str, ...]
    note: str


@cache
def motor(name: str) -> MotorRow:
    """A class of drive by its name or an alias; case and spacing don't matter.

    Raises:
        UnknownNameError: for a name the catalogue doesn't have.

    Example:
        >>> motor("Wiper").name, motor("wiper medium low").figures["stall_torque"]
        ('wiper medium low', '15 N*m')
    """
    rows = table("motors")
    key = find("motor", name, rows)
    row = rows[key]
    kind = next((key for key, inside in row.items() if isinstance(inside, dict)), None)
    if kind is None:
        raise SimpropError(f"the catalogue's row {key!r} names no kind of drive")
    return MotorRow(
        name=key,
        kind=kind,
        figures=MappingProxyType(dict(row[kind])),
        continuous_share=value(row, "continuous_share", "number"),
        mass=value(row, "mass", "mass"),
        source=str(row["source"]),
        assumed=tuple(row.get("assumed", ())),
        note=str(row.get("note", "")),
    )


def motors(kind: str | None = None) -> tuple[MotorRow, ...]:
    """All classes, or those of one kind, in the order of the catalogue.

    Example:
        >>> [m.name for m in motors("lock")]
        ['door lock']
    """
    return tuple(m for m in map(motor, table("motors")) if kind in (None, m.kind))


@dataclass(frozen=True)
class SupplyRow:
    """A usual supply: voltage V, limit A."""

    name: str
    voltage: float
    limit: float
    source: str


def supplies(voltage: float | None = None) -> tuple[SupplyRow, ...]:
    """Usual supplies, or those of one voltage, weakest first.

    Example:
        >>> [s.limit for s in supplies(12.0)][:3]
        [2.0, 3.0, 5.0]
    """
    rows = [
        SupplyRow(
            name, needed(row, "voltage", "voltage"), needed(row, "limit", "current"), str(row["source"])
        )
        for name, row in table("supplies").items()
    ]
    found = [s for s in rows if voltage is None or abs(s.voltage - voltage) < 1e-9]
    return tuple(sorted(found, key=lambda s: (s.voltage, s.limit)))
