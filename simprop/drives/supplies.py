"""Power supplies, their wires, and the names by which motors share one."""

from __future__ import annotations

import re
from math import inf
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from simprop.laws.supply import Source, wire_resistance
from simprop.reading.base import Record
from simprop.reading.fields import (
    Current,
    Frequency,
    Resistance,
    Size,
    Temperature,
    Voltage,
    fault,
    read_scalar,
    scope_of,
)

_TEXT = re.compile(r"\s*(\S+\s*V)(?:\s+(\S+\s*m?A))?(?:\s+(\S+\s*Hz))?\s*$")
_WIRE = re.compile(r"\s*(\d+)\s*AWG\s+(?:(stranded|solid)\s+)?(\S.*)$", re.I)
EXAMPLE = "12 V 5 A, or 12 V, or 230 V 50 Hz"


class Wire(Record):
    """A two-wire line.

    Attributes:
        gauge: AWG.
        length: one way.
        strands: ``stranded`` (which drops 2.2 % more) or ``solid``; stranded where not given (assumed).
        temperature: of the metal; 75 degC, that of the tables, where not given (assumed: a cold line drops a fifth
            less).
        metal: copper, aluminium, or the copper-clad aluminium of cheap cable; copper where not given (assumed).
    """

    gauge: Annotated[int, Field(ge=0, le=40)]
    length: Size
    strands: Literal["stranded", "solid"] = "stranded"
    temperature: Annotated[Temperature, Field(ge=-50.0, le=150.0)] = 75.0
    metal: Literal["copper", "aluminium", "copper-clad aluminium"] = "copper"

    @property
    def resistance(self) -> float:
        """There and back, ohm."""
        return 2 * wire_resistance(
            self.gauge,
            self.length,
            self.temperature,
            stranded=self.strands == "stranded",
            metal=self.metal,
        )

    @property
    def about(self) -> str:
        """What it is, in words."""
        made = f"{self.strands} {self.metal} at {self.temperature:g} degC"
        return f"{self.gauge} AWG {made}, {self.length:g} m: {self.resistance:.3g} ohm there and back"

    @property
    def assumed(self) -> str:
        """What of that the rig doesn't state, in words; "" where it states all."""
        left = [k for k in ("strands", "temperature", "metal") if k not in self.model_fields_set]
        return f"{', '.join(left)} assumed" if left else ""


def _wire(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, dict | Wire):
        return value
    match = _WIRE.match(str(value))
    if match is None:
        raise fault("a wire is its gauge and its length one way", "18 AWG 4 m, or 18 AWG solid 4 m")
    gauge, strands, length = match.groups()
    read_scalar(length, "length", scope_of(info))
    found = {"gauge": int(gauge), "length": length}
    return found if strands is None else {**found, "strands": strands.lower()}


class SupplySpec(Record):
    """A supply.

    Attributes:
        voltage: V.
        limit: current that it can give, A; None: as much as asked.
        frequency: of the mains, Hz; None for direct current.
        wire: line to its motors; None: without loss.
        resistance: of the supply itself (an old battery), ohm.
        shared: name in `supplies` that several motors use; None for a supply of its own.
    """

    voltage: Voltage
    limit: Current | None = None
    frequency: Frequency | None = None
    wire: Annotated[Wire, BeforeValidator(_wire)] | None = None
    resistance: Resistance = 0.0
    shared: str | None = None

    @model_validator(mode="after")
    def _gives(self) -> SupplySpec:
        if self.voltage <= 0:
            raise fault("a supply's voltage is above zero; to turn a motor round say reverse: true", EXAMPLE)
        if self.limit == 0 or self.frequency == 0:
            raise fault("a supply gives more than 0 A, and mains more than 0 Hz", EXAMPLE)
        return self


def source_of(supply: SupplySpec | None, rated: float) -> Source:
    """A supply with its wire; without a supply, the rated voltage (V) and as much current as asked."""
    if supply is None:
        return Source(rated)
    wire = 0.0 if supply.wire is None else supply.wire.resistance
    limit = inf if supply.limit is None else supply.limit
    return Source(supply.voltage, limit, wire + supply.resistance, supply.shared or "")


def wire_notes(supply: SupplySpec) -> tuple[str, ...]:
    """What is said and assumed of the line of a supply; nothing without one."""
    wire = supply.wire
    if wire is None:
        return ()
    return (f"wire {wire.about}" + (f" ({wire.assumed})" if wire.assumed else ""),)


def _supply(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, dict | SupplySpec):
        return value
    match = _TEXT.match(str(value))
    if match is None:
        raise fault("a supply is a voltage and the current it can give, or a name of supplies", EXAMPLE)
    scope = scope_of(info)
    read_scalar(match[1], "voltage", scope)
    found = {"voltage": match[1]}
    if match[2] is not None:
        read_scalar(match[2], "current", scope)
        found["limit"] = match[2]
    if match[3] is not None:
        found["frequency"] = match[3]
    return found


SupplyField = Annotated[SupplySpec, BeforeValidator(_supply)]


def share_supplies(data: Any) -> Any:
    """The file's data with each supply that is named in `supplies` put where it is used.

    Args:
        data: mappings and lists of a rig file, or anything else (handed back as it is).

    Example:
        >>> box = {"voltage": "12 V", "limit": "5 A"}
        >>> changed = share_supplies({"supplies": {"box": box}, "motors": {"lift": {"supply": "box"}}})
        >>> changed["motors"]["lift"]
        {'supply': {'voltage': '12 V', 'limit': '5 A', 'shared': 'box'}}
    """
    if not isinstance(data, dict):
        return data
    named = data.get("supplies")
    if not isinstance(named, dict):
        return data
    changed = dict(data)
    for section in ("motors", "pushers"):
        users = data.get(section)
        if isinstance(users, dict):
            changed[section] = {name: _resolved(user, named) for name, user in users.items()}
    return changed


def _resolved(user: Any, named: dict[str, Any]) -> Any:
    if not isinstance(user, dict) or not isinstance(user.get("supply"), str):
        return user
    name = user["supply"].strip()
    if name not in named:
        return user
    what = named[name]
    if isinstance(what, dict):
        return {**user, "supply": {**what, "shared": name}}
    match = _TEXT.match(str(what))
    if match is None:
        return {**user, "supply": what}
    parts = dict(zip(("voltage", "limit", "frequency"), match.groups(), strict=True))
    return {**user, "supply": {**{k: v for k, v in parts.items() if v is not None}, "shared": name}}
