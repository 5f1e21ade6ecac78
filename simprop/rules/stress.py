"""Stress, bending and buckling of a straight member from the loads on its cross-sections.

All functions take numpy arrays of any one shape, or floats, and work entry by entry.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, log, pi, sin
from math import pow as fpow

import numpy as np

from simprop.geometry.arrays import Array
from simprop.rules.sections import Section


@dataclass(frozen=True)
class SectionLoads:
    """Loads on cross-sections, in the member's own axes (t along it, u and v across).

    Attributes:
        axial: pull positive, N.
        shear_u: N.
        shear_v: N.
        torque: about t, N*m.
        moment_u: bending about u, N*m.
        moment_v: bending about v, N*m.
    """

    axial: Array
    shear_u: Array
    shear_v: Array
    torque: Array
    moment_u: Array
    moment_v: Array

    def turned(self, angle: float) -> SectionLoads:
        """The same loads on axes turned about the member: v goes by `angle` rad towards u."""
        c, s = cos(angle), sin(angle)
        return replace(
            self,
            shear_u=c * self.shear_u - s * self.shear_v,
            shear_v=s * self.shear_u + c * self.shear_v,
            moment_u=c * self.moment_u - s * self.moment_v,
            moment_v=s * self.moment_u + c * self.moment_v,
        )


def von_mises(normal: Array, shear: Array) -> Array:
    """Equivalent stress of a normal and a shear stress, Pa.

    Args:
        normal: normal stress, Pa.
        shear: shear stress, Pa.

    Source: von Mises, sqrt(s^2 + 3 tau^2), elementary mechanics of materials; for ductile materials.

    Example:
        >>> round(float(von_mises(np.array(3.0), np.array(2.0))), 3)
        4.583
    """
    return np.asarray(np.sqrt(normal**2 + 3 * shear**2))


def largest_principal(normal: Array, shear: Array) -> Array:
    """Largest principal (pulling) stress of a normal and a shear stress, Pa.

    Args:
        normal: normal stress, Pa.
        shear: shear stress, Pa.

    Source: Mohr's circle, s/2 + sqrt((s/2)^2 + tau^2).

    Example:
        >>> float(largest_principal(np.array(3.0), np.array(2.0)))
        4.0
    """
    return normal / 2 + np.sqrt((normal / 2) ** 2 + shear**2)


def twisting(section: Section, loads: SectionLoads) -> Array:
    """Torque about the shear centre of a section, N*m.

    Source: statics; a force through the centre of area twists an angle or a channel.

    Example:
        >>> from dataclasses import replace
        >>> from simprop.rules.sections import rectangle
        >>> zero, one = np.zeros(1), np.ones(1)
        >>> loads = SectionLoads(zero, zero, one, zero, zero, zero)
        >>> float(twisting(replace(rectangle(0.02, 0.01), centre_u=-0.03), loads)[0])
        0.03
    """
    return loads.torque - section.centre_u * loads.shear_v + section.centre_v * loads.shear_u


def equivalent(section: Section, loads: SectionLoads) -> Array:
    """Largest von Mises stress anywhere on the section, Pa.

    The outermost fibre carries bending, axial and torsion; the neutral axis axial, torsion and transverse shear.
    The larger of the two counts. In a rectangle the corner's bending is paired with the long side's torsion: on the
    safe side.

    Example:
        >>> from simprop.rules.sections import tube
        >>> zero = np.zeros(1)
        >>> loads = SectionLoads(zero, zero, zero, np.array([2.0]), np.array([3.0]), zero)
        >>> round(float(equivalent(tube(21.336e-3, 15.7988e-3), loads)[0]) / 1e6, 3)
        5.195
    """
    pull = np.abs(loads.axial) / section.area
    twist = np.abs(twisting(section, loads)) / section.torsion_modulus
    shear = section.shear_factor * np.hypot(loads.shear_u, loads.shear_v) / section.area
    return np.maximum(
        von_mises(pull + section.bending(loads.moment_u, loads.moment_v), twist),
        von_mises(pull, twist + shear),
    )


def pulling(section: Section, loads: SectionLoads) -> Array:
    """Largest principal stress anywhere on the section, Pa (0 or more).

    Example:
        >>> from simprop.rules.sections import tube
        >>> zero = np.zeros(1)
        >>> loads = SectionLoads(np.array([-100.0]), zero, zero, zero, zero, zero)
        >>> float(pulling(tube(0.02), loads)[0])
        0.0
    """
    pull = loads.axial / section.area
    twist = np.abs(twisting(section, loads)) / section.torsion_modulus
    shear = section.shear_factor * np.hypot(loads.shear_u, loads.shear_v) / section.area
    outer = largest_principal(pull + section.bending(loads.moment_u, loads.moment_v), twist)
    return np.maximum(np.maximum(outer, largest_principal(pull, twist + shear)), 0.0)


def fibres(section: Section, loads: SectionLoads, count: int = 8) -> Array:
    """Signed normal stress at fibres around the edge of the section, for counting cycles.

    Args:
        loads: entries of shape (n,).
        count: fibres around a tube; a rectangle has its four corners.

    Returns:
        (count, n) Pa, pull positive.

    Example:
        >>> from simprop.rules.sections import rectangle
        >>> zero = np.zeros(1)
        >>> loads = SectionLoads(zero, zero, zero, zero, np.array([1.0]), zero)
        >>> (fibres(rectangle(0.02, 0.01), loads) / 1e6).round(6).tolist()
        [[3.0], [3.0], [-3.0], [-3.0]]
    """
    u, v = section.edge(count)
    bend_u = np.multiply.outer(v, loads.moment_u) / section.inertia_u
    bend_v = -np.multiply.outer(u, loads.moment_v) / section.inertia_v
    return bend_u + bend_v + loads.axial / section.area


def deflection(place: Array, moment: Array, stiffness: float, first: float, second: float | None) -> Array:
    """How far a member bends from its straight line, by integrating the curvature M/(E I) twice.

    Args:
        place: points along the member, rising, (k,) m.
        moment: bending moment there, (k,) N*m.
        stiffness: E I, N*m^2.
        first: place of the first support, m.
        second: place of the second support (the deflection is zero at both), or None: clamped at the first.

    Returns:
        Deflection at each place, (k,) m; the sense of the curvature w'' = M/(E I).

    Source: Euler-Bernoulli beam; small slopes; trapezoidal rule for M, exact for the piecewise linear curvature.

    Example:
        >>> x = np.linspace(0.0, 1.0, 201)
        >>> w = deflection(x, 10.0 * (1.0 - x), 100.0, 0.0, None)
        >>> round(float(w[-1]), 5)
        0.03333
    """
    curve = moment / stiffness
    step = np.diff(place)
    slope = np.concatenate([[0.0], np.cumsum(step * (curve[1:] + curve[:-1]) / 2)])
    rise = slope[:-1] * step + step**2 * (2 * curve[:-1] + curve[1:]) / 6
    shape = np.concatenate([[0.0], np.cumsum(rise)])
    start = np.interp(first, place, shape)
    if second is None:
        return np.asarray(shape - start - np.interp(first, place, slope) * (place - first))
    end = np.interp(second, place, shape)
    return np.asarray(shape - start - (end - start) * (place - first) / (second - first))


END_FACTORS = {"pinned": 1.0, "cantilever": 2.0, "fixed-pinned": 0.7, "fixed": 0.5}
"""Effective-length factor K of a column by its ends (theory of elastic stability)."""


def euler_load(modulus: float, inertia: float, length: float, ends: str = "pinned") -> float:
    """Push at which a slender straight column buckles, N.

    Args:
        modulus: elastic modulus, Pa.
        inertia: least second moment of area, m^4.
        length: m.
        ends: a key of `END_FACTORS`.

    Source: Euler, pi^2 E I / (K L)^2. Valid while the stress stays under about half of the yield; above that the
    column yields first.

    Example:
        >>> round(euler_load(2.758e9, 7114e-12, 1.0))
        194
    """
    return pi**2 * modulus * inertia / (END_FACTORS[ends] * length) ** 2


CROSS_HOLE_FACTOR = 2.5
"""Stress factor beside a cross hole in bending: 2.0 to 2.5, textbooks on machine design, from memory; the larger."""


def elbow_factor(outside: float, wall: float, bend_radius: float) -> float:
    """By how much a bent pipe's stress exceeds that of a straight one.

    Args:
        outside: outside diameter, m.
        wall: m.
        bend_radius: of the centre line, m; over half of the outside diameter.

    Returns:
        The product of the stress intensification 0.9 / h^(2/3) (at least 1), h = wall R / r_mean^2, and of the
        thinning of the outer wall, 1 + D / (2 R).

    Source: ASME B31.3 appendix D form for bends, from memory; thinning by geometry. For heat-bent pipe without
    kinks: a flattened bend is weaker.

    Example:
        >>> round(elbow_factor(21.336e-3, 2.769e-3, 4.5 * 21.336e-3), 3)
        1.111
    """
    mean = (outside - wall) / 2
    characteristic = wall * bend_radius / mean**2
    return max(1.0, 0.9 / fpow(characteristic, 2 / 3)) * (1 + outside / (2 * bend_radius))


def curved_factor(depth: float, radius: float) -> float:
    """By how much the stress at the inner edge of a curved rectangular beam exceeds that of a straight one.

    Args:
        depth: along the radius, m.
        radius: of its middle line, m; over half of the depth.

    Source: Winkler and Bach: neutral line at h / ln(ro / ri); as tabled in Roark (from memory: 1.52 at R = h).

    Example:
        >>> round(curved_factor(1.0, 1.0), 3), round(curved_factor(0.06, 0.9), 3)
        (1.523, 1.023)
    """
    inner, outer = radius - depth / 2, radius + depth / 2
    neutral = depth / log(outer / inner)
    return depth * (neutral - inner) / (6 * (radius - neutral) * inner)
