"""Motors, pushers and pulls of a rig as laws, with catalogue names and assumed values put in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf, pi, sqrt

import numpy as np

from simprop.assembly.types import Assembly
from simprop.drives.kinds import (
    AirPusher,
    DcMotor,
    LinearPusher,
    LockPusher,
    Motor,
    Pusher,
    ServoMotor,
    SolenoidPusher,
    figures_of,
)
from simprop.drives.supplies import SupplySpec
from simprop.engine.acting.program import Told, told
from simprop.engine.acting.stepper import Control, Pushing, Travel
from simprop.engine.acting.straight import Fed, Law, Rope, Screw
from simprop.errors import Fault, RigError
from simprop.forces.pulls import ConstantStrip, GasStrut, HandRope, HangingWeight, Pull
from simprop.geometry.arrays import Array
from simprop.laws import actuator, pneumatic, pull, servo
from simprop.laws.cues import Event, Signal
from simprop.laws.dc import DcLine, line_from_figures
from simprop.laws.locking import Locking
from simprop.laws.supply import Source, wire_resistance
from simprop.laws.worm import backward_from_forward

RUN_UP = 0.02
"""Run-up time constant of a linear actuator's motor, s (assumed)."""
BRACKETS = 1e5
"""Stiffness of a linear actuator with its brackets where none is stated, N/m (assumed)."""
LOSS = 0.7
"""Damping ratio of those, of a motor's own end stops and of ropes (assumed: greased screws, wood, knots)."""
HOLDING = 2.0
"""Holding torque of a self-locking gear over the motor's stall torque where none is stated (assumed)."""
OWN_STOP = 100.0
"""A motor's own end stop turns by its stall torque over this many rad (assumed: about half a degree)."""
SEAL_SHARE = 0.05
"""Friction of a cylinder's seals over its static push where none is stated (assumed)."""
NEAREST = 1e-3
"""Least distance of the two ends of a straight drive, m."""
ROPE_STRETCH = 2e-3
"""Stretch of a counterweight's rope under the weight where no stiffness is stated, m (assumed)."""


def supply_source(supply: SupplySpec | None, rated: float) -> Source:
    """A supply with its wire as a source; without a supply, the rated voltage and as much current as
    asked."""
    if supply is None:
        return Source(rated)
    wire = 0.0 if supply.wire is None else 2 * wire_resistance(supply.wire.gauge, supply.wire.length)
    limit = inf if supply.limit is None else supply.limit
    return Source(supply.voltage, limit, wire + supply.resistance)


def servo_law(figures: ServoMotor) -> servo.Servo:
    """A servo's figures as its law."""
    return servo.Servo(
        servo.speed_from_time(figures.time_60),
        figures.stall_torque,
        figures.stall_current,
        figures.idle_current,
        figures.rated_voltage,
        figures.dead_band,
        figures.full_band,
        figures.friction,
        figures.run_up,
    )


def servo_line(figures: ServoMotor) -> DcLine:
    """A servo's motor as a DC line whose own friction is that of the gears."""
    idle = figures.stall_current * figures.friction / (figures.stall_torque + figures.friction)
    return line_from_figures(
        figures.rated_voltage,
        servo.speed_from_time(figures.time_60),
        figures.stall_torque,
        idle,
        figures.stall_current,
    )


class Supplies:
    """Sources by the drives that use them; a supply named in `supplies` is one source for all."""

    def __init__(self) -> None:
        self.sources: list[Source] = []
        self._shared: dict[str, int] = {}

    def index(self, supply: SupplySpec | None, rated: float) -> int:
        """Index of a drive's source."""
        if supply is not None and supply.shared is not None:
            if supply.shared not in self._shared:
                self._shared[supply.shared] = self._add(supply_source(supply, rated))
            return self._shared[supply.shared]
        return self._add(supply_source(supply, rated))

    def _add(self, source: Source) -> int:
        self.sources.append(source)
        return len(self.sources) - 1


def control_of(
    motor: Motor,
    figures: DcMotor | ServoMotor,
    line: DcLine,
    inertia: float,
    *,
    said: Told,
    supplies: Supplies,
    note: Callable[[str], None],
) -> Control | None:
    """What steers a DC motor or servo; None where its straight line and its windows say all.

    Args:
        motor: as in the rig.
        figures: of the motor.
        line: its line.
        inertia: of its rotor at the output.
        said: what it is told.
        supplies: where its source is put.
        note: takes what was assumed.
    """
    supply = motor.supply
    if isinstance(figures, ServoMotor):
        return Control(
            supplies.index(supply, figures.rated_voltage),
            said.drive,
            servo=servo_law(figures),
            pose=said.pose,
        )
    plain = not (figures.self_locking or figures.breakaway or figures.travel or motor.pwm)
    alone = supply is None or (supply.shared is None and supply.wire is None and supply.resistance == 0.0)
    if plain and alone and (said.drive is None or motor.on is not None):
        return None
    gear = None
    if figures.self_locking:
        holding = figures.holding_torque
        if holding is None:
            holding = HOLDING * figures.stall_torque
            note(f"holds up to {HOLDING:g} times its stall torque (assumed)")
        forward = min(1.0, line.torque_constant / line.speed_constant)
        wedging = max(0.0, -forward * backward_from_forward(forward))
        gear = Locking(line, max(inertia, 1e-9), holding, figures.breakaway, wedging)
    travel = None
    if figures.travel is not None:
        stiffness = OWN_STOP * figures.stall_torque
        travel = Travel(
            -figures.travel / 2,
            figures.travel / 2,
            stiffness,
            2 * LOSS * sqrt(stiffness * max(inertia, 1e-9)),
        )
        note(f"its own end stops {figures.travel * 180 / pi:.0f} deg apart, half to each side (assumed)")
    signal, pulses = said.drive, None
    if motor.pwm is not None:
        pulses = (motor.pwm.frequency, motor.pwm.time_constant)
        if signal is None:
            signal = Signal((0.0,), (motor.pwm.duty,))
        elif motor.on is not None:
            signal = replace(signal, values=tuple(v * motor.pwm.duty for v in signal.values))
    source = supplies.index(supply, figures.rated_voltage)
    return Control(
        source, signal, gear, pulses=pulses, travel=travel, breakaway=0.0 if gear else figures.breakaway
    )


@dataclass(frozen=True)
class Line:
    """A straight drive's place: bodies by index, points in their frames, and its law."""

    name: str
    first: int
    second: int
    first_point: Array
    second_point: Array
    law: Fed


class Straights:
    """The pushers and pulls of a rig as lines, after the springs."""

    def __init__(
        self,
        assembly: Assembly,
        supplies: Supplies,
        happenings: tuple[Event, ...],
        *,
        first_line: int,
        first_column: int,
    ):
        self.assembly, self.supplies = assembly, supplies
        self.body = {body.name: i for i, body in enumerate(assembly.bodies)}
        self.lines: list[Line] = []
        self.pushing: list[Pushing] = []
        self.notes: list[str] = []
        self._first, self._column = first_line, first_column
        rig = assembly.rig
        for name, pusher in rig.pushers.items():
            self._pusher(name, pusher, told(rig, happenings, name).drive)
        for name, held in rig.pulls.items():
            self._pull(name, held)

    def _place(self, name: str, item: Pusher | Pull) -> tuple[int, int, Array, Array, float, float]:
        first, second = (self.body[b] for b in item.between)
        bodies = self.assembly.bodies
        one, two = (bodies[b].placement.world(p) for b, p in ((first, item.start), (second, item.end)))
        masses = [bodies[b].mass for b in (first, second) if not bodies[b].fixed]
        length = float(np.linalg.norm(two - one))
        if length < NEAREST:
            message = (
                f"its two ends are on one spot in the start pose: {1e3 * NEAREST:g} mm apart is the least"
            )
            raise RigError([Fault(message, field=name)])
        ends = bodies[first].local(item.start), bodies[second].local(item.end)
        return first, second, *ends, length, min(masses)

    def _add(
        self, name: str, item: Pusher | Pull, law: Law, *, rate: float, extension: float, vented: bool
    ) -> Fed:
        first, second, one, two, length, moving = self._place(name, item)
        fed = Fed(law, rate, length, extension, moving, vented)
        self.lines.append(Line(name, first, second, one, two, fed))
        return fed

    def _pusher(self, name: str, pusher: Pusher, signal: Signal | None) -> None:
        figures = figures_of(pusher.motor)
        sense = -1.0 if pusher.reverse else 1.0
        moving = self._place(f"pushers.{name}", pusher)[5]
        law: Law
        rate, vented, electric, source = 0.0, False, True, -1
        if isinstance(figures, LinearPusher):
            law = self._screw(name, figures, moving)
            rate = law.stiffness
            source = self.supplies.index(pusher.supply, figures.rated_voltage)
        elif isinstance(figures, LockPusher):
            law = actuator.PulseActuator(
                figures.rated_voltage,
                figures.force,
                figures.stroke,
                figures.speed,
                figures.current,
                figures.shortest_pulse,
                figures.longest_pulse,
                figures.burns_after,
            )
            rate = 5e4
            source = self.supplies.index(pusher.supply, figures.rated_voltage)
        elif isinstance(figures, SolenoidPusher):
            gaps, forces = zip(*figures.table, strict=True)
            law = actuator.Solenoid(gaps, forces, figures.rated_voltage, figures.current)
            actuator.pull(law, 0.0, 0.0)
            rate = 5e4
            source = self.supplies.index(pusher.supply, figures.rated_voltage)
        else:
            law, vented, electric = self._cylinder(name, figures), figures.vented, False
            rate = figures.end_stiffness
        fed = self._add(name, pusher, law, rate=rate, extension=pusher.extension, vented=vented)
        column = self._column if electric else -1
        self._column += 1 if electric else 0
        self.pushing.append(Pushing(self._first + len(self.lines) - 1, fed, column, source, signal, sense))

    def _screw(self, name: str, figures: LinearPusher, moving: float) -> Screw:
        loaded = figures.loaded_speed
        if loaded is None:
            loaded = actuator.LOADED_SPEED * figures.no_load_speed
            self.notes.append(f"pushers.{name}: loses a quarter of its speed at its rated force (assumed)")
        stiffness = figures.stiffness
        if stiffness is None:
            stiffness = BRACKETS
            self.notes.append(f"pushers.{name}: {BRACKETS / 1e3:g} kN/m with its brackets (assumed)")
        law = actuator.LinearActuator(
            figures.rated_voltage,
            figures.force,
            figures.no_load_speed,
            loaded,
            figures.idle_current,
            figures.full_load_current,
            figures.stroke,
            figures.self_locking,
            figures.longest_run,
            figures.duty,
        )
        line = actuator.line(law)
        mass = RUN_UP * line.torque_constant * line.speed_constant / line.resistance
        return Screw(law, line, mass, stiffness, 2 * LOSS * sqrt(stiffness * moving))

    def _cylinder(self, name: str, figures: AirPusher) -> pneumatic.Cylinder:
        conductance = pneumatic.conductance_from_cv(figures.cv)
        friction = figures.friction
        if friction is None:
            friction = SEAL_SHARE * pneumatic.extend_force(figures.bore, figures.pressure)
            self.notes.append(f"pushers.{name}: seals rub with {friction:.3g} N (assumed)")
        return pneumatic.Cylinder(
            figures.bore,
            figures.rod,
            figures.stroke,
            figures.pressure + pneumatic.ATMOSPHERE,
            conductance,
            conductance * figures.exhaust_share,
            friction=friction,
            cushion=figures.cushion,
            cushion_share=figures.cushion_share,
            end_stiffness=figures.end_stiffness,
        )

    def _pull(self, name: str, held: Pull) -> None:
        length = self._place(f"pulls.{name}", held)[4]
        law: Law
        rate = 0.0
        if isinstance(held, GasStrut):
            law = pull.GasSpring(
                held.force, held.ratio, held.longest, held.stroke, held.friction, held.damping
            )
            rate = law.end_stiffness
            _reaches(f"pulls.{name}", length, held.longest - held.stroke, held.longest)
        elif isinstance(held, ConstantStrip):
            _reaches(f"pulls.{name}", length, 0.0, held.free_length + held.longest)
            law = pull.ConstantForceSpring(held.force, held.free_length, held.take_up, held.longest)
            rate = held.force / held.take_up
        elif isinstance(held, HangingWeight):
            gravity = float(np.linalg.norm(self.assembly.rig.run.gravity))
            stiffness = held.stiffness
            if stiffness is None:
                stiffness = held.mass * gravity / ROPE_STRETCH
                self.notes.append(f"pulls.{name}: its rope stretches by {ROPE_STRETCH * 1e3:g} mm (assumed)")
            damping = 2 * LOSS * sqrt(stiffness * held.mass)
            law = pull.Counterweight(held.mass, length + 1.0, stiffness, damping, gravity)
            rate = stiffness
        else:
            assert isinstance(held, HandRope)
            law = Rope(held.force, held.ramp, held.on)
        fed = self._add(name, held, law, rate=rate, extension=0.0, vented=False)
        self.pushing.append(Pushing(self._first + len(self.lines) - 1, fed, -1, -1, None, 1.0))


def _reaches(field: str, length: float, shortest: float, longest: float) -> None:
    """Refuse what can't be drawn as it is."""
    if not shortest - 1e-6 <= length <= longest + 1e-6:
        message = (
            f"in the start pose its ends are {1e3 * length:.4g} mm apart, and it reaches from "
            f"{1e3 * shortest:.4g} to {1e3 * longest:.4g} mm"
        )
        raise RigError([Fault(message, field=field)])
