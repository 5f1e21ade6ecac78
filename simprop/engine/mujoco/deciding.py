"""What the MuJoCo engine decides once a step: speeds to hold, voltages, the pull of straight drives."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.acting.actuator import Actuator
from simprop.engine.acting.stepper import Stepper
from simprop.engine.mujoco.plan import GOAL, IDLE, Plan, native
from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.laws.forms import HeldSpeed


def decides(laws: Actuation) -> bool:
    """Whether anything is decided once a step."""
    return bool(laws.line_drives) or any(not native(m) or m.control is not None for m in laws.motors)


class Terminal:
    """Where a native motor gets its voltage."""

    def __init__(self, model: Any, data: Any, actuator: int, line: DcLine):
        """Take hold of it.

        Args:
            model: of the engine.
            data: its state.
            actuator: index of the motor's actuator.
            line: the motor.
        """
        self._bias, self._ctrl, self._actuator = model.actuator_biasprm[actuator], data.ctrl, actuator
        self._slope = -float(model.actuator_gainprm[actuator, 0]) * line.speed_constant
        self._on: bool | None = None

    def put(self, volts: float | None) -> None:
        """Put a voltage on the motor, V in the sense of its axis; None: cut off."""
        on = volts is not None
        if on != self._on:
            self._bias[2], self._on = self._slope if on else 0.0, on
        self._ctrl[self._actuator] = volts or 0.0


class Deciding:
    """Decides before each step, and remembers what was decided.

    A speed to hold goes in a straight line over the step, so that a speed that is decided anew each step makes
    no saw-tooth of the force that holds it.

    Attributes:
        extra: further load of motors on each axis, (n, A), or None so far.
        reaction: axis -> load with which it was held to its speed in the last step; the engine's loop writes it.
        voltage, current: rows of what each motor and electric pusher had.
    """

    def __init__(self, mujoco: Any, model: Any, data: Any, plan: Plan, laws: Actuation):
        self.mj, self.model, self.data, self.laws = mujoco, model, data, laws
        nothing = np.zeros(len(laws.friction))
        # The engine sees to the other laws itself.
        self.actuator = Actuator(replace(laws, friction=nothing, viscous=nothing, torsion=(), stops=()))
        self.step = float(model.opt.timestep)
        joints = [model.joint(f"q{k}").id for k in range(len(nothing))]
        self.places, self.rates = model.jnt_qposadr[joints].tolist(), model.jnt_dofadr[joints].tolist()
        self.at, self.speed, self.push, self.ctrl = data.qpos, data.qvel, data.qfrc_applied, data.ctrl
        self.wheels = [
            (axis, model.tendon(name).id, int(model.joint(f"goal{axis}").dofadr[0]))
            for axis, name in plan.holds
        ]
        self.target, self.slope = [0.0] * len(self.wheels), [0.0] * len(self.wheels)
        self.holds = any(isinstance(m.law, HeldSpeed) for m in laws.motors)
        self.brake, self.lengths, self.length_rates = (
            model.tendon_frictionloss,
            data.ten_length,
            data.ten_velocity,
        )
        self.steered: list[tuple[int, MotorData, Terminal]] = []
        for k, name in plan.motors:
            motor = laws.motors[k]
            if motor.control is not None and isinstance(motor.law, DcLine):
                terminal = Terminal(model, data, model.actuator(name).id, motor.law)
                self.steered.append((k, motor, terminal))
        self.pulls = [(k, model.tendon(plan.lines[k]).id, model.actuator(name).id) for k, name in plan.pulls]
        self.extra: Array | None = None
        self.reaction: dict[int, float] = {}
        self.voltage: list[tuple[float, ...]] = []
        self.current: list[tuple[float, ...]] = []

    def __call__(self, n: int, steps: int) -> None:
        """Decide for step n of `steps`.

        Decided for the middle of the step, where positions are foreseen by the speeds: a force that is held
        over a step but belongs to its start would pump energy into whatever rings.
        """
        half, laws, brake = 0.5 * self.step, self.actuator, self.brake
        place, speeds, time = self.at.tolist(), self.speed.tolist(), n * self.step + half
        rate = [speeds[i] for i in self.rates]
        at = [place[i] + half * w for i, w in zip(self.places, rate, strict=True)]
        if laws.stepper is not None:
            laws.decide(time, at, rate, lines=self._lines(half), reaction=self.reaction, step=self.step)
        if self.holds:
            laws.evaluate(time, at, rate)
        for i, (axis, tendon, goal) in enumerate(self.wheels):
            held = axis in laws.held
            speed, most = laws.held[axis] if held else (0.0, IDLE)
            free = brake[tendon] <= IDLE
            self.target[i] = rate[axis] if free else self.target[i] + self.step * self.slope[i]
            self.slope[i] = (speed - self.target[i]) / self.step if held else 0.0
            brake[tendon] = max(most, IDLE)
            self.speed[goal], self.push[goal] = self.target[i], GOAL * self.slope[i]
        self.voltage.append(tuple(laws.voltage))
        self.current.append(tuple(laws.current))
        if laws.stepper is not None:
            self._steer(n, steps, laws.stepper)

    def _lines(self, half: float) -> dict[int, tuple[float, float]]:
        """Length and its rate of each straight drive at the middle of the step."""
        if not self.pulls:
            return {}
        self.mj.mj_fwdPosition(self.model, self.data)
        self.mj.mj_fwdVelocity(self.model, self.data)
        length, rate = self.lengths, self.length_rates
        return {k: (float(length[t] + half * rate[t]), float(rate[t])) for k, t, _ in self.pulls}

    def _steer(self, n: int, steps: int, stepper: Stepper) -> None:
        for k, motor, terminal in self.steered:
            volts = stepper.terminal.get(k)
            terminal.put(None if volts is None else motor.sense * volts)
        if stepper.extra or self.extra is not None:
            if self.extra is None:
                self.extra = np.zeros((steps, len(self.rates)))
            for axis, load in stepper.extra.items():
                self.extra[n, axis] = load
            self.push[self.rates] = self.extra[n]
        for k, _, actuator in self.pulls:
            self.ctrl[actuator] = -stepper.pulls[k]

    def electric(self) -> Array:
        """Voltage and current of each column, (n, 2, C)."""
        return np.stack([np.array(self.voltage), np.array(self.current)], axis=1)
