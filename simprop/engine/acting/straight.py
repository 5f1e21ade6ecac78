"""Straight drives and pulls between two points, one force a step: pushers, air, struts, strips, weights,
ropes.

Each remembers what it must (a nut's place, pressures, where a weight hangs) and gives the pull on its two
points for the coming step. Damping of its own is taken at the end of the step, so that it can't blow up.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import copysign

from simprop.laws import actuator, pneumatic, pull
from simprop.laws.dc import DcLine, friction_torque
from simprop.laws.locking import drive_torque

END_STIFFNESS = 5e4
"""Of the ends of stroke of a lock actuator and a solenoid, N/m (assumed)."""


@dataclass(frozen=True)
class Screw:
    """A linear actuator: its figures, its line in N and m/s, its rotor seen as a mass (kg), its brackets."""

    figures: actuator.LinearActuator
    line: DcLine
    mass: float
    stiffness: float
    damping: float


@dataclass(frozen=True)
class Rope:
    """A hand on a rope: N, s to full pull, times at which it pulls."""

    force: float
    ramp: float
    windows: tuple[tuple[float, float], ...] | None


Law = (
    Screw
    | actuator.PulseActuator
    | actuator.Solenoid
    | pneumatic.Cylinder
    | pull.GasSpring
    | pull.ConstantForceSpring
    | pull.Counterweight
    | Rope
)


@dataclass(frozen=True)
class Fed:
    """A straight drive as the law of a line.

    Attributes:
        law: what it is.
        rate: its own stiffness, N/m; 0 where it has none (it decides how fine the step must be).
        length: distance of its points in the start pose, m.
        extension: how far it is out then, m.
        moving: mass that it moves, kg (the lighter of its bodies).
        vented: of an air cylinder, whether it starts without pressure.
    """

    law: Law
    rate: float
    length: float
    extension: float
    moving: float
    vented: bool = False


class Straight:
    """A straight drive while it runs.

    Attributes:
        current: that it takes, A.
    """

    def __init__(self, fed: Fed):
        self.fed, self.current = fed, 0.0
        self._nut, self._nut_rate = fed.extension, 0.0
        self._weight = pull.hang(fed.law, fed.length) if isinstance(fed.law, pull.Counterweight) else None
        self._air = pneumatic.Air()
        if isinstance(fed.law, pneumatic.Cylinder) and not fed.vented:
            self._air = pneumatic.Air(pneumatic.ATMOSPHERE, fed.law.supply)

    @property
    def emf(self) -> float:
        """Back EMF of a linear actuator's motor, V; 0 for others."""
        law = self.fed.law
        return law.line.speed_constant * self._nut_rate if isinstance(law, Screw) else 0.0

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        """Pull on its two points for the coming step, N.

        Args:
            time: s.
            length: distance of its points, m.
            rate: of that, m/s.
            step: s.
            volts: put on it, signed (an air valve: its sign counts); None: cut off.
        """
        law = self.fed.law
        out = length - self.fed.length + self.fed.extension
        if isinstance(law, Screw):
            return -self._screw(law, out, rate, step, volts)
        if isinstance(law, actuator.PulseActuator):
            return -self._lock(law, out, rate, step, volts)
        if isinstance(law, actuator.Solenoid):
            return self._solenoid(law, out, volts)
        if isinstance(law, pneumatic.Cylinder):
            return -self._cylinder(law, out, rate, step, volts)
        if isinstance(law, pull.GasSpring):
            push = pull.gas_spring(law, length, 0.0)
            return self._slowed(rate, step, law.damping) + self._rubbed(rate, step, law.friction) - push
        if isinstance(law, pull.ConstantForceSpring):
            return pull.constant_force(law, length)
        if isinstance(law, pull.Counterweight):
            return self._hanging(law, length, rate, step)
        begun = _since(law.windows, time)
        return 0.0 if begun is None else pull.rope(law.force, law.ramp, begun)

    def _slowed(self, rate: float, step: float, damping: float) -> float:
        """Pull of a damper, as at the end of the step."""
        return damping * rate / (1 + damping * step / self.fed.moving)

    def _rubbed(self, rate: float, step: float, friction: float) -> float:
        """Pull of dry friction, no more than what stops the mass it moves."""
        return copysign(min(friction, self.fed.moving * abs(rate) / step), rate)

    def _screw(self, law: Screw, out: float, rate: float, step: float, volts: float | None) -> float:
        """Push of a linear actuator: the spring of its brackets between its nut and the rod."""
        line = law.line
        if volts is not None and actuator.switched(law.figures, self._nut, volts) == 0.0:
            volts = None
        push = law.stiffness * (self._nut - out) + law.damping * (self._nut_rate - rate)
        self._nut_rate = self._nut_next(law, push, step, volts)
        self._nut += step * self._nut_rate
        self.current = (
            0.0 if volts is None else (volts - line.speed_constant * self._nut_rate) / line.resistance
        )
        return push

    def _nut_next(self, law: Screw, push: float, step: float, volts: float | None) -> float:
        line, old = law.line, self._nut_rate
        drive = drive_torque(line, volts, 0.0)
        way = copysign(1.0, old) if old != 0.0 else copysign(1.0, drive) if drive != 0.0 else 0.0
        load = push if not law.figures.self_locking or push * way > 0 else 0.0
        slope = 0.0 if volts is None else line.torque_constant * line.speed_constant / line.resistance
        brake = 1 + step * slope / law.mass
        moved = (old + step * (drive - load) / law.mass) / brake
        lost = step * friction_torque(line) / law.mass / brake
        new = 0.0 if abs(moved) <= lost else moved - copysign(lost, moved)
        backwards = law.figures.self_locking and new * (drive if drive != 0.0 else old) < 0
        return 0.0 if backwards or (law.figures.self_locking and volts is None and old * new <= 0) else new

    def _lock(
        self, law: actuator.PulseActuator, out: float, rate: float, step: float, volts: float | None
    ) -> float:
        self.current = 0.0
        push = END_STIFFNESS * (min(max(out, 0.0), law.stroke) - out)
        if volts is None:
            return push
        share = volts / law.rated_voltage
        self.current = law.current * abs(share)
        return push + law.force * share - self._slowed(rate, step, law.force / law.speed)

    def _solenoid(self, law: actuator.Solenoid, gap: float, volts: float | None) -> float:
        closed = END_STIFFNESS * min(gap, 0.0)
        if volts is None:
            self.current = 0.0
            return closed
        self.current = law.current * abs(volts) / law.rated_voltage
        return closed + actuator.pull(law, gap, volts)

    def _cylinder(
        self, law: pneumatic.Cylinder, out: float, rate: float, step: float, volts: float | None
    ) -> float:
        valve = 1 if volts is not None and volts > 0 else -1
        push = pneumatic.force(law, self._air) + pneumatic.end_force(law, out)
        self._air = pneumatic.advance(law, self._air, valve, (out, rate), step)
        return push - self._rubbed(rate, step, law.friction)

    def _hanging(self, law: pull.Counterweight, length: float, rate: float, step: float) -> float:
        assert self._weight is not None
        tension = pull.counterweight_tension(law, self._weight, length, rate)
        self._weight = pull.counterweight_step(law, self._weight, tension, step)
        return tension


def _since(windows: tuple[tuple[float, float], ...] | None, time: float) -> float | None:
    """Time since the window began in which `time` lies, s; None outside of all."""
    if windows is None:
        return time
    begins = [w[0] for w in windows]
    i = bisect_right(begins, time) - 1
    return time - begins[i] if i >= 0 and time < windows[i][1] else None
