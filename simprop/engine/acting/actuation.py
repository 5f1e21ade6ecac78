"""Every law that acts on an assembled prop, as data, with catalogue names and defaults put in.

Engines evaluate it step by step with `simprop.engine.acting.actuator.Actuator`; they know nothing of motors or
springs themselves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, nan

import numpy as np

from simprop.assembly.types import Assembly, BodyData, JointData, Motion
from simprop.catalog.friction import Surfaces
from simprop.drives.kinds import (
    DcMotor,
    Motor,
    MotorInline,
    ServoMotor,
    SteadyTorque,
    SynchronousMotor,
    figures_of,
)
from simprop.engine.acting.driving import Straights, Supplies, control_of, servo_line
from simprop.engine.acting.program import events, told
from simprop.engine.acting.stepper import Control, Pushing, Steered
from simprop.engine.acting.straight import Fed
from simprop.engine.contact.gripping import GripData, grips
from simprop.engine.contact.touches import TouchData, touches
from simprop.errors import Fault, RigError
from simprop.forces.springs import SlidingStop, TorsionSpring, TurningStop
from simprop.geometry.arrays import Array
from simprop.laws.cues import Event, on_times
from simprop.laws.dc import DcLine, friction_torque, line_from_figures
from simprop.laws.springs import LineLaw, TorsionLaw
from simprop.laws.stops import PADS, StopLaw, pad_pin, pad_slide
from simprop.laws.supply import Source
from simprop.laws.synchronous import SynchronousLaw

ASSUMED_RUN_UP = 0.02
"""Run-up time constant of a DC motor whose rotor inertia isn't stated, s (assumed)."""
ASSUMED_RATIO = 50.0
"""Gear ratio of such a motor where that isn't stated either (assumed; counts only where the motor moves)."""
ASSUMED_ARM = 0.1
"""Distance of a pin's stop from its axis where none is stated, m (assumed)."""
LOCKOUT = 0.1
"""After a synchronous motor has turned back, it doesn't do so again for so long, s (assumed)."""


@dataclass(frozen=True)
class MotorData:
    """A motor on an axis.

    Attributes:
        name: as in the rig.
        axis: index into `Assembly.axes`.
        law: the motor's law, at the output shaft.
        voltage: of the supply, V; NaN where the law needs none.
        current_limit: of the supply, A; inf where none is stated.
        sense: +1, or -1 when the rig says `reverse`.
        windows: when it is on, s; None: always.
        reflected_inertia: gear_ratio^2 * rotor inertia, kg*m^2 about the axis.
        gear_ratio: motor turns for one turn of the output.
        rated_current: what a motor without a current law takes while it is on, A; NaN where not stated.
        control: what is decided about it once a step (see `simprop.engine.acting.stepper`); None: it runs on its own.
    """

    name: str
    axis: int
    law: DcLine | SynchronousLaw | float
    voltage: float
    current_limit: float
    sense: float
    windows: tuple[tuple[float, float], ...] | None
    reflected_inertia: float
    gear_ratio: float
    rated_current: float = nan
    control: Control | None = None


@dataclass(frozen=True)
class LineData:
    """A spring or straight drive between two points: bodies by index, points in their body frames."""

    name: str
    first: int
    second: int
    first_point: Array
    second_point: Array
    law: LineLaw | Fed


@dataclass(frozen=True)
class Actuation:
    """All that acts on a prop besides gravity and contact.

    Attributes:
        friction: Coulomb friction of each axis (force or torque, never negative), (A,).
        viscous: viscous friction of each axis, (A,).
        torsion: springs about pins, each with the axis it acts on.
        stops: end stops, each with the axis it acts on.
        motors: motors.
        lines: springs between points, then straight drives in the order of `pushing`.
        notes: what was assumed, one sentence each.
        pushing: straight drives with what they are told.
        sources: supplies of everything that is decided once a step.
        touches: places where bodies touch.
        grips: dry friction that goes with the load in its joint; comes on top of `friction`.
        events: everything that the controller does in the run, in order of time.
    """

    friction: Array
    viscous: Array
    torsion: tuple[tuple[int, TorsionLaw], ...]
    stops: tuple[tuple[int, StopLaw], ...]
    motors: tuple[MotorData, ...]
    lines: tuple[LineData, ...]
    notes: tuple[str, ...] = ()
    pushing: tuple[Pushing, ...] = ()
    sources: tuple[Source, ...] = ()
    touches: tuple[TouchData, ...] = ()
    grips: tuple[GripData, ...] = ()
    events: tuple[Event, ...] = ()

    @property
    def columns(self) -> int:
        """Columns of voltage and current: motors, and after them straight drives that take current."""
        return len(self.motors) + sum(p.electric >= 0 for p in self.pushing)

    @property
    def steered(self) -> tuple[Steered, ...]:
        """The motors about which something is decided once a step."""
        return tuple(
            Steered(k, m.axis, m.sense, m.law, m.reflected_inertia, m.control)
            for k, m in enumerate(self.motors)
            if m.control is not None and isinstance(m.law, DcLine)
        )


def actuate(assembly: Assembly) -> Actuation:
    """Every law that acts on an assembled prop.

    The Coulomb friction of a DC motor counts as friction of its axis, on or off. A stop without a stated
    stiffness is a pad of its material (see `simprop.laws.stops`) against the mass of the joint's second body
    alone.

    Args:
        assembly: with the rig it was made from.

    Returns:
        The laws, in the order of the rig.

    Raises:
        UnknownNameError: for a motor or stop material that isn't in the catalogue.
        RigError: for a law on a joint that doesn't move that way, or two speed drives on one joint.

    Example:
        >>> from simprop.assembly.assemble import assemble
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Arm
        ... bodies: {post: {fixed: true}, arm: {parts: [{lump: 1 kg, at: 100 0 0 mm}]}}
        ... joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y, friction: 0.2 N*m}}
        ... run: {for: 1 s}
        ... ''')
        >>> actuate(assemble(rig)).friction.tolist()
        [0.2]
    """
    return _Actuate(assembly).result()


def motor_law(spec: str | MotorInline) -> DcMotor | SynchronousMotor | SteadyTorque | ServoMotor:
    """The figures of a motor, given inline or by its name in the catalogue.

    Args:
        spec: as in `motors.NAME.motor` of the rig.

    Raises:
        UnknownNameError: when the catalogue has no such motor.
    """
    figures: DcMotor | SynchronousMotor | SteadyTorque | ServoMotor = figures_of(spec)
    return figures


class _Actuate:
    """The work of `actuate`, with what its parts share."""

    def __init__(self, assembly: Assembly):
        self.assembly = assembly
        self.joint = {joint.name: joint for joint in assembly.joints}
        self.body = {body.name: i for i, body in enumerate(assembly.bodies)}
        self.axis: dict[tuple[str, Motion], int] = {
            (assembly.joints[a.joint].name, a.motion): i for i, a in enumerate(assembly.axes)
        }
        self.friction = np.zeros(len(assembly.axes))
        self.viscous = np.zeros(len(assembly.axes))
        self.notes: list[str] = []
        self.supplies = Supplies()
        self.events = events(assembly.rig)

    def result(self) -> Actuation:
        rig = self.assembly.rig
        self.joint_friction()
        motors = tuple(self.motor(name, motor) for name, motor in rig.motors.items())
        driven = [m.axis for m in motors if isinstance(m.law, SynchronousLaw)]
        for m in motors:
            if driven.count(m.axis) > 1 and isinstance(m.law, SynchronousLaw):
                message = "two synchronous motors can't drive one joint"
                raise RigError([Fault(message, field=f"motors.{m.name}.joint")])
        torsion, lines = [], []
        for name, spring in rig.springs.items():
            if isinstance(spring, TorsionSpring):
                law = TorsionLaw(spring.rate, spring.free_angle, spring.preload, spring.slack, spring.damping)
                torsion.append((self.find(f"springs.{name}.torsion", spring.joint, "turn"), law))
                continue
            first, second = (self.body[b] for b in spring.between)
            bodies = self.assembly.bodies
            line = LineLaw(
                spring.kind, spring.rate, spring.free_length, spring.preload, spring.slack, spring.damping
            )
            start, end = (
                bodies[first].local(spring.start),
                bodies[second].local(spring.end),
            )
            lines.append(LineData(name, first, second, start, end, line))
        stops = tuple(self.stop(name, stop) for name, stop in rig.stops.items())
        straight = Straights(
            self.assembly, self.supplies, self.events, first_line=len(lines), first_column=len(motors)
        )
        lines += [
            LineData(s.name, s.first, s.second, s.first_point, s.second_point, s.law) for s in straight.lines
        ]
        met = touches(self.assembly, self.notes.append)
        return Actuation(
            self.friction,
            self.viscous,
            tuple(torsion),
            stops,
            motors,
            tuple(lines),
            (*self.notes, *straight.notes),
            tuple(straight.pushing),
            tuple(self.supplies.sources),
            met,
            grips(self.assembly),
            self.events,
        )

    def find(self, field: str, joint: str, *motions: Motion) -> int:
        """Index of the axis of a joint: the first of `motions` that it has."""
        for motion in motions:
            if (joint, motion) in self.axis:
                return self.axis[joint, motion]
        raise RigError([Fault(f"joint {joint!r} doesn't {' or '.join(motions)}", field=field, value=joint)])

    def joint_friction(self) -> None:
        for name, joint in self.assembly.rig.joints.items():
            if joint.kind in ("pin", "slider"):
                axis = self.find(name, name, "turn", "slide")
                self.friction[axis], self.viscous[axis] = constant(joint.friction), joint.viscous
            elif joint.kind == "cylindrical":
                slide, turn = self.axis[name, "slide"], self.axis[name, "turn"]
                self.friction[slide], self.viscous[slide] = constant(joint.friction), joint.viscous
                self.friction[turn], self.viscous[turn] = joint.turning_friction, joint.turning_viscous

    def motor(self, name: str, motor: Motor) -> MotorData:
        axis = self.find(f"motors.{name}.joint", motor.joint, "turn", "slide")
        figures = motor_law(motor.motor)
        said = told(self.assembly.rig, self.events, name)
        windows = motor.on
        if said.drive is not None and motor.on is None:
            windows = on_times(said.drive, self.assembly.rig.run.duration)
        voltage = nan if motor.supply is None else motor.supply.voltage
        limit = inf if motor.supply is None or motor.supply.limit is None else motor.supply.limit
        sense = -1.0 if motor.reverse else 1.0
        data = MotorData(name, axis, 0.0, voltage, limit, sense, windows, 0.0, 1.0)
        if isinstance(figures, SynchronousMotor):
            law = SynchronousLaw(
                figures.speed * _mains(motor, figures),
                figures.pull_out_torque,
                figures.reverses,
                figures.reverse_delay,
                figures.starts,
                LOCKOUT,
                self.assembly.rig.run.seed,
            )
            return replace(data, law=law, rated_current=_mains_current(figures))
        if isinstance(figures, SteadyTorque):
            return replace(data, law=figures.torque)
        if isinstance(figures, ServoMotor):
            line = servo_line(figures)
            inertia, ratio = (
                figures.run_up * line.torque_constant * line.speed_constant / line.resistance,
                1.0,
            )
            if figures.run_up > 0.0:
                ratio = ASSUMED_RATIO
        else:
            line = line_from_figures(
                figures.rated_voltage,
                figures.no_load_speed,
                figures.stall_torque,
                figures.no_load_current,
                figures.stall_current,
            )
            inertia, ratio = self.rotor(name, figures, line)
        self.friction[axis] += friction_torque(line)
        control = control_of(
            motor,
            figures,
            line,
            inertia,
            said=said,
            supplies=self.supplies,
            note=lambda text: self.notes.append(f"motors.{name}: {text}"),
        )
        return replace(
            data,
            law=line,
            voltage=figures.rated_voltage if motor.supply is None else voltage,
            reflected_inertia=inertia,
            gear_ratio=ratio,
            windows=windows if control is None else None,
            control=control,
        )

    def rotor(self, name: str, figures: DcMotor, law: DcLine) -> tuple[float, float]:
        """Reflected inertia and gear ratio."""
        if figures.rotor_inertia is not None:
            return figures.gear_ratio**2 * figures.rotor_inertia, figures.gear_ratio
        self.notes.append(
            f"motors.{name}: rotor inertia from a run-up time constant of {ASSUMED_RUN_UP * 1e3:g} ms (assumed)"
        )
        ratio = figures.gear_ratio
        if ratio == 1.0:
            self.notes.append(f"motors.{name}: gear ratio taken as {ASSUMED_RATIO:g} (assumed)")
            ratio = ASSUMED_RATIO
        return ASSUMED_RUN_UP * law.torque_constant * law.speed_constant / law.resistance, ratio

    def stop(self, name: str, stop: TurningStop | SlidingStop) -> tuple[int, StopLaw]:
        turning = isinstance(stop, TurningStop)
        axis = self.find(f"stops.{name}", stop.joint, "turn" if turning else "slide")
        joint = self.joint[stop.joint]
        body = self.assembly.bodies[joint.first if self.assembly.bodies[joint.second].fixed else joint.second]
        if isinstance(stop, TurningStop):
            inertia = _inertia_about(joint, body)
            arm = ASSUMED_ARM if stop.arm is None else stop.arm
            moving, (stiffness, damping) = inertia, pad_pin(stop.of, arm, inertia)
        else:
            moving, (stiffness, damping) = body.mass, pad_slide(stop.of, body.mass)
        if stop.stiffness is None:
            where = f" {arm * 1e3:g} mm from the axis" if turning else ""
            self.notes.append(f"stops.{name}: stiffness of a {stop.of} pad{where} (assumed)")
        else:
            stiffness = stop.stiffness
            damping = 2.0 * PADS[stop.of].loss * float(np.sqrt(stiffness * moving))
        if stop.damping is not None:
            damping = stop.damping
        return axis, StopLaw(stop.below, stop.above, stiffness, damping)


def constant(friction: float | Surfaces) -> float:
    """Friction that doesn't go with the load: N or N*m, 0 where the rig gives a coefficient."""
    return friction if isinstance(friction, float) else 0.0


def _inertia_about(joint: JointData, body: BodyData) -> float:
    """Inertia of a body about the axis of a pin, kg*m^2."""
    arm = body.com - joint.point
    across = arm - joint.axis * float(joint.axis @ arm)
    return float(joint.axis @ body.inertia @ joint.axis + body.mass * (across @ across))


def _mains(motor: Motor, figures: SynchronousMotor) -> float:
    """Speed over that at the rated frequency."""
    if motor.supply is None or motor.supply.frequency is None:
        return 1.0
    return motor.supply.frequency / figures.rated_frequency


def _mains_current(figures: SynchronousMotor) -> float:
    """As stated, or from power and voltage, A; NaN where neither is known."""
    if figures.current:
        return figures.current
    if figures.power is None or not figures.rated_voltage:
        return nan
    return figures.power / figures.rated_voltage
