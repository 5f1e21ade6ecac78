"""Laws that act between bodies rather than on a joint of the chain: springs between points, closing joints.

Plain floats throughout: this runs at every step.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import atan2, pi, sqrt

import numpy as np

from simprop.assembly.types import Assembly, Axis
from simprop.engine.acting.lines import LineData
from simprop.engine.track import axis_rate
from simprop.errors import EngineError

Vec = tuple[float, float, float]
Quat = tuple[float, float, float, float]
Frames = Mapping[int, tuple[Vec, Quat]]
"""Body -> its centre of mass and its rotation from the start."""


def turn(q: Quat, v: Vec) -> Vec:
    """A vector turned by a unit quaternion x y z w.

    Example:
        >>> turn((0.0, 0.0, 1.0, 0.0), (1.0, 2.0, 3.0))
        (-1.0, -2.0, 3.0)
    """
    x, y, z, w = q
    a, b, c = v
    s, t, u = 2.0 * (y * c - z * b), 2.0 * (z * a - x * c), 2.0 * (x * b - y * a)
    return a + w * s + y * u - z * t, b + w * t + z * s - x * u, c + w * u + x * t - y * s


def compose(p: Quat, q: Quat) -> Quat:
    """The rotation `q` followed by `p`.

    Example:
        >>> compose((0.0, 0.0, 1.0, 0.0), (0.0, 0.0, 1.0, 0.0))
        (0.0, 0.0, 0.0, -1.0)
    """
    px, py, pz, pw = p
    qx, qy, qz, qw = q
    return (
        pw * qx + qw * px + py * qz - pz * qy,
        pw * qy + qw * py + pz * qx - px * qz,
        pw * qz + qw * pz + px * qy - py * qx,
        pw * qw - px * qx - py * qy - pz * qz,
    )


def back(q: Quat) -> Quat:
    """The rotation back."""
    return -q[0], -q[1], -q[2], q[3]


class Ahead:
    """Rate of a value at the instant of its newest sample, from differences that lie half a step earlier."""

    def __init__(self, step: float, rate: float):
        self._step, self._rate, self._value = step, rate, None

    _value: float | None

    def rate(self, value: float) -> float:
        """Take the newest sample and give the rate there."""
        before = self._rate
        if self._value is not None:
            self._rate = (value - self._value) / self._step
        self._value = value
        return 1.5 * self._rate - 0.5 * before


class LineProbe:
    """Where a spring between points is, how long and how fast it lengthens."""

    def __init__(self, assembly: Assembly, line: LineData, step: float):
        self.first, self.second = line.first, line.second
        self._one, self._two = _vec(line.first_point), _vec(line.second_point)
        bodies = assembly.bodies
        across = bodies[line.second].com + line.second_point - bodies[line.first].com - line.first_point
        speed = (
            assembly.velocity[line.second]
            + np.cross(assembly.spin[line.second], line.second_point)
            - assembly.velocity[line.first]
            - np.cross(assembly.spin[line.first], line.first_point)
        )
        length = float(np.linalg.norm(across))
        self._ahead = Ahead(step, float(across @ speed) / length if length > 0.0 else 0.0)

    def measure(self, frames: Frames) -> tuple[Vec, Vec, Vec, float, float]:
        """Its two ends, the unit direction from first to second, its length and the rate of that."""
        (ax, ay, az), q = frames[self.first]
        dx, dy, dz = turn(q, self._one)
        one = (ax + dx, ay + dy, az + dz)
        (ax, ay, az), q = frames[self.second]
        dx, dy, dz = turn(q, self._two)
        two = (ax + dx, ay + dy, az + dz)
        x, y, z = two[0] - one[0], two[1] - one[1], two[2] - one[2]
        length = sqrt(x * x + y * y + z * z)
        unit = (x / length, y / length, z / length) if length > 1e-12 else (0.0, 0.0, 0.0)
        return one, two, unit, length, self._ahead.rate(length)


def beside(assembly: Assembly, axis: int, of_axis: Collection[int]) -> int:
    """The coordinate of the chain that a slide moves along with: its own, or that of a rail beside it.

    Of two rails between the same bodies one closes a loop; it slides as far as the other, so its friction acts there.

    Args:
        of_axis: the coordinates that the chain has.
    """
    data = assembly.axes[axis]
    if axis in of_axis or data.motion != "slide":
        return axis
    own = _ends(assembly, data)
    rails = (k for k, other in enumerate(assembly.axes) if k in of_axis and other.motion == "slide")
    alike = (k for k in rails if _ends(assembly, assembly.axes[k]) == own)
    return next((k for k in alike if float(assembly.axes[k].way @ data.way) > 1 - 1e-9), axis)


def _ends(assembly: Assembly, axis: Axis) -> tuple[int, int]:
    """The bodies between which a coordinate counts; -1 for any that stands still."""
    joint = assembly.joints[axis.joint]
    one, two = (-1 if assembly.bodies[i].fixed else i for i in (joint.first, joint.second))
    return one, two


def closing_turn(assembly: Assembly, axis: int) -> Axis:
    """A coordinate of a joint that closes a loop, on which something acts.

    Raises:
        EngineError: for a slide.
    """
    data = assembly.axes[axis]
    if data.motion == "slide":
        name = assembly.joints[data.joint].name
        raise EngineError(
            f"something acts along the slide of joint {name!r}, which closes a loop and has no rail beside it: bullet "
            "can't work out what it does; use --engine mujoco"
        )
    return data


class TurnProbe:
    """Angle, rate and direction of a pin that closes a loop, from its two bodies."""

    def __init__(self, assembly: Assembly, axis: int, step: float):
        data = closing_turn(assembly, axis)
        joint = assembly.joints[data.joint]
        self.axis, self.first, self.second = axis, joint.first, joint.second
        self._direction = _vec(data.way)
        self._angle = 0.0
        self._ahead = Ahead(step, axis_rate(assembly, axis))

    def measure(self, frames: Frames) -> tuple[float, float, Vec]:
        """Angle unwrapped, its rate, and the pin's direction now."""
        held = frames[self.first][1]
        x, y, z, w = compose(back(held), frames[self.second][1])
        a, b, c = self._direction
        wrapped = 2.0 * atan2(a * x + b * y + c * z, w)
        turns = round((self._angle - wrapped) / (2.0 * pi))
        self._angle = wrapped + 2.0 * pi * turns
        return self._angle, self._ahead.rate(self._angle), turn(held, self._direction)


def _vec(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vec:
    x, y, z = (float(v) for v in values)
    return x, y, z
