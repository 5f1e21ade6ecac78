"""Every law that acts on an assembled prop, as data, with catalogue names and defaults put in.

Engines evaluate it step by step with `simprop.engine.acting.actuator.Actuator`; they know nothing of motors or
springs themselves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import nan

import numpy as np

from simprop.assembly.types import Assembly, BodyData, Motion
from simprop.drives.able import Able
from simprop.drives.base import Wiring
from simprop.drives.kinds import Motor
from simprop.engine.acting.cords import CordData, cords
from simprop.engine.acting.lines import LineData, Lines, Supplies, in_place
from simprop.engine.acting.outside import NOTHING, OutsideData, outside
from simprop.engine.acting.program import Script, script
from simprop.engine.acting.stepper import Controlled, LineDrive
from simprop.engine.contact.gripping import GripData, grips
from simprop.engine.contact.meshing import RubData, SlipData, rubs, slips
from simprop.engine.contact.touches import TouchData, touches
from simprop.errors import Fault, RigError
from simprop.forces.stops import Stop
from simprop.geometry.arrays import Array
from simprop.laws.cues import Event, on_times
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.forms import Control, HeldSpeed, PlainLoad
from simprop.laws.springs import AxisLaw
from simprop.laws.stops import StopLaw
from simprop.laws.supply import Beside, Source


@dataclass(frozen=True)
class MotorData:
    """A motor on an axis.

    Attributes:
        name: as in the rig.
        axis: index into `Assembly.axes`.
        law: its form, at the output shaft.
        voltage: of the supply, V; NaN where the law needs none.
        current_limit: of the supply, A; inf where none is stated.
        sense: +1, or -1 when the rig says `reverse`.
        windows: when it is on, s; None: always.
        reflected_inertia: gear_ratio^2 * rotor inertia, kg*m^2 about the axis.
        gear_ratio: motor turns for one turn of the output.
        rated_current: what a motor without a current law takes while it is on, A; NaN where not stated.
        control: what is decided about it once a step (see `simprop.engine.acting.stepper`); None: it runs on its own.
        able: what it can give from its supply at the largest share that it is told; None where not known.
        leader: index of the axis whose motion it goes by; -1: none.
    """

    name: str
    axis: int
    law: DcLine | HeldSpeed | PlainLoad
    voltage: float
    current_limit: float
    sense: float
    windows: tuple[tuple[float, float], ...] | None
    reflected_inertia: float
    gear_ratio: float
    rated_current: float = nan
    control: Control | None = None
    able: Able | None = None
    leader: int = -1

    @property
    def holds_speed(self) -> bool:
        """Whether it may hold its axis to a speed."""
        return isinstance(self.law, HeldSpeed) or (self.control is not None and self.control.gear is not None)

    @property
    def rotor_inertia(self) -> float:
        """Of the rotor about its own axis, kg*m^2."""
        return self.reflected_inertia / self.gear_ratio**2

    @property
    def own_friction(self) -> float:
        """Of motor and gears at the output, on or off, N*m or N."""
        return friction_torque(self.law) if isinstance(self.law, DcLine) else 0.0


@dataclass(frozen=True)
class Actuation:
    """All that acts on a prop besides gravity and contact.

    Attributes:
        friction: Coulomb friction of each axis (force or torque, never negative), (A,).
        viscous: viscous friction of each axis, (A,).
        torsion: springs about pins, each with the axis it acts on.
        stops: end stops, each with the axis it acts on.
        motors: motors.
        lines: springs between points, then straight drives and pulls in the order of `line_drives`, then cords' spans.
        notes: what was assumed, one sentence each.
        line_drives: straight drives and pulls with what they are told.
        sources: supplies of everything that is decided once a step.
        touches: places where bodies touch.
        grips: dry friction that goes with the load in its joint; comes on top of `friction`.
        rubs: friction of couplings, which goes with their force; likewise.
        slips: couplings that hold by friction alone.
        cords: cords over many places; each of their spans is one of `lines`.
        outside: strips that hang on bodies, and the air.
        script: what the controller does; None where these laws are of no rig.
    """

    friction: Array
    viscous: Array
    torsion: tuple[tuple[int, AxisLaw], ...]
    stops: tuple[tuple[int, StopLaw], ...]
    motors: tuple[MotorData, ...]
    lines: tuple[LineData, ...]
    notes: tuple[str, ...] = ()
    line_drives: tuple[LineDrive, ...] = ()
    sources: tuple[Source, ...] = ()
    touches: tuple[TouchData, ...] = ()
    grips: tuple[GripData, ...] = ()
    rubs: tuple[RubData, ...] = ()
    slips: tuple[SlipData, ...] = ()
    script: Script | None = None
    cords: tuple[CordData, ...] = ()
    outside: OutsideData = NOTHING

    @property
    def events(self) -> tuple[Event, ...]:
        """Everything that the controller does in the run, in order of time."""
        return () if self.script is None else self.script.events

    @property
    def rubbing(self) -> list[int]:
        """The axes of `grips` and `rubs`, in their order."""
        return [g.axis for g in self.grips] + [r.axis for r in self.rubs]

    @property
    def columns(self) -> int:
        """Columns of voltage and current: motors, and after them straight drives that take current."""
        return len(self.motors) + sum(d.column >= 0 for d in self.line_drives)

    @property
    def controlled(self) -> tuple[Controlled, ...]:
        """The motors about whose voltage something is decided once a step."""
        return tuple(
            Controlled(k, m.axis, m.sense, m.law, m.reflected_inertia, m.control)
            for k, m in enumerate(self.motors)
            if m.control is not None and isinstance(m.law, DcLine)
        )


def actuate(assembly: Assembly) -> Actuation:
    """Every law that acts on an assembled prop.

    The Coulomb friction of a DC motor counts as friction of its axis, on or off. A stop without a stated
    stiffness is a pad of its material (see `simprop.laws.stops`) against the mass of the joint's second body
    alone.

    Returns:
        The laws, in the order of the rig.

    Raises:
        UnknownNameError: for a motor or stop material that isn't in the catalogue.
        RigError: for a law on a joint that doesn't move that way, figures that describe no motor, or two motors that
            hold one joint to a speed.

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
    with assembly.rig.locating():
        return _Actuate(assembly).result()


def with_others(laws: Actuation, others: Mapping[str, Beside]) -> Actuation:
    """The same laws with more on the supplies that have a name.

    Args:
        laws: of a prop.
        others: what else hangs on a supply over the run, by its name in `supplies`.
    """
    sources = tuple(replace(s, beside=others.get(s.name, s.beside)) for s in laws.sources)
    return replace(laws, sources=sources)


class _Actuate:
    """The work of `actuate`, with what its parts share."""

    def __init__(self, assembly: Assembly):
        self.assembly = assembly
        self.joint = {joint.name: joint for joint in assembly.joints}
        self.axis = {(assembly.joints[a.joint].name, a.name): i for i, a in enumerate(assembly.axes)}
        self.friction = np.zeros(len(assembly.axes))
        self.viscous = np.zeros(len(assembly.axes))
        self.notes: list[str] = []
        self.supplies = Supplies()
        self.script = script(assembly.rig)

    def result(self) -> Actuation:
        rig = self.assembly.rig
        self.joint_friction()
        motors = tuple(self.motor(name, motor) for name, motor in rig.motors.items())
        held = [m.axis for m in motors if isinstance(m.law, HeldSpeed)]
        for m in motors:
            if held.count(m.axis) > 1 and isinstance(m.law, HeldSpeed):
                message = f"two {rig.motors[m.name].figures.kind} motors can't drive one joint"
                raise RigError([Fault(message, field=f"motors.{m.name}.joint")])
        torsion, lines = [], Lines(self.assembly, self.notes.append)
        for name, spring in rig.springs.items():
            about, line = spring.about(), spring.line()
            if about is not None:
                torsion.append((self.find(f"springs.{name}.{spring.kind}", about[0], "turn"), about[1]))
            if line is not None:
                lines.add(name, line, line.law)
        stops = tuple(self.stop(name, stop) for name, stop in rig.stops.items())
        met = touches(self.assembly, self.notes.append)
        column = len(motors)
        for name, pusher in rig.pushers.items():
            lines.pusher(name, pusher, self.script.commands[name], self.supplies, column)
            column += pusher.figures.electric
        for name, pull in rig.pulls.items():
            lines.pull(name, pull)
        over = cords(self.assembly, lines.lines, self.notes.append)
        blown = outside(self.assembly, self.notes.append)
        return Actuation(
            self.friction,
            self.viscous,
            tuple(torsion),
            stops,
            motors,
            tuple(lines.lines),
            tuple(self.notes),
            tuple(lines.line_drives),
            tuple(self.supplies.sources),
            met,
            grips(self.assembly),
            rubs(self.assembly),
            slips(self.assembly),
            self.script,
            over,
            blown,
        )

    def find(self, field: str, joint: str, *motions: Motion) -> int:
        """Index of the axis of a joint: the first of `motions` that it has."""
        for motion in motions:
            if (joint, motion) in self.axis:
                return self.axis[joint, motion]
        raise RigError([Fault(f"joint {joint!r} doesn't {' or '.join(motions)}", field=field, value=joint)])

    def joint_friction(self) -> None:
        for joint in self.assembly.joints:
            own = [f.axis for f in joint.freedoms if not f.play]
            for axis, loss in zip(own, joint.kind.losses, strict=True):
                if axis >= 0:
                    self.friction[axis], self.viscous[axis] = loss.friction, loss.viscous

    def motor(self, name: str, motor: Motor) -> MotorData:
        rig, command = self.assembly.rig, self.script.commands[name]
        axis = self.find(f"motors.{name}.joint", motor.joint, "turn", "slide")
        figures, source = motor.figures, motor.source
        wiring = Wiring(motor.supply, command, motor.pwm, motor.on is not None, rig.run.seed)
        field = f"motors.{name}"
        shaft = in_place(field, figures.shaft, wiring, lambda text: self.notes.append(f"{field}: {text}"))
        control, windows = shaft.control, motor.on
        holds = isinstance(shaft.law, PlainLoad) and shaft.law.holds
        if control is not None:
            control = replace(control, source=self.supplies.index(motor.supply, figures.rated))
            windows = None
        elif windows is None and command.drive is not None and not holds:
            windows = on_times(command.drive, rig.run.duration)
        leads = shaft.law.leader if isinstance(shaft.law, HeldSpeed) else None
        data = MotorData(
            name,
            axis,
            shaft.law,
            source.voltage,
            source.limit,
            -1.0 if motor.reverse else 1.0,
            windows,
            shaft.inertia,
            shaft.gear_ratio,
            shaft.rated_current,
            control,
            figures.able(source, 1.0 if control is None else control.most),
            -1 if leads is None else self.find(f"{field}.motor", leads, "turn", "slide"),
        )
        self.friction[axis] += data.own_friction
        return data

    def stop(self, name: str, stop: Stop) -> tuple[int, StopLaw]:
        axis = self.find(f"stops.{name}", stop.joint, stop.MOTION)
        joint = self.joint[stop.joint]
        body = self.assembly.bodies[joint.first if self.assembly.bodies[joint.second].fixed else joint.second]
        if stop.MOTION == "turn":
            moved = _inertia_about(self.assembly.axes[axis].way, joint.point, body)
        else:
            moved = body.mass
        law, assumed = stop.law(moved)
        if assumed:
            self.notes.append(f"stops.{name}: {assumed}")
        return axis, law


def _inertia_about(axis: Array, point: Array, body: BodyData) -> float:
    """Inertia of a body about an axis through a point, kg*m^2."""
    arm = body.com - point
    across = arm - axis * float(axis @ arm)
    return float(axis @ body.inertia @ axis + body.mass * (across @ across))
