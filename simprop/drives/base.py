"""What a class of drive is: its figures in the rig file, and all that the rooms further on ask of it.

A class stands in a file of its own and enters its sort by `MOTORS.add` or `PUSHERS.add`. A motor must say its form
(`Motor.shaft`), a pusher its pull (`Pusher.pull`); both what they can give (`able`). Everything else has an answer here
that a class may replace.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite, nan, prod
from typing import Annotated, Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator
from typing_extensions import Self

from simprop.catalog.spreads import Tunable
from simprop.drives.able import Able, Candidate, Curves, Demand, curves_of, speed_at
from simprop.drives.supplies import SupplySpec
from simprop.geometry.arrays import Array
from simprop.geometry.finish import finish_of
from simprop.laws.cues import Command
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.forms import LinePull, Mounting, Note, Shaft
from simprop.laws.servo import Servo
from simprop.laws.supply import Source
from simprop.laws.thermal import Thermal
from simprop.pulls.looks import Frames, ram
from simprop.reading.base import Record
from simprop.reading.fields import Frequency, Number, Time, fault
from simprop.reading.kinds import Kinds

Switch = Annotated[bool, Field(strict=True)]
Share = Annotated[Number, Field(ge=0.0, le=1.0)]

MOST_VOLTAGE = 1.25
"""A drive isn't run from more than so many times its rated voltage (assumed)."""
RUN_UP = 0.02
"""Run-up time constant of a motor whose rotor isn't stated, s (assumed)."""
RATIO = 50.0
"""Gear ratio of such a motor where that isn't stated either (assumed; counts only where the motor moves)."""


@dataclass(frozen=True)
class Wiring:
    """How the rig wires a motor.

    Attributes:
        supply: None: its rated voltage, and as much current as asked.
        command: what it is told.
        pulses: that it is fed by, or None.
        windows: whether its `on` times are its own and not a cue's.
        seed: of the run.
    """

    supply: SupplySpec | None
    command: Command
    pulses: Pulses | None
    windows: bool
    seed: int


@dataclass(frozen=True)
class Seen:
    """Rows of a run at a drive, each (n,), in its own sense.

    Attributes:
        time: s.
        speed: rad/s or m/s.
        share: of full voltage that it is told, -1 to 1.
        current: A; NaN where not known.
        given: what it put on the axis or between its points (a push), N*m or N.
        out: how far a pusher is out, m.
        gain: acceleration, rad/s^2 or m/s^2.
    """

    time: Array
    speed: Array
    share: Array
    current: Array
    given: Array
    out: Array
    gain: Array


@dataclass(frozen=True)
class Use:
    """How a drive was used, for what it has to say of it.

    Attributes:
        seen: its rows.
        stretches: start and end of each stretch that it was on, s.
        planned: those over an hour of the cues where they loop, with the time that they belong to, s.
    """

    seen: Seen
    stretches: Sequence[tuple[float, float]]
    planned: tuple[Sequence[tuple[float, float]], float]


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


class Drive(Record):
    """Figures of a drive, and all that it is.

    Attributes:
        title: heading of its classes in a table.
        word: what a person calls one of them.
        turns: it turns (rad/s and N*m); False: it pushes (m/s and N).
        direct: it runs from direct current of any voltage up to `MOST_VOLTAGE` times its rated one; False: from mains,
            air or nothing.
        mains: it runs from the mains.
        electric: it takes current.
        sized: whether its margin means anything.
        follows: it goes where a pose sends it, and knows no speed.
        pulsed: it may be fed by pulses.
        runs_up: it comes up to a speed at which it then runs, and its start is told apart; False: each of its moves is
            a snap or follows a place, and how that begins is how it works.
        replaces: kinds of drive in whose place a class of this kind is proposed; () for its own.
        spare: what it can give over the peak load where it is proposed.
        continuous: share of its rated stall that it may give for ever where the catalogue says none; None: not known.
        volts: at which its classes are listed, V.
        cautions: that it brings with it.
        unwired: why neither wire nor hose goes to it; "" where one does.
        steered: only a controller makes it go.
        coil: it kicks back when it is switched off.
        tunable: its figures that readings on the built prop can tell, all on its straight line.
        varied: words for what differs from piece to piece of one class, as `piece` takes them.
    """

    title: ClassVar[str] = ""
    word: ClassVar[str] = "motor"
    turns: ClassVar[bool] = True
    direct: ClassVar[bool] = True
    mains: ClassVar[bool] = False
    electric: ClassVar[bool] = True
    sized: ClassVar[bool] = True
    follows: ClassVar[bool] = False
    pulsed: ClassVar[bool] = False
    runs_up: ClassVar[bool] = True
    replaces: ClassVar[tuple[str, ...]] = ()
    spare: ClassVar[float] = 1.5
    continuous: ClassVar[float | None] = None
    volts: ClassVar[tuple[float, ...]] = (3.3, 5.0, 12.0)
    cautions: ClassVar[tuple[str, ...]] = ()
    unwired: ClassVar[str] = ""
    steered: ClassVar[bool] = False
    coil: ClassVar[bool] = False
    tunable: ClassVar[tuple[Tunable, ...]] = ()
    varied: ClassVar[tuple[str, ...]] = ()
    kind: str = ""

    @property
    def facts(self) -> str:
        """What else a class of it is chosen by, in a few words."""
        return ""

    @property
    def rated(self) -> float:
        """Rated voltage, V; NaN without one."""
        return float(getattr(self, "rated_voltage", None) or nan)

    @property
    def air(self) -> float | None:
        """Pressure over atmosphere of the air that it runs from, Pa; None where it doesn't."""
        return None

    def through(self, told: Collection[str], pulsed: bool) -> str:
        """What a controller needs between the supply and it; "" for nothing but a signal.

        Args:
            told: sorts of what it is told, such as ``on`` or ``backward``.
            pulsed: it is fed by pulses.

        Source: common practice, no source.

        Example:
            >>> from simprop.drives.kinds import figures_of
            >>> figures_of("wiper").through({"on", "backward"}, False)
            'reversing switch'
        """
        both = "backward" in told
        if pulsed or "speed" in told:
            return "motor driver with pulses" + (", both ways" if both else "")
        return "reversing switch" if both else "switch"

    def live(self, told: Collection[str]) -> bool:
        """Whether what it is told puts its case at the supply's voltage.

        Args:
            told: sorts of what it is told.
        """
        return False

    @property
    def unfed(self) -> tuple[str, ...]:
        """What is assumed where the rig names no supply."""
        if not (self.direct and self.electric):
            return ()
        return (f"no supply is named: {self.rated:g} V, and as much current as it asks (assumed)",)

    def line(self) -> DcLine | None:
        """Its straight line at the output, or None where it has none."""
        return None

    def piece(self, off: Mapping[str, float]) -> Self:
        """Another piece of the same class.

        Where it is stronger or quicker it takes more current by as much, so that its efficiency stays and never gets
        above one.

        Args:
            off: by how large a share it is off in what `varied` names.

        Example:
            >>> from simprop.drives.kinds import figures_of
            >>> one = figures_of("wiper").piece({"torque": 0.1})
            >>> round(one.stall_torque, 2), round(one.stall_current, 2)
            (16.5, 16.5)
        """
        return self

    @abstractmethod
    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        """What it can do.

        Args:
            source: its supply with the wire; None: its rated voltage without loss.
            part: share of full voltage, 0 to 1.
        """

    def able_at(self, voltage: float) -> Able | None:
        """What it can do at a direct voltage; None where that is too much for it or means nothing to it.

        Example:
            >>> from simprop.drives.kinds import figures_of
            >>> figures_of("wiper").able_at(5.0).stall_current, figures_of("synchronous 5/6 rpm").able_at(5.0)
            (6.25, None)
        """
        return self.able(Source(voltage)) if self.direct and not self.too_much(voltage) else None

    def too_much(self, voltage: float) -> bool:
        """Whether it doesn't stand a voltage."""
        return voltage > MOST_VOLTAGE * self.rated

    def curves(self, voltage: float) -> Curves | None:
        """Its curves over its speed; None where it has none."""
        line = self.line()
        return None if line is None else curves_of(line, voltage)

    @property
    def limit(self) -> float | None:
        """Load that it may not be asked to exceed although its line reaches further, N*m or N."""
        return None

    def carries(self, asked: Demand, continuous: float | None) -> list[Candidate]:
        """At what voltages a class with these figures would carry what a prop asks.

        Args:
            continuous: share of its rated stall that it may give for ever; None: not known.
        """
        can = self.able()
        if asked.peak_load <= 0 or not asked.peak_load * self.spare <= can.stall:
            return []
        return [self._candidate(asked, can)]

    def _candidate(self, asked: Demand, can: Able) -> Candidate:
        line, speed, current = self.line(), can.speed, nan
        if line is not None:
            speed = speed_at(line, can.voltage, asked.mean_load)
            current = asked.peak_load / line.torque_constant + line.friction_current
        comparable = asked.speed > 0 and isfinite(speed) and not self.follows
        pace = speed / asked.speed if comparable else nan
        return Candidate(can.voltage, speed, pace, 1 - asked.peak_load / can.stall, current)

    def asked(self, seen: Seen, inertia: float) -> tuple[Array, Array]:
        """What a prop asked of it: the way it drove, 1 or -1, and the load that way, never below zero, each (n,).

        Without its own friction, and without what its own rotor takes.

        Args:
            inertia: of its rotor at the output.
        """
        way = np.where(seen.given < 0, -1.0, 1.0)
        return way, np.where(seen.share != 0, np.abs(seen.given), 0.0)

    def thermal_data(self) -> tuple[Thermal, float] | None:
        """Its heat stores, and the limit of its winding, degC; None where not known."""
        return None

    def remarks(self, use: Use) -> list[str]:
        """What a builder should know of how it was used, one sentence each."""
        return []


class MotorDrive(Drive):
    """Figures of a motor on a joint."""

    @abstractmethod
    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        """Its form for an engine."""

    def goes_round(self, source: Source, duration: float) -> float:
        """How far it surely turns on and on the same way where nothing holds it, rad; 0 where it doesn't.

        Args:
            source: its supply with the wire.
            duration: that it is fed, s.
        """
        return 0.0

    @property
    def span(self) -> tuple[float, float] | None:
        """Between which angles from the start pose it goes, rad; None where that isn't given."""
        return None

    @property
    def turns_back(self) -> bool:
        """Whether it turns the other way by itself where it is held."""
        return False

    def position_law(self) -> Servo | None:
        """How it follows a commanded place; None where it doesn't."""
        return None


class PusherDrive(Drive):
    """Figures of a straight drive between two points."""

    turns: ClassVar[bool] = False

    @abstractmethod
    def pull(self, mounting: Mounting, note: Note) -> LinePull:
        """Its form for an engine."""

    @property
    def reach(self) -> float:
        """How far it can go out, m; inf where its figures don't say."""
        return float(getattr(self, "stroke", inf))

    def asked(self, seen: Seen, inertia: float) -> tuple[Array, Array]:
        """As of any drive; what its own ends take isn't asked of it."""
        way = np.where(seen.share < 0, -1.0, 1.0)
        return way, np.where(self.within(seen.out), np.maximum(0.0, seen.given * way), 0.0)

    def drawn(self, lengths: Array) -> Frames:
        """How it looks, in the three frames of a line (see `simprop.pulls.looks`).

        Args:
            lengths: of the line over the run, (n,) m.
        """
        return ram(lengths, finish_of("aluminium"), block=True)

    def within(self, out: Array) -> NDArray[np.bool_]:
        """Where it is between its own ends."""
        return np.asarray((out >= 0.0) & (out <= self.reach))


MOTORS: Kinds[MotorDrive] = Kinds("motor", inside=True)
"""The kinds of motor."""

PUSHERS: Kinds[PusherDrive] = Kinds("pusher", inside=True)
"""The kinds of pusher."""


def as_law(law: type[Any], figures: Record, **more: Any) -> Any:
    """A law whose fields are named as the figures', with what is worked out put over them.

    Args:
        law: its dataclass.
        more: fields worked out.
    """
    named = {name: getattr(figures, name) for name in law.__dataclass_fields__ if hasattr(figures, name)}
    return law(**(named | more))


def grown(off: Mapping[str, float], *words: str) -> tuple[float, ...]:
    """How many times as large a piece is in what some words name, and in all of them together.

    Args:
        off: as of `Drive.piece`.

    Example:
        >>> [round(v, 3) for v in grown({"torque": 0.1, "speed": -0.1}, "torque", "speed")]
        [1.1, 0.9, 0.99]
    """
    each = [1.0 + off.get(word, 0.0) for word in words]
    return (*each, prod(each))


def possible(line: DcLine) -> None:
    """Refuse a line along which more power comes out at the shaft than goes in at the terminals.

    The torque a motor makes of an ampere and the volts it makes of its speed are one constant seen from two sides; the
    first is larger only where figures are mixed up, and friction hides a little of that.

    Raises:
        PydanticCustomError: with the power of both.
    """
    stalled = line.rated_voltage / line.resistance
    current = np.linspace(line.friction_current, stalled, 101)[1:-1]
    speed = (line.rated_voltage - line.resistance * current) / line.speed_constant
    out = line.torque_constant * (current - line.friction_current) * speed
    worst = int(np.argmax(out / current))
    taken = line.rated_voltage * float(current[worst])
    if out[worst] > taken:
        said = f"{float(out[worst]):.3g} W come out of {taken:.3g} W"
        raise fault(f"no motor gives more power than it takes: {said}", "figures that belong together")


ROUNDED = 1.02
"""By so much the two constants of a line may differ by rounding of its figures (assumed)."""


def doubt(line: DcLine, note: Note) -> None:
    """Say where a motor makes more torque of an ampere than its speed makes volts.

    In SI units both are one constant of the winding, N*m/A or V*s/rad; gears and friction only lower the first. A line
    that has it larger gives power from nothing, if friction doesn't hide it: one of its figures is off.

    Source: energy balance of a winding, any text on electrical machines.

    Args:
        note: where to say it.

    Example:
        >>> said = []
        >>> doubt(DcLine(0.8, 1.0, 1.0, 1.5, 12.0), said.append), doubt(DcLine(0.8, 1.0, 1.2, 1.5, 12.0), said.append)
        (None, None)
        >>> said[0][:69]
        'CAUTION: it makes 1.2 N*m of an ampere, and its speed makes 1 V*s/rad'
    """
    if line.torque_constant > ROUNDED * line.speed_constant:
        note(
            f"CAUTION: it makes {line.torque_constant:.3g} N*m of an ampere, and its speed makes "
            f"{line.speed_constant:.3g} V*s/rad: no motor makes more of the first than of the second (in N and m/s "
            "for an actuator), so it would give power from nothing; look at stall torque and currents, or at the speed"
        )


def line_asked(line: DcLine, seen: Seen, way: Array, inertia: float) -> Array:
    """Load of a straight line by its current, less its own friction and what its rotor takes, (n,).

    Args:
        way: that it drove, 1 or -1, (n,).
        inertia: of its rotor at the output.
    """
    net = line.torque_constant * seen.current * way - friction_torque(line) - inertia * way * seen.gain
    return np.asarray(np.maximum(0.0, np.where(seen.share != 0, net, 0.0)))


def rotor(line: DcLine, run_up: float) -> float:
    """Inertia of a rotor at the output by its run-up time constant, kg*m^2 or kg.

    Args:
        run_up: s.
    """
    return run_up * line.torque_constant * line.speed_constant / line.resistance
