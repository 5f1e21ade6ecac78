"""Motors and pushers as the builder states them: a catalogue name, or the same figures inline."""

from __future__ import annotations

from functools import cache
from math import inf
from typing import Annotated, Any, ClassVar

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, model_validator

from simprop.catalog.motors import motor as catalogue_motor
from simprop.drives.air import AirPusher
from simprop.drives.base import MOTORS, PUSHERS, MotorDrive, Pulses, PusherDrive, Switch
from simprop.drives.dc import DcMotor
from simprop.drives.given import GivenDrive
from simprop.drives.linear import LinearPusher
from simprop.drives.lock import LockPusher
from simprop.drives.mounts import Mounted
from simprop.drives.servo import ServoMotor
from simprop.drives.solenoid import SolenoidPusher
from simprop.drives.spindle import SpindlePusher
from simprop.drives.steady import SteadyTorque
from simprop.drives.stepper import StepperMotor
from simprop.drives.supplies import SupplyField, SupplySpec, source_of, wire_notes
from simprop.drives.synchronous import SynchronousMotor
from simprop.errors import UnknownNameError
from simprop.fasteners.ends import Ended, Held
from simprop.joints.kinds import Pair
from simprop.laws.supply import Source
from simprop.reading.base import INLINE, NAME_OR_INLINE, TEXT, Record
from simprop.reading.fields import Length, Mass, Place, Window, apart, fault
from simprop.reading.kinds import Kinds

for _motor in (DcMotor, SynchronousMotor, SteadyTorque, ServoMotor, StepperMotor, GivenDrive):
    MOTORS.add(_motor)
for _pusher in (LinearPusher, SpindlePusher, LockPusher, SolenoidPusher, AirPusher):
    PUSHERS.add(_pusher)


def _named(kinds: Kinds[Any], what: str) -> Any:
    def check(value: Any) -> str:
        if not isinstance(value, str):
            raise fault("a name of the catalogue or figures are wanted", "wiper, or {dc: {...}}")
        try:
            row = catalogue_motor(value)
        except UnknownNameError as error:
            raise fault("not a motor of the catalogue", ", ".join(error.allowed), error.nearest) from None
        if row.kind not in kinds.names:
            raise fault(f"{row.name!r} is not a {what}", ", ".join(kinds.names))
        return row.name

    return BeforeValidator(check)


MAINS = 0.15
"""A mains motor runs from its rated voltage within so large a share (assumed; mains keep within 10 %: IEC 60038)."""


def _fed(supply: SupplySpec | None, info: ValidationInfo) -> SupplySpec | None:
    """Refuse direct current for what runs from the mains, and the mains for what runs from direct current."""
    if supply is None or "motor" not in info.data:
        return supply
    figures = figures_of(info.data["motor"])
    if figures.direct and figures.electric and supply.frequency is not None:
        usual = f"{figures.rated:g} V 5 A"
        raise fault("it runs from direct current, and this is the mains", usual)
    if figures.mains and supply.frequency is None:
        raise fault("it runs from the mains, and this is direct current", "230 V 50 Hz, or 120 V 60 Hz")
    off = abs(supply.voltage - figures.rated) > MAINS * figures.rated
    if figures.mains and off:  # never where no rated voltage is known
        raise fault(f"it is made for {figures.facts}", f"{figures.rated:g} V within {100 * MAINS:.0f} %")
    return supply


Fed = Annotated[SupplyField | None, AfterValidator(_fed)]


class Motor(Record):
    """A motor on a joint: which, from what supply, and when it is on (always, unless `on` or a cue says).

    Attributes:
        joint: that it turns, from its first body on.
        motor: a class of the catalogue (`simprop drives`), or its figures inline: {dc: {...}}.
        supply: its own, such as 12 V 5 A, or the name of one in `supplies`; None: its rated voltage without loss.
        pwm: it is fed by pulses.
        reverse: it turns the other way: against the right hand about the joint's axis.
        on: when it runs, such as [0.5 s to 4 s, 6 s to 8 s]; None: always, or as the cues say.
        mount: what holds it, and on which of the joint's two bodies, which it then weighs on and is drawn with; None:
            it has no weight (draw it as a part of a body), and only a mark shows it.
    """

    joint: str
    motor: Annotated[
        Annotated[Annotated[str, _named(MOTORS, "motor for a joint")], TEXT]
        | Annotated[Annotated[MotorDrive, MOTORS], INLINE],
        NAME_OR_INLINE,
    ]
    supply: Fed = None
    pwm: Pulses | None = None
    reverse: Switch = False
    on: tuple[Window, ...] | None = None
    mount: Mounted | None = None

    @property
    def figures(self) -> MotorDrive:
        """What it is."""
        figures: MotorDrive = figures_of(self.motor)
        return figures

    @property
    def source(self) -> Source:
        """Its supply with the wire; its rated voltage without loss where the rig states none."""
        return source_of(self.supply, self.figures.rated)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed of its supply and its wire."""
        return self.figures.unfed if self.supply is None else wire_notes(self.supply)

    @model_validator(mode="after")
    def _pulsed(self) -> Motor:
        if self.pwm is not None and not self.figures.pulsed:
            raise fault("only a DC motor is fed by pulses", "remove pwm")
        return self


class Pusher(Ended):
    """A straight drive between a point on each of two bodies.

    Attributes:
        between: the two bodies.
        start: where it holds the first, in the start pose (``from`` in the file).
        end: where it holds the second (``to``).
        extension: how far it is out in the start pose, m (of a solenoid: its gap).
        held_by: what holds its ends to the bodies; None: not named.
        mass: weighed, kg: its ends share it; None: it weighs nothing, unless `weighs`.
        weighs: its ends share the weight of its class.
    """

    pwm: ClassVar[None] = None
    between: Pair
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    motor: Annotated[
        Annotated[Annotated[str, _named(PUSHERS, "pusher")], TEXT]
        | Annotated[Annotated[PusherDrive, PUSHERS], INLINE],
        NAME_OR_INLINE,
    ]
    supply: Fed = None
    extension: Length = 0.0
    reverse: Switch = False
    on: tuple[Window, ...] | None = None
    held_by: Held = None
    mass: Mass | None = None
    weighs: Switch = False

    @property
    def weight(self) -> float:
        """What its ends share, kg; 0 where it counts none."""
        if self.mass is not None:
            return self.mass
        named = self.weighs and isinstance(self.motor, str)
        return (catalogue_motor(self.motor).mass or 0.0) if named else 0.0

    @property
    def class_words(self) -> str:
        """That its weight is its class's."""
        return "; its weight is that of its class: weigh it" if self.mass is None else ""

    @property
    def figures(self) -> PusherDrive:
        """What it is."""
        figures: PusherDrive = figures_of(self.motor)
        return figures

    @property
    def source(self) -> Source:
        """Its supply with the wire; its rated voltage without loss where the rig states none."""
        return source_of(self.supply, self.figures.rated)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed of its supply and its wire."""
        return self.figures.unfed if self.supply is None else wire_notes(self.supply)

    @model_validator(mode="after")
    def _inside(self) -> Pusher:
        if self.weighs and self.mass is None and not isinstance(self.motor, str):
            raise fault("what this pusher weighs isn't known", "mass: 1.2 kg")
        if not 0 <= self.extension <= self.figures.reach and self.figures.reach < inf:
            raise fault("in the start pose it can't be further out than its stroke", "extension: 0 mm")
        apart(self.start, self.end)
        return self


@cache
def _of_catalogue(name: str) -> Any:
    row = catalogue_motor(name)
    kinds: Kinds[Any] = MOTORS if row.kind in MOTORS.names else PUSHERS
    return kinds.read({row.kind: dict(row.figures)})


def figures_of(spec: Any) -> Any:
    """What a drive is, by its catalogue name or as given inline.

    Args:
        spec: as in ``motors.NAME.motor`` or ``pushers.NAME.motor``.

    Returns:
        A `MotorDrive` or `PusherDrive`.

    Raises:
        UnknownNameError: when the catalogue has no such drive.

    Example:
        >>> round(figures_of("wiper").stall_torque, 3)
        15.0
    """
    return _of_catalogue(catalogue_motor(spec).name) if isinstance(spec, str) else spec
