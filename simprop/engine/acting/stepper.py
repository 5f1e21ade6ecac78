"""What must be decided once a step: cues, supplies that sag, pulses, servos, wedging gears and straight
drives.

Between two decisions the voltage at each motor's terminals stays, so that engines step the motor's
straight line as they would anyway.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import copysign, inf, nan

from simprop.engine.acting.straight import Fed, Straight
from simprop.laws import servo as servos
from simprop.laws.cues import Signal, read
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.locking import Locking, Wedge, advance
from simprop.laws.pwm import Circuit, chopped, course
from simprop.laws.supply import Load, Source, share

SLOW = 0.25
"""Pulses of fewer than this many periods a step are followed through each period; of quicker ones the mean
counts."""
REST = 2e-3
"""Share of the no-load speed under which a sticky motor counts as standing."""


@dataclass(frozen=True)
class Travel:
    """A motor's own end stops, of the coordinate, with their stiffness and damping."""

    low: float
    high: float
    stiffness: float
    damping: float


@dataclass(frozen=True)
class Control:
    """What decides about a DC motor at each step.

    Attributes:
        source: index into `Actuation.sources`.
        signal: share of full voltage that it is told, -1 to 1; None: always full.
        gear: a self-locking gear, or None.
        servo: electronics of a servo, or None.
        pose: where a servo is told to be, rad.
        pulses: (frequency Hz, time constant s) of the motor's pulses, or None for a smooth voltage.
        travel: the motor's own end stops, or None.
        breakaway: extra torque to start from rest, N*m (of a motor without a self-locking gear).
    """

    source: int
    signal: Signal | None = None
    gear: Locking | None = None
    servo: servos.Servo | None = None
    pose: Signal | None = None
    pulses: tuple[float, float] | None = None
    travel: Travel | None = None
    breakaway: float = 0.0


@dataclass(frozen=True)
class Steered:
    """A DC motor with its control: index of the motor, its axis, sense and line."""

    motor: int
    axis: int
    sense: float
    line: DcLine
    inertia: float
    control: Control


@dataclass(frozen=True)
class Pushing:
    """A straight drive with what it is told.

    Attributes:
        line: index into `Actuation.lines`.
        fed: its law.
        electric: its column of currents and voltages; -1 where it takes no current.
        source: index into `Actuation.sources`; -1 for none.
        signal: share of full voltage, -1 to 1; None: always full.
        sense: +1, or -1 reversed.
    """

    line: int
    fed: Fed
    electric: int
    source: int
    signal: Signal | None
    sense: float


class Stepper:
    """Decides once a step; see the module.

    Attributes:
        terminal: motor -> voltage at its terminals for the coming step, in the motor's sense, V; None: cut
            off, or wedged so that its torque doesn't reach the axis.
        extra: axis -> further load of motors on the axis.
        drives: axis -> (speed, largest load) to hold it to.
        pulls: line -> its pull, N.
        voltage, current: of every motor and straight drive; NaN where this stepper doesn't know.
    """

    def __init__(
        self,
        motors: Sequence[Steered],
        pushing: Sequence[Pushing],
        sources: Sequence[Source],
        columns: int,
    ):
        self._motors, self._sources = motors, sources
        self._pushing = [(p, Straight(p.fed)) for p in pushing]
        self.terminal: dict[int, float | None] = {}
        self.extra: dict[int, float] = {}
        self.drives: dict[int, tuple[float, float]] = {}
        self.pulls: dict[int, float] = {p.line: 0.0 for p in pushing}
        self.voltage, self.current = [nan] * columns, [nan] * columns
        self._wedges = {m.motor: Wedge() for m in motors if m.control.gear is not None}
        self._before: dict[int, tuple[float, float]] = {}
        self._amps: dict[int, float] = {}

    def step(
        self,
        time: float,
        coordinate: Sequence[float],
        rate: Sequence[float],
        *,
        lines: Mapping[int, tuple[float, float]],
        felt: Mapping[int, float],
        step: float,
    ) -> None:
        """Decide for the coming step.

        Args:
            time: s.
            coordinate: of each axis.
            rate: of each axis.
            lines: line -> (length m, rate m/s) of each straight drive.
            felt: axis -> load with which it was held to its speed in the last step.
            step: s.
        """
        told = {m.motor: self._told(m, time, coordinate, rate) for m in self._motors}
        spin = {m.motor: self._motor_speed(m, rate) for m in self._motors}
        bus = self._share(told, spin, time)
        self.extra = {}
        for m in self._motors:
            self._motor(
                m, told[m.motor], bus[m.control.source], coordinate, rate, felt=felt, time=time, step=step
            )
        for p, straight in self._pushing:
            length, lengthening = lines[p.line]
            share_ = self._pusher_share(p, time)
            volts = bus[p.source] if p.source >= 0 else 1.0
            volts_on = None if share_ == 0.0 else share_ * volts
            self.pulls[p.line] = straight.tension(time, length, lengthening, step, volts_on)
            if p.electric >= 0:
                self.current[p.electric] = straight.current
                self.voltage[p.electric] = 0.0 if volts_on is None else volts_on

    def _told(
        self, m: Steered, time: float, coordinate: Sequence[float], rate: Sequence[float]
    ) -> float | None:
        """Share of the supply's voltage that the motor gets, -1 to 1; None: cut off."""
        control = m.control
        if control.servo is not None:
            if control.signal is not None and read(control.signal, time) == 0.0:
                return None
            pose = 0.0 if control.pose is None else read(control.pose, time)
            error = pose - m.sense * coordinate[m.axis]
            return servos.drive(control.servo, error, m.sense * rate[m.axis])
        if control.signal is None:
            return 1.0
        value = read(control.signal, time)
        return None if value == 0.0 else value

    def _motor_speed(self, m: Steered, rate: Sequence[float]) -> float:
        wedge = self._wedges.get(m.motor)
        return wedge.speed if wedge is not None and wedge.held else m.sense * rate[m.axis]

    @staticmethod
    def _pusher_share(p: Pushing, time: float) -> float:
        return p.sense * (1.0 if p.signal is None else read(p.signal, time))

    def _share(self, told: dict[int, float | None], spin: dict[int, float], time: float) -> list[float]:
        """Voltage of each source at its loads."""
        loads: list[list[Load]] = [[] for _ in self._sources]
        for m in self._motors:
            part = told[m.motor]
            idle = m.control.servo.idle_current if m.control.servo is not None else 0.0
            if part is None or part == 0.0:
                loads[m.control.source].append(Load(0.0, fixed=idle))
                continue
            emf = m.line.speed_constant * spin[m.motor] / part
            whole = m.control.pulses is None and m.control.servo is None
            loads[m.control.source].append(Load(part**2 / m.line.resistance, emf, idle, whole))
        for p, straight in self._pushing:
            if p.source < 0:
                continue
            part = self._pusher_share(p, time)
            law = p.fed.law
            line = getattr(law, "line", None)
            if part == 0.0:
                continue
            if isinstance(line, DcLine):
                loads[p.source].append(Load(part**2 / line.resistance, straight.emf / part))
            elif p.electric >= 0:
                rated = law.current / law.rated_voltage  # type: ignore[union-attr]
                loads[p.source].append(Load(abs(part) * rated))
        return [share(s, row).voltage for s, row in zip(self._sources, loads, strict=True)]

    def _motor(
        self,
        m: Steered,
        part: float | None,
        bus: float,
        coordinate: Sequence[float],
        rate: Sequence[float],
        *,
        felt: Mapping[int, float],
        time: float,
        step: float,
    ) -> None:
        control, line, k = m.control, m.line, m.motor
        speed = m.sense * rate[m.axis]
        volts = None if part is None else part * bus
        was = self._motor_speed(m, rate)
        if control.pulses is not None:
            volts = self._pulse(m, part, bus, was, time=time, step=step)
        wedge = self._wedge(m, volts, speed, felt, step)
        if volts is None:
            self.current[k], self.voltage[k] = 0.0, line.speed_constant * was
        else:
            self.current[k], self.voltage[k] = (
                (volts - line.speed_constant * was) / line.resistance,
                volts,
            )
        held = wedge is not None and wedge.held
        self.terminal[k] = None if held else volts
        extra = 0.0
        if control.travel is not None:
            extra += _stopped(control.travel, coordinate[m.axis], rate[m.axis], m.inertia, step)
        if control.breakaway > 0.0 and volts is not None and wedge is None:
            extra += m.sense * _stuck(line, volts, speed, control.breakaway)
        if extra:
            self.extra[m.axis] = self.extra.get(m.axis, 0.0) + extra
        if wedge is not None:
            if held:
                self.drives[m.axis] = (m.sense * wedge.speed, control.gear.holding if control.gear else inf)
            else:
                self.drives.pop(m.axis, None)

    def _pulse(
        self, m: Steered, part: float | None, bus: float, speed: float, *, time: float, step: float
    ) -> float | None:
        """Smooth voltage with the same current: its mean for quick pulses, its course for slow ones."""
        frequency, tau = m.control.pulses or (1.0, 1.0)
        if part is None:
            self._amps[m.motor] = 0.0
            return None
        if frequency * step > SLOW:
            return _pulsed(m.line, bus, part, speed, (frequency, tau))
        emf = m.line.speed_constant * speed * copysign(1.0, part)
        circuit = Circuit(bus, emf, m.line.resistance, tau)
        mean, last = course(
            circuit, self._amps.get(m.motor, 0.0), min(1.0, abs(part)), frequency, (time - step / 2, step)
        )
        self._amps[m.motor] = last
        return copysign(mean * m.line.resistance + emf, part)

    def _wedge(
        self, m: Steered, volts: float | None, speed: float, felt: Mapping[int, float], step: float
    ) -> Wedge | None:
        gear = m.control.gear
        if gear is None:
            return None
        old = self._wedges[m.motor]
        before, pushed = self._before.get(m.motor, (speed, 0.0))
        rubbed = copysign(friction_torque(m.line), before) if before != 0.0 else 0.0
        given = m.sense * felt.get(m.axis, 0.0) if old.held else pushed
        contact = given - rubbed - gear.inertia * (speed - before) / step
        new = advance(gear, old, volts, speed, contact=contact, step=step)
        self._wedges[m.motor] = new
        push = 0.0
        if volts is not None:
            push = m.line.torque_constant * (volts - m.line.speed_constant * speed) / m.line.resistance
        self._before[m.motor] = (speed, push)
        return new


def _pulsed(line: DcLine, bus: float, part: float, speed: float, pulses: tuple[float, float]) -> float:
    """Smooth voltage that gives the mean current of pulses."""
    way = copysign(1.0, part)
    emf = line.speed_constant * speed * way
    if emf < 0.0 or bus <= 0.0:
        return part * bus
    got = chopped(bus, emf, line.resistance, pulses[1], duty=min(1.0, abs(part)), frequency=pulses[0])
    return way * (got.mean * line.resistance + emf)


def _stopped(travel: Travel, at: float, rate: float, inertia: float, step: float) -> float:
    """Load of a motor's own end stops on the axis, never towards them."""
    depth = at - min(max(at, travel.low), travel.high)
    if depth == 0.0:
        return 0.0
    damping = travel.damping / (1 + travel.damping * step / inertia)
    load = -travel.stiffness * depth - damping * rate
    return 0.0 if load * depth > 0 else load


def _stuck(line: DcLine, volts: float, speed: float, breakaway: float) -> float:
    """What a sticky motor at rest takes off its own torque."""
    if abs(speed) > REST * abs(line.rated_voltage / line.speed_constant):
        return 0.0
    push = line.torque_constant * (volts - line.speed_constant * speed) / line.resistance
    spare = abs(push) - friction_torque(line)
    return -copysign(min(breakaway, spare), push) if 0.0 < spare <= breakaway else 0.0
