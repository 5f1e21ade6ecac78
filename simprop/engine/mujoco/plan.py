"""What stands in a prop's MJCF text, for those who run it; and small helpers for writing it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.acting.rotors import Rotor
from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.laws.forms import PlainLoad

IDLE = 1e-9
"""Friction loss of a drive that is off, or of what isn't pressed, N*m or N: never 0, so that its row stays."""
LEAST = 1e-14
"""Added to every principal moment, kg*m^2."""
GOAL = 1e6
"""Inertia of the wheel that stands for a speed to hold: the prop can't slow it within a step, kg*m^2."""


@dataclass(frozen=True)
class Limit:
    """A tendon limit that stands for a one-sided spring with damping.

    Attributes:
        tendon: name.
        stiffness: N/m or N*m/rad.
        damping: N*s/m or N*m*s/rad.
    """

    tendon: str
    stiffness: float
    damping: float


@dataclass(frozen=True)
class Feed:
    """An actuator on an axis, or on a line spring, that is fed with its law's force at every stage of a step.

    Attributes:
        actuator: name.
        row: which row of `simprop.engine.world.APPLIED` it belongs to, or "line".
        index: of the axis, or of the line spring.
    """

    actuator: str
    row: Literal["motor", "spring", "line"]
    index: int


@dataclass(frozen=True)
class Plan:
    """MJCF text and what must be known about it to run it.

    Attributes:
        text: the model.
        limits: tendon limits to be given their law after compiling.
        feeds: actuators to be fed, with the forces of `fed`.
        fed: the laws that have no native counterpart.
        holds: (axis that a motor can hold to a speed, name of the tendon whose friction does it).
        motors: (index of a motor with a native law, name of its actuator).
        torsion: (axis, name of the actuator) of each native torsion spring.
        lines: names of the tendons of all lines.
        pulls: (index of a line whose pull is decided once a step, name of its actuator).
        closures: for each equality constraint of the model, the index of the closing joint, or -1 for a gear.
        moving: indices of the bodies that move, in the order of their sensors.
        actuators: names of all actuators, in the order of their sensors.
        rotors: (name of its joint, rotor) of each rotor that turns in a moving body.
    """

    text: str
    limits: tuple[Limit, ...]
    feeds: tuple[Feed, ...]
    fed: Actuation
    holds: tuple[tuple[int, str], ...]
    motors: tuple[tuple[int, str], ...]
    torsion: tuple[tuple[int, str], ...]
    lines: tuple[str, ...]
    pulls: tuple[tuple[int, str], ...]
    closures: tuple[int, ...]
    moving: tuple[int, ...]
    actuators: tuple[str, ...]
    rotors: tuple[tuple[str, Rotor], ...]


def native(motor: MotorData) -> bool:
    """Whether the engine has an element of its own for a motor's law."""
    law = motor.law
    return isinstance(law, DcLine) or (isinstance(law, PlainLoad) and law.steady is not None)


def row(values: Array | list[float] | tuple[float, ...]) -> str:
    """Numbers as MJCF writes them, without loss."""
    return " ".join(repr(float(v)) for v in values)


def principal(inertia: Array) -> tuple[Array, Array]:
    """Principal moments and their axes as a quaternion w x y z.

    Moments are raised by a billionth of their sum and `LEAST`: thin rods have none about their own line,
    points none at all, and the engine takes no zeros.

    Args:
        inertia: (3, 3) kg*m^2.

    Returns:
        ((3,) kg*m^2, (4,)).

    Example:
        >>> moments, turn = principal(np.diag([1.0, 2.0, 3.0]))
        >>> moments.round(6).tolist(), turn.round(6).tolist()
        ([1.0, 2.0, 3.0], [1.0, 0.0, 0.0, 0.0])
    """
    moments, axes = np.linalg.eigh((inertia + inertia.T) / 2)
    if np.linalg.det(axes) < 0:
        axes = axes * np.array([1.0, 1.0, -1.0])
    moments = np.maximum(moments, 0.0) + 1e-9 * float(np.trace(inertia)) + LEAST
    w = 0.5 * math.sqrt(max(0.0, 1.0 + float(np.trace(axes))))
    if w > 1e-3:
        rest = np.array([axes[2, 1] - axes[1, 2], axes[0, 2] - axes[2, 0], axes[1, 0] - axes[0, 1]]) / (4 * w)
        return moments, np.array([w, *rest])
    # Half a turn about the eigenvector of eigenvalue one.
    values, vectors = np.linalg.eigh((axes + axes.T) / 2)
    return moments, np.array([0.0, *vectors[:, int(np.argmax(values))]])
