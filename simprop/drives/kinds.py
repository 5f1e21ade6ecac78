"""Motors and pushers as the builder states them: a catalogue name, or the same figures inline."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, TypeAdapter, ValidationInfo, model_validator

from simprop.catalog.motors import motor as catalogue_motor
from simprop.drives.supplies import SupplyField, SupplySpec
from simprop.errors import UnknownNameError
from simprop.joints.kinds import Pair
from simprop.reading.base import INLINE, NAME_OR_INLINE, TEXT, Record
from simprop.reading.fields import (
    Angle,
    Current,
    Force,
    Frequency,
    HeatCapacity,
    Inertia,
    Length,
    Number,
    Place,
    Power,
    Pressure,
    Size,
    Speed,
    Spin,
    Stiffness,
    Temperature,
    ThermalResistance,
    Time,
    Torque,
    Voltage,
    Window,
    fault,
    read_scalar,
    scope_of,
)
from simprop.reading.kinds import Kinds

Switch = Annotated[bool, Field(strict=True)]
Share = Annotated[Number, Field(ge=0.0, le=1.0)]

__all__ = ["DriveFigures", "Motor", "MotorInline", "Pusher", "SupplySpec", "figures_of"]


class ThermalData(Record):
    """A motor as two heat stores, and the temperature its winding must not pass."""

    winding: HeatCapacity
    case: HeatCapacity
    winding_to_case: ThermalResistance
    case_to_air: ThermalResistance
    limit: Temperature = 105.0


class DcMotor(Record):
    """A brushed DC gearmotor by its line at the output shaft: two points of speed, torque and current.

    Attributes:
        rotor_inertia: of the armature; seen at the output it counts `gear_ratio` squared times. Where it
            isn't given, a run-up time constant of 20 ms is assumed and marked so.
        self_locking: a worm that the load can't drive and that holds when off.
        holding_torque: up to which it does, N*m; where not given, twice the stall torque (assumed).
        breakaway: extra torque that it needs to start from rest (cold grease), N*m.
        travel: angle between its own end stops, from the start pose both ways in half, rad; None without
            stops.
    """

    kind: Literal["dc"] = "dc"
    rated_voltage: Voltage
    no_load_speed: Spin
    stall_torque: Torque
    no_load_current: Current = 0.0
    stall_current: Current
    rotor_inertia: Inertia | None = None
    gear_ratio: Number = 1.0
    self_locking: Switch = False
    holding_torque: Torque | None = None
    breakaway: Torque = 0.0
    travel: Angle | None = None
    thermal: ThermalData | None = None


class SynchronousMotor(Record):
    """A mains gearmotor: one speed up to its pull-out torque; reverses when it stalls unless `reverses:
    false`.

    `speed` is that at `rated_frequency`; from a supply that states its frequency it turns in proportion.
    """

    kind: Literal["synchronous"] = "synchronous"
    speed: Spin
    pull_out_torque: Torque
    reverses: Switch = True
    reverse_delay: Time = 0.05
    starts: Literal["forward", "backward", "either"] = "forward"
    current: Current = 0.0
    rated_frequency: Frequency = 50.0
    rated_voltage: Voltage | None = None
    power: Power | None = None


class SteadyTorque(Record):
    """A constant torque (a falling weight, a bench test)."""

    kind: Literal["steady"] = "steady"
    torque: Torque


class ServoMotor(Record):
    """An RC servo: turns to the angle that a cue gives, counted from the start pose.

    Attributes:
        time_60: time for 60 degrees without load, s.
        dead_band: error that it ignores, rad to either side.
        full_band: error from which it drives in full, rad.
        friction: of its gears, which holds when it isn't driven, N*m.
        run_up: time constant of its own run-up, s.
    """

    kind: Literal["servo"] = "servo"
    rated_voltage: Voltage
    time_60: Time
    stall_torque: Torque
    stall_current: Current
    idle_current: Current = 0.01
    dead_band: Angle = 0.01
    full_band: Angle = 0.09
    friction: Torque = 0.0
    run_up: Time = 0.02

    @model_validator(mode="after")
    def _moves(self) -> ServoMotor:
        if min(self.time_60, self.run_up, self.stall_torque, self.rated_voltage, self.stall_current) <= 0:
            raise fault(
                "a servo's time, run-up, torque, current and voltage are above zero", "time_60: 0.2 s"
            )
        if not 0 <= self.dead_band < self.full_band:
            raise fault(
                "the dead band lies under the band of full drive", "dead_band: 0.5 deg, full_band: 5 deg"
            )
        return self


class LinearPusher(Record):
    """A lead-screw actuator by its speed without load and its rated force.

    Attributes:
        loaded_speed: at the rated force; three quarters of the free speed where not given (assumed).
        stroke: limit switches cut the motor at both ends, m.
        longest_run: allowed at a stretch, s.
        duty: allowed share of the time.
        stiffness: of the actuator with its brackets, N/m; 100 kN/m where not given (assumed).
    """

    kind: Literal["linear"] = "linear"
    rated_voltage: Voltage
    force: Force
    no_load_speed: Speed
    loaded_speed: Speed | None = None
    idle_current: Current
    full_load_current: Current
    stroke: Size
    self_locking: Switch = True
    longest_run: Time = 120.0
    duty: Share = 0.1
    stiffness: Stiffness | None = None

    @model_validator(mode="after")
    def _moves(self) -> LinearPusher:
        if min(self.rated_voltage, self.force, self.no_load_speed) <= 0:
            raise fault("an actuator's voltage, force and speed are above zero", "force: 330 N")
        if self.loaded_speed is not None and not 0 < self.loaded_speed < self.no_load_speed:
            raise fault("under its rated force it is slower than without load", "loaded_speed: 20 mm/s")
        if not 0 <= self.idle_current < self.full_load_current:
            raise fault(
                "under its rated force it takes more current than without load", "full_load_current: 4 A"
            )
        return self


class LockPusher(Record):
    """A door-lock actuator: shoots out, or back when reversed, on a short pulse."""

    kind: Literal["lock"] = "lock"
    rated_voltage: Voltage
    force: Force
    stroke: Size
    speed: Speed
    current: Current
    shortest_pulse: Time = 0.2
    longest_pulse: Time = 1.0
    burns_after: Time = 5.0

    @model_validator(mode="after")
    def _moves(self) -> LockPusher:
        if min(self.rated_voltage, self.force, self.speed) <= 0:
            raise fault("a lock actuator's voltage, force and speed are above zero", "force: 30 N")
        return self


def _gap_and_force(value: Any, info: ValidationInfo) -> Any:
    match = re.fullmatch(r"\s*(\S+\s*[a-z]+)\s+(\S+\s*[A-Za-z]+)\s*", str(value))
    if match is None:
        raise fault("a row of the table is a gap and a pull", "5 mm 10 N")
    return read_scalar(match[1], "length", scope_of(info)), read_scalar(match[2], "force", scope_of(info))


class SolenoidPusher(Record):
    """A magnet that pulls its two ends together, by a table of pull against gap from the pulled-in end."""

    kind: Literal["solenoid"] = "solenoid"
    rated_voltage: Voltage
    current: Current
    table: tuple[Annotated[tuple[float, float], BeforeValidator(_gap_and_force)], ...] = Field(min_length=2)

    @model_validator(mode="after")
    def _rises(self) -> SolenoidPusher:
        gaps = [gap for gap, _ in self.table]
        if gaps[0] != 0 or any(b <= a for a, b in pairwise(gaps)):
            raise fault("the gaps of a solenoid's table rise from 0 mm", "table: [0 mm 40 N, 5 mm 10 N]")
        if self.rated_voltage <= 0:
            raise fault("a solenoid's voltage is above zero", "rated_voltage: 12 V")
        return self


class AirPusher(Record):
    """An air cylinder with its five-port valve: on pushes out, reversed or off pulls in.

    Attributes:
        pressure: over atmosphere, Pa.
        cv: flow coefficient of valve and hose.
        exhaust_share: part of that left by the exhaust throttle, 0 to 1.
        cushion: length of the end cushions, m.
        cushion_share: part of the exhaust left within them.
        friction: of the seals, N; 5 % of the static push where not given (assumed).
        vented: both sides without pressure at the start, instead of held in.
        end_stiffness: of piston on end cap with the brackets, N/m.
    """

    kind: Literal["air"] = "air"
    bore: Size
    rod: Length = 0.0
    stroke: Size
    pressure: Pressure
    cv: Annotated[Number, Field(gt=0.0)]
    exhaust_share: Annotated[Number, Field(gt=0.0, le=1.0)] = 1.0
    cushion: Length = 0.0
    cushion_share: Annotated[Number, Field(gt=0.0, le=1.0)] = 0.05
    friction: Force | None = None
    vented: Switch = False
    end_stiffness: Stiffness = 2e5

    @model_validator(mode="after")
    def _fits(self) -> AirPusher:
        if not 0 <= self.rod < self.bore:
            raise fault("the rod is thinner than the bore", "bore: 25 mm, rod: 10 mm")
        if self.pressure <= 0:
            raise fault("the pressure over atmosphere is above zero", "pressure: 6 bar")
        if not 0 <= self.cushion < self.stroke / 2:
            raise fault("each cushion is shorter than half the stroke", "cushion: 10 mm")
        return self


DriveFigures = (
    DcMotor
    | SynchronousMotor
    | SteadyTorque
    | ServoMotor
    | LinearPusher
    | LockPusher
    | SolenoidPusher
    | AirPusher
)


class DcInline(Record):
    """A DC gearmotor described in the rig."""

    kind: Literal["dc"] = "dc"
    data: DcMotor = Field(alias="dc")


class SynchronousInline(Record):
    """A mains gearmotor described in the rig."""

    kind: Literal["synchronous"] = "synchronous"
    data: SynchronousMotor = Field(alias="synchronous")


class SteadyInline(Record):
    """A constant torque."""

    kind: Literal["steady"] = "steady"
    data: SteadyTorque = Field(alias="steady")


class ServoInline(Record):
    """A servo described in the rig."""

    kind: Literal["servo"] = "servo"
    data: ServoMotor = Field(alias="servo")


class LinearInline(Record):
    """A linear actuator described in the rig."""

    kind: Literal["linear"] = "linear"
    data: LinearPusher = Field(alias="linear")


class LockInline(Record):
    """A door-lock actuator described in the rig."""

    kind: Literal["lock"] = "lock"
    data: LockPusher = Field(alias="lock")


class SolenoidInline(Record):
    """A solenoid described in the rig."""

    kind: Literal["solenoid"] = "solenoid"
    data: SolenoidPusher = Field(alias="solenoid")


class AirInline(Record):
    """An air cylinder described in the rig."""

    kind: Literal["air"] = "air"
    data: AirPusher = Field(alias="air")


MOTORS: Kinds[Record] = Kinds("motor")
"""The kinds of motor."""

for _kind in (DcInline, SynchronousInline, SteadyInline, ServoInline):
    MOTORS.add(_kind)

MotorInline = Annotated[DcInline | SynchronousInline | SteadyInline | ServoInline, MOTORS]

PUSHERS: Kinds[Record] = Kinds("pusher")
"""The kinds of pusher."""

for _pusher in (LinearInline, LockInline, SolenoidInline, AirInline):
    PUSHERS.add(_pusher)

PusherInline = Annotated[LinearInline | LockInline | SolenoidInline | AirInline, PUSHERS]

TURNING = ("dc", "synchronous", "steady", "servo")
PUSHING = ("linear", "lock", "solenoid", "air")


def _named(kinds: tuple[str, ...], what: str) -> Any:
    def check(value: str) -> str:
        try:
            row = catalogue_motor(value)
        except UnknownNameError as error:
            raise fault("not a motor of the catalogue", ", ".join(error.allowed), error.nearest) from None
        if row.kind not in kinds:
            raise fault(f"{row.name!r} is not a {what}", ", ".join(kinds))
        return row.name

    return BeforeValidator(check)


class Pulses(Record):
    """A motor fed by pulses.

    Attributes:
        duty: share of each period that is on; a cue's speed takes its place.
        frequency: Hz.
        time_constant: inductance over resistance of the motor, s; 1 ms (assumed, 0.2 to 2 ms are usual).
    """

    duty: Share = 1.0
    frequency: Frequency
    time_constant: Time = 0.001

    @model_validator(mode="after")
    def _pulse(self) -> Pulses:
        if self.frequency <= 0 or self.time_constant <= 0:
            raise fault("pulses have a frequency and a time constant above zero", "frequency: 490 Hz")
        return self


class Motor(Record):
    """A motor on a joint: which, from what supply, and when it is on (always, unless `on` or a cue says)."""

    joint: str
    motor: Annotated[
        Annotated[Annotated[str, _named(TURNING, "motor for a joint")], TEXT]
        | Annotated[MotorInline, INLINE],
        NAME_OR_INLINE,
    ]
    supply: SupplyField | None = None
    pwm: Pulses | None = None
    reverse: Switch = False
    on: tuple[Window, ...] | None = None

    @model_validator(mode="after")
    def _pulsed(self) -> Motor:
        if self.pwm is not None and not isinstance(figures_of(self.motor), DcMotor):
            raise fault("only a DC motor is fed by pulses", "remove pwm")
        return self


class Pusher(Record):
    """A straight drive between a point on each of two bodies.

    Attributes:
        between: the two bodies.
        start: where it holds the first, in the start pose (``from`` in the file).
        end: where it holds the second (``to``).
        extension: how far it is out in the start pose, m (of a solenoid: its gap).
    """

    between: Pair
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    motor: Annotated[
        Annotated[Annotated[str, _named(PUSHING, "pusher")], TEXT] | Annotated[PusherInline, INLINE],
        NAME_OR_INLINE,
    ]
    supply: SupplyField | None = None
    extension: Length = 0.0
    reverse: Switch = False
    on: tuple[Window, ...] | None = None

    @model_validator(mode="after")
    def _inside(self) -> Pusher:
        figures = figures_of(self.motor)
        stroke = getattr(figures, "stroke", None)
        if stroke is not None and not 0 <= self.extension <= stroke:
            raise fault("in the start pose it can't be further out than its stroke", "extension: 0 mm")
        return self


@cache
def _catalogue_figures(name: str) -> Any:
    row = catalogue_motor(name)
    adapter: TypeAdapter[Any] = TypeAdapter(MotorInline if row.kind in TURNING else PusherInline)
    return adapter.validate_python({row.kind: dict(row.figures)}).data


def figures_of(spec: Any) -> Any:
    """The figures of a drive, by its catalogue name or as given inline.

    Args:
        spec: as in ``motors.NAME.motor`` or ``pushers.NAME.motor``.

    Returns:
        One of `DriveFigures`.

    Raises:
        UnknownNameError: when the catalogue has no such drive.

    Example:
        >>> round(figures_of("wiper").stall_torque, 3)
        15.0
    """
    return _catalogue_figures(catalogue_motor(spec).name) if isinstance(spec, str) else spec.data
