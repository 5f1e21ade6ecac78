"""Inertia of a part of a body as sums with constant factors over a few histories of the body's motion."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.geometry.arrays import Array
from simprop.rules.mass import MassProperties

Masses = tuple[float, Array, Array]
"""Mass kg, first moment (3,) kg*m and second moment about the body's origin (3, 3) kg*m^2."""
NOTHING: Masses = (0.0, np.zeros(3), np.zeros((3, 3)))
INERTIAL = 30
"""Rows of `inertial_rows`: 3 for mass, 9 for first moment, 18 for second moment."""
_ENTRIES = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))


def masses_of(part: MassProperties) -> Masses:
    """Mass, first moment and second moment about the body's origin.

    Source: parallel-axis theorem.

    Example:
        >>> masses_of(MassProperties(2.0, np.array([0.5, 0.0, 0.0]), np.zeros((3, 3))))[2].diagonal().tolist()
        [0.0, 0.5, 0.5]
    """
    mass, centre = part.mass, part.centre
    square = float(centre @ centre) * np.eye(3) - np.outer(centre, centre)
    return mass, mass * centre, part.inertia + mass * square


def total(parts: Sequence[Masses]) -> Masses:
    """Sum of several parts.

    Example:
        >>> total([NOTHING, masses_of(MassProperties(2.0, np.zeros(3), np.eye(3)))])[0]
        2.0
    """
    mass, first, second = NOTHING
    for m, f, s in parts:
        mass, first, second = mass + m, first + f, second + s
    return mass, first, second


def inertial_rows(pull: Array, spin: Array, alpha: Array) -> Array:
    """What inertia gives for a unit of mass, first moment and second moment.

    Args:
        pull: gravity less acceleration of the body's origin, body frame, (n, 3) m/s^2.
        spin: angular velocity, body frame, (n, 3) rad/s.
        alpha: angular acceleration, body frame, (n, 3) rad/s^2.

    Returns:
        (30, n). Mass: `pull`. First moment h: -(alpha x h + w x (w x h)), row 3 + 3 i + j for the effect of h_j on
        force i. Second moment S: -(S alpha + w x (S w)), three rows for each of xx, yy, zz, xy, xz, yz.

    Source: Newton and Euler for a part of a rigid body (d'Alembert).

    Example:
        >>> still = np.zeros((1, 3))
        >>> rows = inertial_rows(still, np.array([[0.0, 0.0, 2.0]]), still)
        >>> part = MassProperties(1.5, np.array([0.1, 0.0, 0.0]), np.zeros((3, 3)))
        >>> (felt(masses_of(part)) @ rows)[:3, 0].round(9).tolist()
        [0.6, 0.0, 0.0]
    """
    w, a = spin.T.copy(), alpha.T.copy()
    square = (w * w).sum(axis=0)
    turn = [[w[i] * w[j] for j in range(3)] for i in range(3)]
    for i in range(3):
        turn[i][i] = turn[i][i] - square
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        turn[i][j] = turn[i][j] - a[k]
        turn[j][i] = turn[j][i] + a[k]
    rows = [*pull.T, *(-turn[i][j] for i in range(3) for j in range(3))]
    for i, j in _ENTRIES:
        held, moved = np.zeros_like(w), np.zeros_like(a)
        held[i], moved[i] = w[j], a[j]
        held[j], moved[j] = w[i], a[i]
        x, y, z = held
        cross = (w[1] * z - w[2] * y, w[2] * x - w[0] * z, w[0] * y - w[1] * x)
        rows += [-(moved[c] + cross[c]) for c in range(3)]
    return np.array(rows)


def felt(masses: Masses) -> Array:
    """Factors on `inertial_rows` that give force and moment about the body's origin.

    Returns:
        (6, 30).
    """
    mass, first, second = masses
    factors = np.zeros((6, INERTIAL))
    factors[:3, :3] = mass * np.eye(3)
    factors[3:, :3] = _cross_matrix(first)
    for i in range(3):
        factors[i, 3 + 3 * i : 6 + 3 * i] = first
        for e, (a, b) in enumerate(_ENTRIES):
            factors[3 + i, 12 + 3 * e + i] = second[a, b]
    return factors


def on_section(axes: Array, at: Array, whole: Array) -> Array:
    """Force and moment about the body's origin as loads on a section.

    Args:
        axes: of the section, rows, (3, 3).
        at: its point, (3,) m.
        whole: force and moment, (6, k).

    Returns:
        (6, k): force along the axes, moment about them at the point.

    Example:
        >>> on_section(np.eye(3), np.array([1.0, 0.0, 0.0]), np.array([[0.0, 0, 5, 0, 0, 0]]).T)[4, 0]
        np.float64(5.0)
    """
    moment = whole[3:] - _cross_matrix(at) @ whole[:3]
    return np.concatenate([axes @ whole[:3], axes @ moment])


def _cross_matrix(vector: Array) -> Array:
    """The matrix that does the cross product with a vector from the left, (3, 3)."""
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
