"""What any engine must offer, and what it hands back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.geometry.arrays import Array

APPLIED = ("motor", "spring", "stop", "friction", "damping")
"""The rows of `Trajectory.applied`, in order."""


@dataclass(frozen=True)
class Trajectory:
    """Motion and applied loads at every physics step; row i belongs to the instant `time[i]`.

    With n rows, B bodies, A axes, L line elements (springs between points), M motors. World frame, SI.

    Attributes:
        step: physics step, s.
        time: (n,) s. For a semi-implicit engine the middle of each step: (i + 1/2) * step.
        position: centre of mass of each body, (n, B, 3) m.
        rotation: rotation of each body from the start pose, unit quaternion x y z w, (n, B, 4).
        velocity: of each centre of mass at the same instant, (n, B, 3) m/s.
        spin: angular velocity, (n, B, 3) rad/s.
        acceleration: of each centre of mass, (n, B, 3) m/s^2.
        spin_acceleration: (n, B, 3) rad/s^2.
        coordinate: joint coordinate of each axis, unwrapped, (n, A) rad or m.
        rate: its rate, (n, A).
        applied: generalised force on each axis by each of `APPLIED`, acting on the joint's second body along
            (or about) the axis and on its first body the other way, (n, 5, A) N or N*m.
        line_force: tension in each line element (pull positive), (n, L) N.
        line_start: world point of its first end, (n, L, 3) m.
        line_end: world point of its second end, (n, L, 3) m.
        voltage: at each motor's terminals, (n, M) V; NaN where a motor has none. Pushers that take current have
            further columns after the motors.
        current: in each motor, (n, M) A; NaN where not known; with the same further columns.
        touch_force: on the second body of each place of touch (`Actuation.touches`), the first gets the opposite,
            (n, C, 3) N.
        touch_point: where, (n, C, 3) m.
        own: of an engine that solves for them, force and moment of each joint of the rig on its second body at the
            joint's point, in what it bars, (n, J, 6) N and N*m, world; NaN of a joint that it doesn't bar. Else empty.
        slip_force: force of each coupling that may slip (`Assembly.slips`), on the body that its first joint moves,
            (n, S) N.
        outer_force, outer_moment: of each of `Actuation.outside.rows` on its body, about its point, (n, K, 3) N, N*m.
        held: energy that strips hold, what the air took from them and what their links lost so far, (n, 3) J.
    """

    step: float
    time: Array
    position: Array
    rotation: Array
    velocity: Array
    spin: Array
    acceleration: Array
    spin_acceleration: Array
    coordinate: Array
    rate: Array
    applied: Array
    line_force: Array
    line_start: Array
    line_end: Array
    voltage: Array
    current: Array
    touch_force: Array = field(default_factory=lambda: np.zeros((0, 0, 3)))
    touch_point: Array = field(default_factory=lambda: np.zeros((0, 0, 3)))
    own: Array = field(default_factory=lambda: np.zeros((0, 0, 6)))
    slip_force: Array = field(default_factory=lambda: np.zeros((0, 0)))
    outer_force: Array = field(default_factory=lambda: np.zeros((0, 0, 3)))
    outer_moment: Array = field(default_factory=lambda: np.zeros((0, 0, 3)))
    held: Array = field(default_factory=lambda: np.zeros((0, 3)))


Progress = Callable[[int], None]


class Engine(Protocol):
    """A rigid-body engine that can step an assembled prop."""

    @property
    def name(self) -> str:
        """Short name, as given to `--engine`."""
        ...

    @property
    def gives(self) -> bool:
        """Whether it carries joints that give, and so members that bend."""
        ...

    @property
    def implicit(self) -> bool:
        """Whether it takes stiff springs and contacts at any step, so that accuracy alone limits the step."""
        ...

    def run(
        self,
        assembly: Assembly,
        actuation: Actuation,
        step: float,
        steps: int,
        progress: Progress | None = None,
    ) -> Trajectory:
        """Step the prop from its start pose.

        Args:
            assembly: what moves.
            actuation: every law that acts on it.
            step: physics step, s.
            steps: how many.
            progress: called now and then with the number of steps done.

        Returns:
            One row a step.

        Raises:
            EngineError: on NaN, runaway, a loop that comes apart, a joint driven far past its stop; the message
                names the time, the body or joint and the likely cause.
        """
        ...
