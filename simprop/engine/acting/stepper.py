"""What must be decided once a step: commands, supplies that sag, pulses, places to go to, wedging gears and straight
drives.

Between two decisions the voltage at each motor's terminals stays, so that engines step the motor's
straight line as they would anyway.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import copysign, inf, nan

from simprop.drives.able import Able
from simprop.laws.cues import Signal, read
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.forms import Control, Mounted, Travel
from simprop.laws.locking import Wedge, advance
from simprop.laws.pwm import Circuit, chopped, course
from simprop.laws.supply import Load, Source, line_voltage, loads_at

SLOW = 0.25
"""Pulses of fewer than this many periods a step are followed through each period; of quicker ones the mean
counts."""
REST = 2e-3
"""Share of the no-load speed under which a sticky motor counts as standing."""
ROUNDING = 1e-6
"""Share of it that an engine's rounding may move what a wedged gear holds still."""


@dataclass(frozen=True)
class Controlled:
    """A straight line with its control: index of the motor, its axis, sense, line and rotor."""

    motor: int
    axis: int
    sense: float
    line: DcLine
    inertia: float
    control: Control


@dataclass(frozen=True)
class LineDrive:
    """A straight drive or pull with what it is told.

    Attributes:
        name: as in the rig.
        line: index into `Actuation.lines`.
        mounted: its law where it sits.
        column: of its current and voltage; -1 where it takes no current.
        source: index into `Actuation.sources`; -1 for none.
        signal: share of full voltage, -1 to 1; None: always full.
        sense: +1, or -1 reversed.
        able: what it can give from its supply at the largest share that it is told; None for a pull.
    """

    name: str
    line: int
    mounted: Mounted
    column: int = -1
    source: int = -1
    signal: Signal | None = None
    sense: float = 1.0
    able: Able | None = None


class Stepper:
    """Decides once a step; see the module.

    Attributes:
        terminal: motor -> voltage at its terminals for the coming step, in the motor's sense, V; None: cut
            off, or wedged so that its torque doesn't reach the axis.
        extra: axis -> further load of motors on the axis.
        held: axis -> (speed, largest load) to hold it to.
        pulls: line -> its pull, N.
        voltage, current: of every motor and straight drive; NaN where this stepper doesn't know.
    """

    def __init__(
        self,
        motors: Sequence[Controlled],
        line_drives: Sequence[LineDrive],
        sources: Sequence[Source],
        columns: int,
    ):
        self._motors, self._sources = motors, sources
        self._lines = [(d, d.mounted.law.begin(d.mounted.mounting)) for d in line_drives]
        self.terminal: dict[int, float | None] = {}
        self.extra: dict[int, float] = {}
        self.held: dict[int, tuple[float, float]] = {}
        self.pulls: dict[int, float] = {d.line: 0.0 for d in line_drives}
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
        reaction: Mapping[int, float],
        step: float,
    ) -> None:
        """Decide for the coming step.

        Args:
            time: s.
            coordinate: of each axis.
            rate: of each axis.
            lines: line -> (length m, rate m/s) of each straight drive.
            reaction: axis -> load with which it was held to its speed in the last step.
            step: s.
        """
        loads: list[list[Load]] = [[] for _ in self._sources]
        turning = []
        for m in self._motors:
            part, spin = commanded(m, time, coordinate, rate), self._motor_speed(m, rate)
            loads[m.control.source].append(motor_load(m, part, spin))
            turning.append((m, part, spin))
        pulling = []
        for d, state in self._lines:
            share = d.sense * (1.0 if d.signal is None else read(d.signal, time))
            load = state.draw(share) if d.source >= 0 and share != 0.0 else None
            if load is not None:
                loads[d.source].append(load)
            pulling.append((d, state, share))
        bus = [
            line_voltage(s, [*row, *loads_at(s.beside, time)])
            for s, row in zip(self._sources, loads, strict=True)
        ]
        self.extra = {}
        for m, part, spin in turning:
            volts = None if part is None else part * bus[m.control.source]
            if m.control.pulses is not None:
                volts = self._pulse(m, part, bus[m.control.source], spin, time=time, step=step)
            self._motor(m, volts, spin, coordinate, rate, reaction=reaction, step=step)
        for d, state, share in pulling:
            length, lengthening = lines[d.line]
            on = None if share == 0.0 else share * (bus[d.source] if d.source >= 0 else 1.0)
            self.pulls[d.line] = state.tension(time, length, lengthening, step, on)
            if d.column >= 0:
                self.current[d.column] = state.current
                self.voltage[d.column] = 0.0 if on is None else on

    def _motor_speed(self, m: Controlled, rate: Sequence[float]) -> float:
        wedge = self._wedges.get(m.motor)
        return wedge.speed if wedge is not None and wedge.held else m.sense * rate[m.axis]

    def _motor(
        self,
        m: Controlled,
        volts: float | None,
        was: float,
        coordinate: Sequence[float],
        rate: Sequence[float],
        *,
        reaction: Mapping[int, float],
        step: float,
    ) -> None:
        """Put its voltage on a motor whose shaft turns at `was`, rad/s in the motor's sense."""
        control, line, k = m.control, m.line, m.motor
        speed = m.sense * rate[m.axis]
        wedge = self._wedge(m, volts, speed, reaction, step)
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
                self.held[m.axis] = (m.sense * wedge.speed, control.gear.holding if control.gear else inf)
            else:
                self.held.pop(m.axis, None)

    def _pulse(
        self, m: Controlled, part: float | None, bus: float, speed: float, *, time: float, step: float
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
        self, m: Controlled, volts: float | None, speed: float, reaction: Mapping[int, float], step: float
    ) -> Wedge | None:
        gear = m.control.gear
        if gear is None:
            return None
        old = self._wedges[m.motor]
        before, pushed = self._before.get(m.motor, (speed, 0.0))
        rubbed = 0.0 if _rests(m.line, before, ROUNDING) else copysign(friction_torque(m.line), before)
        given = m.sense * reaction.get(m.axis, 0.0) if old.held else pushed
        contact = given - rubbed - gear.inertia * (speed - before) / step
        new = advance(gear, old, volts, speed, contact=contact, step=step)
        self._wedges[m.motor] = new
        push = 0.0
        if volts is not None:
            push = m.line.torque_constant * (volts - m.line.speed_constant * speed) / m.line.resistance
        self._before[m.motor] = (speed, push)
        return new


def commanded(m: Controlled, time: float, coordinate: Sequence[float], rate: Sequence[float]) -> float | None:
    """Share of the supply's voltage that a motor gets, -1 to 1; None: cut off.

    Args:
        m: the motor.
        time: s.
        coordinate, rate: of each axis.
    """
    control = m.control
    if control.follower is not None:
        if control.signal is not None and read(control.signal, time) == 0.0:
            return None
        pose = 0.0 if control.follower.pose is None else read(control.follower.pose, time)
        error = pose - m.sense * coordinate[m.axis]
        return control.follower.share(error, m.sense * rate[m.axis])
    if control.signal is None:
        return 1.0
    value = read(control.signal, time)
    return None if value == 0.0 else value


def motor_load(m: Controlled, part: float | None, spin: float) -> Load:
    """What a motor asks of its source at a share of the voltage, turning at `spin` rad/s in its own sense."""
    follower = m.control.follower
    idle = 0.0 if follower is None else follower.idle_current
    if part is None or part == 0.0:
        return Load(0.0, fixed=idle)
    feeds_back = m.control.pulses is None and follower is None
    return Load(part**2 / m.line.resistance, m.line.speed_constant * spin / part, idle, feeds_back)


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


def _rests(line: DcLine, speed: float, share: float) -> bool:
    """Whether a speed, rad/s, is no more than a share of that without load."""
    return abs(speed) <= share * abs(line.rated_voltage / line.speed_constant)


def _stuck(line: DcLine, volts: float, speed: float, breakaway: float) -> float:
    """What a sticky motor at rest takes off its own torque."""
    if not _rests(line, speed, REST):
        return 0.0
    push = line.torque_constant * (volts - line.speed_constant * speed) / line.resistance
    spare = abs(push) - friction_torque(line)
    return -copysign(min(breakaway, spare), push) if 0.0 < spare <= breakaway else 0.0
