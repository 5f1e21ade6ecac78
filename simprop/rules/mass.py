"""Mass, centre of mass and moments of inertia of plain solids, and how those of several parts add up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin

import numpy as np

from simprop.geometry.arcs import Arc
from simprop.geometry.arrays import Array


@dataclass(frozen=True)
class MassProperties:
    """How heavy something is and where.

    Attributes:
        mass: kg.
        centre: of mass, (3,) m.
        inertia: about the centre, (3, 3) kg*m^2.
    """

    mass: float
    centre: Array
    inertia: Array

    def moved(self, turn: Array, shift: Array) -> MassProperties:
        """Turned by a rotation (3, 3), then shifted by (3,) m."""
        return MassProperties(self.mass, turn @ self.centre + shift, turn @ self.inertia @ turn.T)

    def times(self, share: float) -> MassProperties:
        """The same of so many times the density."""
        return MassProperties(share * self.mass, self.centre, share * self.inertia)


def combined(parts: Sequence[MassProperties]) -> MassProperties:
    """Several parts as one; all zeros where they have no mass.

    Source: parallel-axis theorem.

    Example:
        >>> point = np.zeros((3, 3))
        >>> both = combined([MassProperties(1.0, x * np.eye(3)[0], point) for x in (1.0, -1.0)])
        >>> both.mass, float(both.inertia[2, 2])
        (2.0, 2.0)
    """
    mass = sum(p.mass for p in parts)
    if mass <= 0:
        return MassProperties(0.0, np.zeros(3), np.zeros((3, 3)))
    centre = np.asarray(sum(p.mass * p.centre for p in parts) / mass)
    inertia = np.zeros((3, 3))
    for part in parts:
        arm = part.centre - centre
        inertia += part.inertia + part.mass * (float(arm @ arm) * np.eye(3) - np.outer(arm, arm))
    return MassProperties(mass, centre, inertia)


def about(unit: Array, axial: float, across: float) -> Array:
    """Inertia of something round, (3, 3): `axial` about a unit direction, `across` about any normal to it, kg*m^2."""
    return np.asarray(across * np.eye(3) + (axial - across) * np.outer(unit, unit))


def hollow_cylinder(mass: float, outer: float, inner: float, length: float) -> tuple[float, float]:
    """Axial and transverse moment of inertia of a hollow cylinder about its centre, kg*m^2.

    Args:
        mass: kg.
        outer: outside radius, m.
        inner: inside radius, m (0: solid).
        length: m.

    Source: elementary mechanics: m (R^2 + r^2) / 2 and m (3 (R^2 + r^2) + L^2) / 12.

    Example:
        >>> [round(v, 6) for v in hollow_cylinder(1.0, 0.1, 0.0, 0.3)]
        [0.005, 0.01]
    """
    square = outer**2 + inner**2
    return mass * square / 2, mass * (3 * square + length**2) / 12


def cuboid(mass: float, axes: Array, size: Sequence[float]) -> Array:
    """Inertia of a box about its centre, (3, 3) kg*m^2.

    Args:
        mass: kg.
        axes: unit directions of its edges as rows, (3, 3).
        size: lengths along them, (3,) m.

    Source: elementary mechanics: m (b^2 + c^2) / 12 about each axis.

    Example:
        >>> cuboid(12.0, np.eye(3), (1.0, 2.0, 3.0)).diagonal().tolist()
        [13.0, 10.0, 5.0]
    """
    x, y, z = (s * s for s in size)
    moments = mass / 12 * np.array([y + z, x + z, x + y])
    return np.asarray((axes.T * moments) @ axes)


def ball(mass: float, outer: float, inner: float) -> float:
    """Moment of inertia of a ball about its centre, kg*m^2.

    Args:
        mass: kg.
        outer: outside radius, m.
        inner: inside radius, m; 0: solid; the same as `outer`: a thin shell.

    Source: elementary mechanics: 2/5 m (R^5 - r^5) / (R^3 - r^3); 2/3 m R^2 for a thin shell.

    Example:
        >>> ball(1.0, 0.5, 0.0), round(ball(1.0, 0.5, 0.5), 6)
        (0.1, 0.166667)
    """
    if inner == outer:
        return 2 / 3 * mass * outer**2
    return 2 / 5 * mass * (outer**5 - inner**5) / (outer**3 - inner**3)


def arc_mass(mass: float, arc: Arc, radial: float, across: float) -> MassProperties:
    """Something of one cross-section along an arc, both ends square to it.

    Args:
        mass: kg; by Pappus that of the straight length of its middle line.
        arc: its middle line.
        radial: mean square distance of the cross-section's area from the middle line along the radius, m^2.
        across: the same square to the plane of the arc, m^2.

    Source: Pappus; integrals over the ring, where area further out is longer in proportion to its radius: mean r is
        R + k / R, mean r^2 is R^2 + 3 k.

    Example:
        >>> ring = Arc(np.zeros(3), 0.5, np.eye(3)[0], np.eye(3)[1], 2 * np.pi)
        >>> whole = arc_mass(1.0, ring, 0.1**2 / 4, 0.1**2 / 4)  # a torus: m (R^2 + 3/4 a^2)
        >>> round(float(whole.inertia[2, 2]), 6), round(0.5**2 + 0.75 * 0.1**2, 6)
        (0.2575, 0.2575)
    """
    a, turn = arc.angle, np.array([arc.start, arc.ahead, np.cross(arc.start, arc.ahead)]).T
    far, square = arc.radius + radial / arc.radius, arc.radius**2 + 3 * radial
    mean = far * np.array([sin(a) / a, (1 - cos(a)) / a, 0.0])
    both = square * sin(a) ** 2 / (2 * a)
    second = np.array(
        [
            [square * (0.5 + sin(2 * a) / (4 * a)), both, 0.0],
            [both, square * (0.5 - sin(2 * a) / (4 * a)), 0.0],
            [0.0, 0.0, across],
        ]
    )
    spread = mass * (second - np.outer(mean, mean))
    return MassProperties(mass, np.zeros(3), np.trace(spread) * np.eye(3) - spread).moved(
        turn, arc.centre + turn @ mean
    )
