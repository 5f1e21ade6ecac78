"""What acts on the coordinates of joints, as the engine asks for it within a step.

Dry friction that sticks, and a drive that holds a speed up to a largest load, are a bristle: a stiff spring from an
anchor, which slips where it would pull harder than the limit. The anchor of a drive moves at the speed to hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import copysign, isfinite

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.contact.meshing import limit
from simprop.engine.exudyn.native import NOTHING, Straight
from simprop.laws.dc import DcLine, limited
from simprop.laws.forms import PlainLoad, Steady, since
from simprop.laws.springs import AxisLaw
from simprop.laws.stops import StopLaw, force, within_reach

QUICK = 2.0
"""Natural frequency of a bristle on what it holds in the start pose, times the step: the integrator follows it."""
GIVES = {"turn": 1e-6, "slide": 1e-7}
"""How far a bristle gives at least before it slips, rad and m: what is less drowns in rounding."""
LOSS = 0.7
"""Damping ratio of a bristle that sticks."""
G = 9.80665
"""Pull by which what rubs is taken to be loaded at least: it is held firmly in a prop without weight too, m/s^2."""
FLIPS = 6
"""Most changes between sticking and slipping within one step; then it stays as it is."""


@dataclass
class Bristle:
    """A spring to an anchor that slips. Whether it sticks is decided between the solutions of a step, not within one.

    Attributes:
        stiffness: N*m/rad or N/m.
        damping: N*m*s/rad or N*s/m.
        limit: largest load, N*m or N.
        anchor: coordinate, rad or m.
        speed: of the anchor when it was last put, rad/s or m/s.
        change: of that speed, rad/s^2 or m/s^2: a speed to hold goes in a straight line over a step.
        on: it acts.
        slips: 0: it sticks; 1 or -1: it slips, pulling that way.
        flips: how often that changed in the present step.
    """

    stiffness: float
    damping: float
    limit: float
    anchor: float = 0.0
    speed: float = 0.0
    change: float = 0.0
    on: bool = True
    slips: int = 0
    flips: int = 0

    def _pull(self, at: float, rate: float, elapsed: float) -> float:
        speed = self.speed + self.change * elapsed
        gone = (self.speed + speed) / 2 * elapsed
        return self.stiffness * (self.anchor + gone - at) + self.damping * (speed - rate)

    def load(self, at: float, rate: float, elapsed: float) -> float:
        """Load on the axis at a coordinate and rate, a time after the anchor was last put, N*m or N."""
        if not self.on:
            return 0.0
        return self.slips * self.limit if self.slips else self._pull(at, rate, elapsed)

    def straight(self, elapsed: float) -> Straight:
        """That load as it is while what it does doesn't change."""
        if not self.on:
            return NOTHING
        if self.slips:
            return self.slips * self.limit, 0.0, 0.0
        speed = self.speed + self.change * elapsed
        to = self.anchor + (self.speed + speed) / 2 * elapsed
        return self.stiffness * to + self.damping * speed, -self.stiffness, -self.damping

    def wrong(self, at: float, rate: float, elapsed: float) -> bool:
        """True if it should have stuck and slipped, or the other way round; then that is changed."""
        if not self.on or self.flips >= FLIPS:
            return False
        pull = self._pull(at, rate, elapsed)
        if self.slips:
            should = self.slips if self.slips * pull >= self.limit else 0
        else:
            should = 0 if abs(pull) <= self.limit else 1 if pull > 0 else -1
        if should == self.slips:
            return False
        self.slips, self.flips = should, self.flips + 1
        return True

    def put(self, at: float, step: float) -> None:
        """Move the anchor on by a step, and to where it pulls no harder than the limit."""
        gone = (self.speed + self.change * step / 2) * step
        self.speed += self.change * step
        pull = self.stiffness * (self.anchor + gone - at)
        self.anchor = at + min(self.limit, max(-self.limit, pull)) / self.stiffness
        self.flips = 0

    def hold(self, load: float, at: float) -> None:
        """Let it pull with a load, N*m or N."""
        kept = min(self.limit, max(-self.limit, load))
        self.anchor = at + kept / self.stiffness
        self.slips = 0 if abs(kept) < self.limit else 1 if kept > 0 else -1


@dataclass
class AxisLoads:
    """All that acts on one coordinate.

    Attributes:
        axis: index.
        motors: those on it.
        viscous: N*m*s/rad or N*s/m.
        springs: about the joint.
        stops: of the joint.
        friction: dry friction, or None.
        drive: what holds it to a speed, or None.
        step: physics step, s.
        began: when the present step began, s.
    """

    axis: int
    motors: AxisMotors
    viscous: float
    springs: list[AxisLaw]
    stops: list[StopLaw]
    friction: Bristle | None
    drive: Bristle | None
    step: float
    began: float = 0.0

    def parts(self, time: float, at: float, rate: float) -> tuple[float, float, float, float, float]:
        """Loads in the order of `simprop.engine.world.APPLIED`, N*m or N."""
        elapsed = time - self.began
        motor = self.motors.load(time, at, rate)
        if self.drive is not None:
            motor += self.drive.load(at, rate, elapsed)
        spring = sum(law.torque(at, rate) for law in self.springs)
        stop = sum(force(law, at, rate, self.step) for law in self.stops)
        rubbed = 0.0 if self.friction is None else self.friction.load(at, rate, elapsed)
        return motor, spring, stop, rubbed, -self.viscous * rate

    def load(self, time: float, at: float, rate: float) -> float:
        """All of them, N*m or N."""
        return sum(self.parts(time, at, rate))

    def straight(self, time: float, at: float, rate: float) -> Straight | None:
        """The same as a straight law that holds about a coordinate and rate, or None where there is none."""
        if any(within_reach(law, at, rate, self.step) for law in self.stops):
            return None
        motors = self.motors.straight(time, rate)
        if motors is None:
            return None
        constant, of_place, of_rate = motors
        of_rate -= self.viscous
        forms: list[Straight | None] = [law.affine for law in self.springs]
        forms += [bristle.straight(time - self.began) for bristle in self.bristles]
        for form in forms:
            if form is None:
                return None
            constant, of_place, of_rate = constant + form[0], of_place + form[1], of_rate + form[2]
        return constant, of_place, of_rate

    @property
    def bristles(self) -> tuple[Bristle, ...]:
        """Those that it has."""
        return tuple(b for b in (self.friction, self.drive) if b is not None)


@dataclass
class AxisMotors:
    """The motors on one axis.

    Attributes:
        own: those that run on their own, and plain loads.
        gain: load of those about which something is decided once a step, at rest, N*m or N.
        slope: how much of it each rad/s or m/s takes.
    """

    own: list[MotorData]
    gain: float = 0.0
    slope: float = 0.0

    def load(self, time: float, at: float, rate: float) -> float:
        """Load, N*m or N."""
        total = self.gain - self.slope * rate
        for motor in self.own:
            if since(motor.windows, time) is None:
                continue
            law, sense = motor.law, motor.sense
            if isinstance(law, PlainLoad):
                total += sense * law.load(sense * at, sense * rate, time)
            elif isinstance(law, DcLine):
                amperes, _ = limited(law, motor.voltage, sense * rate, motor.current_limit)
                total += sense * law.torque_constant * amperes
        return total

    def straight(self, time: float, rate: float) -> Straight | None:
        """The same as a straight law that holds about a rate, or None where there is none."""
        constant, of_rate = self.gain, -self.slope
        for motor in self.own:
            if since(motor.windows, time) is None:
                continue
            law, sense = motor.law, motor.sense
            if isinstance(law, Steady):
                constant += sense * law.steady
            elif isinstance(law, PlainLoad):
                return None
            elif isinstance(law, DcLine):
                amperes = (motor.voltage - law.speed_constant * sense * rate) / law.resistance
                if abs(amperes) > motor.current_limit:
                    constant += sense * law.torque_constant * copysign(motor.current_limit, amperes)
                else:
                    constant += sense * law.torque_constant * motor.voltage / law.resistance
                    of_rate -= law.torque_constant * law.speed_constant / law.resistance
        return constant, 0.0, of_rate


def _alone(assembly: Assembly, axis: int) -> float:
    """Effective mass of an axis by its two bodies alone, kg or kg*m^2: of one that stands still in the start pose."""
    data = assembly.axes[axis]
    joint, ease = assembly.joints[data.joint], 0.0
    for body in (assembly.bodies[joint.first], assembly.bodies[joint.second]):
        if not body.fixed and data.motion == "turn":
            ease += 1.0 / max(float(data.way @ body.inertia @ data.way), 1e-12)
        elif not body.fixed:
            ease += 1.0 / body.mass
    return 1.0 / ease if ease > 0.0 else 0.0


def _most(motor: MotorData) -> float:
    """About the largest load that a motor holds its speed with, N*m or N."""
    able = 0.0 if motor.able is None else motor.able.stall
    return able if isfinite(able) and able > 0.0 else 1.0


def axis_loads(
    assembly: Assembly, laws: Actuation, step: float, masses: Sequence[float]
) -> dict[int, AxisLoads]:
    """What acts on each coordinate on which something acts, by its index."""
    gripped = {g.axis: g.law for g in laws.grips}
    meshed = {r.axis: r for r in laws.rubs}
    pull = max(G, float(np.linalg.norm(assembly.rig.run.gravity)))
    weight = sum(b.mass for b in assembly.bodies if not b.fixed) * pull
    driven = {m.axis for m in laws.motors}
    held = {m.axis for m in laws.motors if m.holds_speed}
    found = {}
    for axis in range(len(assembly.axes)):
        springs = [law for k, law in laws.torsion if k == axis]
        stops = [law for k, law in laws.stops if k == axis]
        rubs = laws.friction[axis] > 0.0 or axis in gripped or axis in meshed
        viscous = float(laws.viscous[axis])
        if not (springs or stops or rubs or viscous or axis in driven):
            continue
        usual = float(laws.friction[axis])
        if axis in gripped:
            usual += gripped[axis].surfaces.static * weight * gripped[axis].arm
        if axis in meshed:
            rub = meshed[axis]
            usual += limit(rub.law, rub.works[0], weight, 0.0, 0.0)
        able = max((_most(m) for m in laws.motors if m.axis == axis), default=0.0)
        far = GIVES[assembly.axes[axis].motion]

        mass = max(masses[axis] or _alone(assembly, axis), 1e-12)

        def bristle(
            usual: float, most: float, on: bool = True, far: float = far, mass: float = mass
        ) -> Bristle:
            stiffness = min(mass * (QUICK / step) ** 2, max(usual, 1e-6) / far)
            return Bristle(stiffness, 2 * LOSS * stiffness * step / QUICK, most, on=on)

        found[axis] = AxisLoads(
            axis,
            AxisMotors([m for m in laws.motors if m.axis == axis and m.control is None]),
            viscous,
            springs,
            stops,
            bristle(usual, float(laws.friction[axis])) if rubs else None,
            bristle(able, 0.0, on=False) if axis in held else None,
            step,
        )
    return found
