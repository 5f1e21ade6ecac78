"""Through-bolts: stress area, shear, tension, both together, clamp load and slip."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np

from simprop.geometry.arrays import Array

GAMMA = 1.25
"""Partial factor of bolts, EN 1993-1-8."""


def shear_capacity(
    diameter: float, area: float, ultimate: float, factor: float, planes: int, *, threads_in: bool = True
) -> float:
    """Design shear resistance of a bolt, N; it already holds the partial factor 1.25.

    Args:
        diameter: m.
        area: tensile stress area, m^2.
        ultimate: tensile strength, Pa.
        factor: 0.6 for classes 4.6, 5.6, 8.8; 0.5 for 4.8, 5.8, 6.8, 10.9; for threads in the shear plane.
        planes: 1 single shear, 2 double shear.
        threads_in: the threads lie in the shear plane; otherwise the whole shank shears, at 0.6.

    Source: EN 1993-1-8 table 3.4.

    Example:
        >>> round(shear_capacity(6e-3, 20.1e-6, 400e6, 0.6, 1))
        3859
    """
    if threads_in:
        return planes * factor * ultimate * area / GAMMA
    return planes * 0.6 * ultimate * pi / 4 * diameter**2 / GAMMA


def tension_capacity(area: float, ultimate: float) -> float:
    """Design tension resistance of a bolt, N; it already holds the partial factor 1.25.

    Args:
        area: tensile stress area, m^2.
        ultimate: tensile strength, Pa.

    Source: EN 1993-1-8 table 3.4, 0.9 fu A / 1.25.

    Example:
        >>> round(tension_capacity(20.1e-6, 400e6))
        5789
    """
    return 0.9 * ultimate * area / GAMMA


def shear_and_tension(shear: Array, tension: Array, shear_limit: float, tension_limit: float) -> Array:
    """Use of a bolt in shear and tension together; 1 is the limit.

    Args:
        shear: (n,) N.
        tension: (n,) N.
        shear_limit: N.
        tension_limit: N.

    Source: EN 1993-1-8 table 3.4: V/V_R + N/(1.4 N_R), and N/N_R alone.

    Example:
        >>> shear_and_tension(np.array([500.0]), np.array([700.0]), 1000.0, 1000.0).tolist()
        [1.0]
    """
    return np.maximum(shear / shear_limit + tension / (1.4 * tension_limit), tension / tension_limit)


def clamp_load(proof: float, area: float, fraction: float = 0.75) -> float:
    """Clamp load of a bolt tightened to a fraction of its proof load, N.

    Args:
        proof: proof stress, Pa.
        area: tensile stress area, m^2.
        fraction: of the proof load.

    Source: fastener tables, 75 % of proof.

    Example:
        >>> round(clamp_load(55e3 * 6894.757, 0.0318 * 0.0254**2) / 4.448222)
        1312
    """
    return fraction * proof * area


def slip_load(clamp: float, friction: float, faces: int = 1) -> float:
    """Sideways load at which a clamped joint slips, N.

    Args:
        clamp: clamp load, N.
        friction: coefficient.
        faces: how many faces rub.

    Source: Coulomb friction.

    Example:
        >>> slip_load(1000.0, 0.3, 2)
        600.0
    """
    return friction * clamp * faces


def bending_stress(force: float, arm: float, area: float) -> float:
    """Bending stress of a bolt that carries `force` at `arm`, Pa.

    Args:
        force: N.
        arm: m.
        area: tensile stress area, m^2; the bolt is taken as a rod of that area.

    Source: elementary mechanics, 32 M / (pi d^3).

    Example:
        >>> round(bending_stress(100.0, 5e-3, pi / 4 * 6e-3**2) / 1e6, 2)
        23.58
    """
    diameter = sqrt(4 * area / pi)
    return 32 * force * arm / (pi * diameter**3)
