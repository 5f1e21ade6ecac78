"""The laws of an `Actuation` evaluated at one instant, for any engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import nan
from typing import Any

from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.acting.catches import Catches
from simprop.engine.acting.stepper import Stepper
from simprop.errors import SimpropError
from simprop.laws.dc import DcLine, limited
from simprop.laws.forms import HeldSpeed, Mounted, PlainLoad
from simprop.laws.stops import force, share_beyond


class Actuator:
    """Evaluates the laws of a prop step by step; remembers what motors that hold a speed remember.

    After `evaluate`, the lists hold one number for each axis of the assembly (N, or N*m for a turn), on the
    joint's second body along the axis and on its first body the other way. They are overwritten by the next
    call. Coulomb friction is left to the engine, which can hold a joint still.

    Attributes:
        motor: by motors that are straight lines or plain loads.
        spring: by torsion springs.
        stop: by end stops.
        damping: by viscous friction.
        held: axis -> (speed, largest force): motors that hold a speed and are on, for the engine to enforce.
        voltage: at each motor's terminals, V; NaN where it has none.
        current: in each motor, A; NaN where not known.
    """

    def __init__(self, actuation: Actuation):
        count, motors = len(actuation.friction), actuation.columns
        self.motor, self.spring, self.stop, self.damping = ([0.0] * count for _ in range(4))
        self.held: dict[int, tuple[float, float]] = {}
        self.voltage, self.current = [nan] * motors, [nan] * motors
        self._viscous = [(i, float(c)) for i, c in enumerate(actuation.viscous) if c > 0.0]
        self._springs, self._stops = actuation.torsion, actuation.stops
        self._catches = Catches(actuation.stops)
        self._plain = [(m, m.law) for m in actuation.motors if isinstance(m.law, PlainLoad)]
        self._dc = [(k, m, m.law) for k, m in enumerate(actuation.motors) if isinstance(m.law, DcLine)]
        self._held = [(k, m, m.law) for k, m in enumerate(actuation.motors) if isinstance(m.law, HeldSpeed)]
        self._states: list[Any] = [None] * motors
        self._starts = [0] * motors
        self.stepper: Stepper | None = None
        if actuation.controlled or actuation.line_drives:
            self.stepper = Stepper(actuation.controlled, actuation.line_drives, actuation.sources, motors)
            self.voltage, self.current = self.stepper.voltage, self.stepper.current

    def evaluate(
        self, time: float, coordinate: Sequence[float], rate: Sequence[float], step: float = 0.0
    ) -> None:
        """Evaluate every law.

        Args:
            time: s; must not run backwards between calls.
            coordinate: of each axis, rad or m.
            rate: of each axis, rad/s or m/s, at the same instant.
            step: around that instant over which what begins or ends within it is averaged, s; 0: the instant alone.

        Example:
            >>> import numpy as np
            >>> from simprop.laws.stops import StopLaw
            >>> stops = ((0, StopLaw(None, 0.1, stiffness=500.0, damping=0.0)),)
            >>> actuator = Actuator(Actuation(np.zeros(1), np.zeros(1), (), stops, (), ()))
            >>> actuator.evaluate(0.0, [0.104], [0.0])
            >>> round(actuator.stop[0], 9)
            -2.0
        """
        if self._dc or self._plain:
            self._motors(time, coordinate, rate)
        for k, m, law in self._held:
            self._hold(k, m, law, time, coordinate, rate)
        if self._springs:
            spring = self.spring
            for axis, _ in self._springs:
                spring[axis] = 0.0
            for axis, coil in self._springs:
                spring[axis] += coil.torque(coordinate[axis], rate[axis])
        if self._stops:
            stop = self.stop
            for axis, _ in self._stops:
                stop[axis] = 0.0
            self._catches.follow(coordinate)
            for (axis, _), end in zip(self._stops, self._catches.laws, strict=True):
                stop[axis] += force(end, coordinate[axis], rate[axis], step)
        for axis, viscous in self._viscous:
            self.damping[axis] = -viscous * rate[axis]

    def _motors(self, time: float, coordinate: Sequence[float], rate: Sequence[float]) -> None:
        motor = self.motor
        for _, m, _ in self._dc:
            motor[m.axis] = 0.0
        for m, _ in self._plain:
            motor[m.axis] = 0.0
        for k, m, line in self._dc:
            self._run_dc(k, m, line, time, rate[m.axis])
        for m, load in self._plain:
            if m.windows is None or _within(m.windows, time):
                motor[m.axis] += m.sense * load.load(
                    m.sense * coordinate[m.axis], m.sense * rate[m.axis], time
                )
        if self.stepper is not None:
            for axis, extra in self.stepper.extra.items():
                motor[axis] += extra

    def decide(
        self,
        time: float,
        coordinate: Sequence[float],
        rate: Sequence[float],
        *,
        lines: Mapping[int, tuple[float, float]],
        reaction: Mapping[int, float],
        step: float,
    ) -> None:
        """What is decided once a step, before `evaluate`; see `simprop.engine.acting.stepper.Stepper.step`."""
        if self.stepper is None:
            return
        for axis in self.stepper.held:
            self.held.pop(axis, None)
        self.stepper.step(time, coordinate, rate, lines=lines, reaction=reaction, step=step)
        self.held.update(self.stepper.held)

    def pull(self, line: int) -> float:
        """Pull of a straight drive, as decided for this step, N."""
        return 0.0 if self.stepper is None else self.stepper.pulls[line]

    def _run_controlled(self, k: int, motor: MotorData, line: DcLine, rate: float) -> None:
        assert self.stepper is not None
        volts = self.stepper.terminal.get(k)
        if volts is not None:
            amperes = (volts - line.speed_constant * motor.sense * rate) / line.resistance
            self.motor[motor.axis] += motor.sense * line.torque_constant * amperes

    def _run_dc(self, k: int, motor: MotorData, line: DcLine, time: float, rate: float) -> None:
        if motor.control is not None:
            self._run_controlled(k, motor, line, rate)
            return
        speed = motor.sense * rate
        if motor.windows is None or _within(motor.windows, time):
            amperes, volts = limited(line, motor.voltage, speed, motor.current_limit)
            self.motor[motor.axis] += motor.sense * line.torque_constant * amperes
        else:
            amperes, volts = 0.0, line.speed_constant * speed
        self.current[k], self.voltage[k] = amperes, volts

    def _hold(
        self,
        k: int,
        motor: MotorData,
        law: HeldSpeed,
        time: float,
        coordinate: Sequence[float],
        rate: Sequence[float],
    ) -> None:
        if not (motor.windows is None or _within(motor.windows, time)):
            self._states[k] = None
            self.held.pop(motor.axis, None)
            self.current[k], self.voltage[k] = 0.0, 0.0 if motor.voltage == motor.voltage else nan
            return
        state = self._states[k]
        if state is None:
            state = law.start(self._starts[k])
            self._starts[k] += 1
        state = law.advance(state, time, motor.sense * rate[motor.axis])
        if motor.leader >= 0:
            leader = coordinate[motor.leader], rate[motor.leader]
            state = law.led(state, leader, motor.sense * coordinate[motor.axis])
        self._states[k] = state
        speed, most = law.goal(state)
        self.held[motor.axis] = (motor.sense * speed, most)
        self.current[k], self.voltage[k] = motor.rated_current, motor.voltage


def line_tension(actuation: Actuation, index: int, length: float, rate: float, step: float = 0.0) -> float:
    """Tension of one spring between points, N (pull positive).

    Args:
        index: of the spring in `Actuation.lines`.
        length: distance of its points, m.
        rate: of the distance, m/s.
        step: around now over which a spring that is taken up or let go is averaged, s; 0: now alone.
    """
    law = actuation.lines[index].law
    if isinstance(law, Mounted):
        raise SimpropError(f"the pull of {actuation.lines[index].name!r} is decided once a step")
    for edge, side in zip(law.idle or (), (-1.0, 1.0), strict=False):
        depth = side * (length - edge)
        share = share_beyond(depth, side * rate, step)
        if (
            0.0 < share < 1.0
        ):  # as that of a stop, its damping counts by the share of the step in which it is taut
            return law.tension(edge + side * max(depth, 1e-12), share * rate)
    return law.tension(length, rate)


def _within(windows: Sequence[tuple[float, float]], time: float) -> bool:
    return any(begin <= time < end for begin, end in windows)
