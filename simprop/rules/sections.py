"""Cross-sections of tubes, rods and bars: area, second moments, moduli, torsion; net of a cross hole.

A section has two axes: u and v. The moment `Mu` turns about u and strains the fibres at +-half_v; `Mv` turns about
v.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from functools import lru_cache
from math import asin, cosh, pi, sin, sqrt, tanh

import numpy as np

from simprop.geometry.arrays import Array


@dataclass(frozen=True, kw_only=True)
class Section(ABC):
    """A cross-section; all in m and its powers.

    Attributes:
        area: m^2.
        inertia_u: second moment for bending about u, m^4.
        inertia_v: second moment for bending about v, m^4.
        half_u: extent along u, m.
        half_v: extent along v, m.
        torsion: torsion constant J, m^4: twist per length = T / (G J).
        torsion_modulus: T over the largest shear stress, m^3.
        shear_factor: largest shear stress over V / area.
        centre_u, centre_v: of shear, from the centre of area, m: forces twist about it.
    """

    area: float
    inertia_u: float
    inertia_v: float
    half_u: float
    half_v: float
    torsion: float
    torsion_modulus: float
    shear_factor: float
    centre_u: float = 0.0
    centre_v: float = 0.0

    @property
    def modulus_u(self) -> float:
        """Section modulus for bending about u, m^3."""
        return self.inertia_u / self.half_v

    @property
    def modulus_v(self) -> float:
        """Section modulus for bending about v, m^3."""
        return self.inertia_v / self.half_u

    @abstractmethod
    def bending(self, moment_u: Array, moment_v: Array) -> Array:
        """Largest bending stress for moments about u and v, N*m: Pa, never negative."""

    @abstractmethod
    def edge(self, count: int) -> tuple[Array, Array]:
        """Places u and v, m, around the edge where bending is largest; `count` of them where it is round."""

    @abstractmethod
    def net(self, hole: float, angle: float) -> tuple[Section, float] | None:
        """The section less a cross hole, and the angle by which its axes are turned; None: nothing would be left.

        Args:
            hole: diameter, m.
            angle: of the hole's axis from v towards u, rad.
        """


@dataclass(frozen=True, kw_only=True)
class RoundSection(Section):
    """A tube, or a rod with `inside` 0 (diameter, m)."""

    inside: float

    def bending(self, moment_u: Array, moment_v: Array) -> Array:
        """By the whole moment."""
        return np.hypot(moment_u / self.modulus_u, moment_v / self.modulus_v)

    def edge(self, count: int) -> tuple[Array, Array]:
        angle = 2 * pi * np.arange(count) / count
        return self.half_u * np.cos(angle), self.half_v * np.sin(angle)

    def net(self, hole: float, angle: float) -> tuple[Section, float] | None:
        """Its axes turned so that v lies along the hole."""
        outside = 2 * self.half_u
        return None if hole >= outside else (tube_with_cross_hole(outside, self.inside, hole), angle)


@dataclass(frozen=True, kw_only=True)
class Rectangle(Section):
    """A flat bar or batten, its width along u."""

    def bending(self, moment_u: Array, moment_v: Array) -> Array:
        return np.abs(moment_u) / self.modulus_u + np.abs(moment_v) / self.modulus_v

    def edge(self, count: int) -> tuple[Array, Array]:
        u, v = np.array([1.0, -1.0, -1.0, 1.0]), np.array([1.0, 1.0, -1.0, -1.0])
        return self.half_u * u, self.half_v * v

    def net(self, hole: float, angle: float) -> tuple[Section, float] | None:
        """Through its thickness, or through its width where the hole lies that way."""
        across = abs(sin(angle)) > 0.7
        sides = (2 * self.half_v, 2 * self.half_u) if across else (2 * self.half_u, 2 * self.half_v)
        return None if hole >= sides[0] else (rectangle_with_hole(*sides, hole), pi / 2 if across else 0.0)


def tube(outside: float, inside: float = 0.0) -> RoundSection:
    """A round tube, or a solid rod with `inside` 0.

    Args:
        outside: outside diameter, m.
        inside: inside diameter, m; 0 <= inside < outside.

    Source: elementary mechanics of materials; shear 4/3 (R^2 + R r + r^2)/(R^2 + r^2) V/A for a hollow circle (Gere
    and Timoshenko, Mechanics of Materials): 4/3 for a rod, 2 for a thin tube.

    Example:
        >>> round(tube(21.336e-3, 15.7988e-3).inertia_u * 1e12, 0)
        7114.0
    """
    big, small = outside / 2, inside / 2
    inertia = pi / 4 * (big**4 - small**4)
    shear = 4 / 3 * (big**2 + big * small + small**2) / (big**2 + small**2)
    area = pi * (big**2 - small**2)
    return RoundSection(
        area=area,
        inertia_u=inertia,
        inertia_v=inertia,
        half_u=big,
        half_v=big,
        torsion=2 * inertia,
        torsion_modulus=2 * inertia / big,
        shear_factor=shear,
        inside=inside,
    )


def rectangle(width: float, thickness: float) -> Rectangle:
    """A flat bar or batten: `width` along u, `thickness` along v.

    Args:
        width: m.
        thickness: m.

    Source: torsion by Saint-Venant's series (Timoshenko and Goodier, Theory of Elasticity); shear 3/2 V/A.

    Example:
        >>> round(rectangle(25e-3, 3e-3).inertia_u * 1e12, 2)
        56.25
    """
    constant, modulus = rectangle_torsion(max(width, thickness), min(width, thickness))
    area = width * thickness
    return Rectangle(
        area=area,
        inertia_u=width * thickness**3 / 12,
        inertia_v=thickness * width**3 / 12,
        half_u=width / 2,
        half_v=thickness / 2,
        torsion=constant,
        torsion_modulus=modulus,
        shear_factor=1.5,
    )


@lru_cache(maxsize=1024)
def rectangle_torsion(long: float, short: float) -> tuple[float, float]:
    """Torsion constant (m^4) and torsion modulus (m^3) of a rectangle.

    Args:
        long: longer side, m.
        short: shorter side, m.

    Source: Saint-Venant's series, Timoshenko and Goodier, Theory of Elasticity, art. 109; the odd terms to 99.

    Example:
        >>> constant, modulus = rectangle_torsion(2.0, 1.0)
        >>> round(constant / 2, 3), round(modulus / 2, 3)
        (0.229, 0.246)
    """
    ratio = long / short
    odd = range(1, 100, 2)
    constant = (
        long * short**3 / 3 * (1 - 192 / pi**5 / ratio * sum(tanh(n * pi * ratio / 2) / n**5 for n in odd))
    )
    peak = 1 - 8 / pi**2 * sum(1 / (n**2 * cosh(min(n * pi * ratio / 2, 700.0))) for n in odd)
    return constant, constant / (short * peak)


def _strip(radius: float, half: float) -> tuple[float, float, float]:
    """Integrals over |x| < half of h, h^3/3 and x^2 h with h = sqrt(radius^2 - x^2), for a circle of `radius`."""
    half = min(half, radius)
    root = sqrt(max(radius**2 - half**2, 0.0))
    angle = asin(half / radius) if radius > 0 else 0.0
    area = half * root + radius**2 * angle
    cubes = 2 * (half / 8 * (5 * radius**2 - 2 * half**2) * root + 3 * radius**4 / 8 * angle) / 3
    squares = 2 * (half * (2 * half**2 - radius**2) * root / 8 + radius**4 / 8 * angle)
    return area, cubes, squares


def tube_with_cross_hole(outside: float, inside: float, hole: float) -> RoundSection:
    """A tube net of a hole drilled right through both walls along v (so that bending about u loses most).

    Args:
        outside: outside diameter, m.
        inside: inside diameter, m.
        hole: diameter of the hole, m; below `outside`.

    Source: exact integrals over the circles less the strip of the hole (the strip is taken prismatic through the
    wall). Torsion: the sum of the two net second moments, a plain estimate.

    Example:
        >>> whole, net = tube(21.336e-3, 15.7988e-3), tube_with_cross_hole(21.336e-3, 15.7988e-3, 6.35e-3)
        >>> round(net.area / whole.area, 2), round(net.inertia_u / whole.inertia_u, 2)
        (0.78, 0.58)
    """
    whole = tube(outside, inside)
    out, inn = _strip(outside / 2, hole / 2), _strip(inside / 2, hole / 2) if inside > 0 else (0.0, 0.0, 0.0)
    inertia_u = whole.inertia_u - 2 * (out[1] - inn[1])
    inertia_v = whole.inertia_v - 2 * (out[2] - inn[2])
    polar = inertia_u + inertia_v
    return replace(
        whole,
        area=whole.area - 2 * (out[0] - inn[0]),
        inertia_u=inertia_u,
        inertia_v=inertia_v,
        torsion=polar,
        torsion_modulus=polar / whole.half_u,
    )


def rectangle_with_hole(width: float, thickness: float, hole: float) -> Rectangle:
    """A flat bar net of a hole through its thickness, in the middle of its width.

    Args:
        width: m.
        thickness: m.
        hole: diameter, m; below `width`.

    Source: elementary; torsion as of the two ligaments beside the hole.

    Example:
        >>> round(rectangle_with_hole(25e-3, 3e-3, 6e-3).area * 1e6, 1)
        57.0
    """
    whole = rectangle(width, thickness)
    side = (width - hole) / 2
    constant, modulus = rectangle_torsion(max(side, thickness), min(side, thickness))
    return replace(
        whole,
        area=(width - hole) * thickness,
        inertia_u=(width - hole) * thickness**3 / 12,
        inertia_v=thickness * (width**3 - hole**3) / 12,
        torsion=2 * constant,
        torsion_modulus=2 * modulus,
    )
