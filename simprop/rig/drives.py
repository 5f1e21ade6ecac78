"""Motors as the builder states them: a catalogue name or the same figures inline."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, Tag, ValidationInfo

from simprop.rig.base import INLINE, NAME_OR_INLINE, TAG, TEXT, Record, by_key
from simprop.rig.fields import (
    Current,
    Inertia,
    Number,
    Spin,
    Time,
    Torque,
    Voltage,
    Window,
    fault,
    read_scalar,
    scope_of,
)


class DcMotor(Record):
    """A brushed DC gearmotor by its line at the output shaft: two points of speed, torque and current.

    `rotor_inertia` is that of the armature; seen at the output it counts `gear_ratio` squared times. Where it is
    not given, a run-up time constant of 20 ms is assumed and marked so.
    """

    kind: Literal["dc"] = "dc"
    rated_voltage: Voltage
    no_load_speed: Spin
    stall_torque: Torque
    no_load_current: Current = 0.0
    stall_current: Current
    rotor_inertia: Inertia | None = None
    gear_ratio: Number = 1.0


class SynchronousMotor(Record):
    """A mains gearmotor: one speed up to its pull-out torque; reverses when it stalls unless `one_way`."""

    kind: Literal["synchronous"] = "synchronous"
    speed: Spin
    pull_out_torque: Torque
    reverses: Annotated[bool, Field(strict=True)] = True
    reverse_delay: Time = 0.05
    starts: Literal["forward", "backward", "either"] = "forward"
    current: Current = 0.0


class SteadyTorque(Record):
    """A constant torque (a falling weight, a bench test)."""

    kind: Literal["steady"] = "steady"
    torque: Torque


class DcInline(Record):
    kind: Literal["dc"] = "dc"
    data: DcMotor = Field(alias="dc")


class SynchronousInline(Record):
    kind: Literal["synchronous"] = "synchronous"
    data: SynchronousMotor = Field(alias="synchronous")


class SteadyInline(Record):
    kind: Literal["steady"] = "steady"
    data: SteadyTorque = Field(alias="steady")


MotorInline = Annotated[
    Annotated[DcInline, Tag(TAG + "dc")]
    | Annotated[SynchronousInline, Tag(TAG + "synchronous")]
    | Annotated[SteadyInline, Tag(TAG + "steady")],
    by_key("dc", "synchronous", "steady", what="motor"),
]


class SupplySpec(Record):
    """A supply by its voltage and the current it can give (None: as much as asked)."""

    voltage: Voltage
    limit: Current | None = None


def _supply(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, (dict, SupplySpec)):
        return value
    match = re.fullmatch(r"\s*(\S+\s*V)(?:\s+(\S+\s*m?A))?\s*", str(value))
    if match is None:
        raise fault("a supply is a voltage and the current it can give", "12 V 5 A, or 12 V")
    scope = scope_of(info)
    limit = None if match[2] is None else read_scalar(match[2], "current", scope)
    return {"voltage": match[1], "limit": match[2]} if limit is not None else {"voltage": match[1]}


class Motor(Record):
    """A motor on a joint: which, from what supply, and when it is on (always, unless `on` says)."""

    joint: str
    motor: Annotated[Annotated[str, TEXT] | Annotated[MotorInline, INLINE], NAME_OR_INLINE]
    supply: Annotated[SupplySpec, BeforeValidator(_supply)] | None = None
    reverse: Annotated[bool, Field(strict=True)] = False
    on: tuple[Window, ...] | None = None
