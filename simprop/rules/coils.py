"""Helical springs of round wire: rate, weight, shear stress, bending in a hook."""

from __future__ import annotations

from math import pi


def rate(shear: float, wire: float, mean: float, active: float) -> float:
    """Force per length, N/m.

    Args:
        shear: modulus of the wire, Pa.
        wire: its diameter, m.
        mean: diameter of the coil to the middle of the wire, m.
        active: coils that give.

    Source: G d^4 / (8 D^3 n), any text on machine design.

    Example:
        >>> round(rate(11.85e6 * 6894.757, 0.037 * 0.0254, 0.4 * 0.0254, 10.5) / 175.1268, 2)
        4.13
    """
    return shear * wire**4 / (8 * mean**3 * active)


def mass(density: float, wire: float, mean: float, coils: float) -> float:
    """Of the wire of all its coils, kg; the slant of the coils left out (under 1 % up to 8 deg).

    Args:
        density: kg/m^3.
        wire: diameter, m.
        mean: diameter of the coil, m.
        coils: all of them, the ends counted.

    Source: Pappus.

    Example:
        >>> round(mass(7850.0, 2e-3, 20e-3, 10.0), 5)
        0.0155
    """
    return density * pi / 4 * wire**2 * pi * mean * coils


def shear_stress(force: float, wire: float, mean: float) -> float:
    """Largest shear stress in the wire, at the inside of the coil, Pa.

    Args:
        force: N.
        wire: diameter, m.
        mean: diameter of the coil, m; over the wire's.

    Source: K 8 F D / (pi d^3) with the curvature factor of Bergstraesser, (4 C + 2) / (4 C - 3), within 2 % of
        Wahl's; any text on machine design.

    Example:
        >>> round(shear_stress(6.46 * 4.448222, 0.037 * 0.0254, 0.4 * 0.0254) / 6894.757e3)
        146
    """
    index = mean / wire
    return (4 * index + 2) / (4 * index - 3) * 8 * force * mean / (pi * wire**3)


def hook_stress(force: float, wire: float, mean: float) -> float:
    """Largest pull in the bend of a full hook at the end of an extension spring, Pa.

    Args:
        force: N.
        wire: diameter, m.
        mean: diameter of the hook to the middle of the wire, m.

    Source: F (K 16 D / (pi d^3) + 4 / (pi d^2)), K = (4 C^2 - C - 1) / (4 C (C - 1)): texts on machine design, from
        memory.

    Example:
        >>> round(hook_stress(23.3, 0.889e-3, 5.41e-3) / 1e6)
        1079
    """
    index = mean / wire
    factor = (4 * index**2 - index - 1) / (4 * index * (index - 1))
    return force * (factor * 16 * mean / (pi * wire**3) + 4 / (pi * wire**2))
