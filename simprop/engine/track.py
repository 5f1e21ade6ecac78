"""From poses at every step to a whole `Trajectory`: speeds and accelerations by differences.

A semi-implicit engine gives positions x_n = x_(n-1) + h v_n, so that (x_n - x_(n-1)) / h is the speed at the
time n h exactly half-way between two poses, and the second difference of the poses is the acceleration at a
pose. Taken from the world positions themselves this is accurate to the second order in the step; from the
body speeds that the engine reports (joint speeds at one instant put on the pose of another) it would be to
the first.
"""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.geometry.turning import inverse, multiply, rotate, to_vector, twist


def moved(step: float, values: Array, first_rate: Array) -> tuple[Array, Array]:
    """Rates and second rates of values sampled at n + 1 instants, at the first n of them.

    Args:
        step: s.
        values: (n + 1, ...) at (i + 1/2) * step.
        first_rate: (...) at time 0.

    Returns:
        (n, ...) each.
    """
    between = np.concatenate([first_rate[None], np.diff(values, axis=0) / step])
    return 0.5 * (between[1:] + between[:-1]), np.diff(between, axis=0) / step


def turned(step: float, rotation: Array, first_spin: Array) -> tuple[Array, Array]:
    """Angular velocity and acceleration of rotations sampled at n + 1 instants, at the first n; as `moved`."""
    between = np.concatenate(
        [first_spin[None], to_vector(multiply(rotation[1:], inverse(rotation[:-1]))) / step]
    )
    return 0.5 * (between[1:] + between[:-1]), np.diff(between, axis=0) / step


def axis_coordinate(assembly: Assembly, axis: int, position: Array, rotation: Array) -> Array:
    """Coordinate of an axis from the poses of its two bodies, unwrapped, (n,) rad or m."""
    data = assembly.axes[axis]
    joint = assembly.joints[data.joint]
    one, two = joint.first, joint.second
    if data.motion == "turn":
        relative = multiply(inverse(rotation[:, one]), rotation[:, two])
        return np.unwrap(twist(relative, data.way))
    bodies = assembly.bodies
    at_one = position[:, one] + rotate(rotation[:, one], joint.point - bodies[one].com)
    at_two = position[:, two] + rotate(rotation[:, two], joint.point - bodies[two].com)
    return np.asarray(np.sum((at_two - at_one) * rotate(rotation[:, one], data.way), axis=-1))


def axis_rate(assembly: Assembly, axis: int) -> float:
    """Rate of an axis at the start, rad/s or m/s."""
    data = assembly.axes[axis]
    joint = assembly.joints[data.joint]
    one, two = joint.first, joint.second
    spin, velocity, bodies = assembly.spin, assembly.velocity, assembly.bodies
    if data.motion == "turn":
        return float(data.way @ (spin[two] - spin[one]))
    at_one = velocity[one] + np.cross(spin[one], joint.point - bodies[one].com)
    at_two = velocity[two] + np.cross(spin[two], joint.point - bodies[two].com)
    return float(data.way @ (at_two - at_one))
