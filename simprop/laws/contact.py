"""How bodies touch: a springy normal force with a loss that never pulls, friction that sticks, and stiffness from
materials and geometry.

Normal force k d + c d' at a depth d > 0, never below zero (Kelvin and Voigt, clipped); sideways a spring of
`SIDEWAYS` times the normal stiffness, so that what sticks doesn't creep, limited to mu N. Every contact is linear, so
that its peak forces and times have closed forms; where theory gives a curved line (a ball), the chord to a stated load
is taken.
"""

from __future__ import annotations

from math import pi, sqrt

from simprop.catalog.load import Material

SIDEWAYS = 0.8
"""Sideways over normal stiffness of a contact that sticks: Mindlin's 2 (1 - nu) / (2 - nu), 0.82 for nu = 0.3."""
POISSON = 0.3
"""Poisson's ratio where the catalogue has none (assumed)."""
LOSS = (("steel", 0.03), ("wood", 0.10), ("plastic", 0.08), ("rubber", 0.15))
"""Damping ratio of a contact by the softer material, as for end stops (assumed)."""


def plane_modulus(modulus: float, poisson: float | None) -> float:
    """E / (1 - nu^2), Pa.

    Args:
        modulus: E, Pa.
        poisson: nu; None: `POISSON`.

    Source: Johnson, Contact Mechanics.

    Example:
        >>> round(plane_modulus(2.8e9, 0.38) / 1e9, 3)
        3.273
    """
    nu = POISSON if poisson is None else poisson
    return modulus / (1.0 - nu * nu)


ACROSS = 0.08
"""Modulus of wood across its grain over that along it (Wood Handbook, table 5-1, from memory: 0.04 to 0.16, softwoods
about 0.08 in the middle of both ways across)."""


def joint_modulus(one: float, other: float) -> float:
    """Modulus of two bodies pressed together, Pa: 1 / (1/E1' + 1/E2').

    Args:
        one: plane modulus of the first, Pa.
        other: of the second, Pa.

    Source: Johnson, Contact Mechanics.

    Example:
        >>> joint_modulus(2.0, 2.0)
        1.0
    """
    return 1.0 / (1.0 / one + 1.0 / other)


def foot_stiffness(modulus: float, diameter: float) -> float:
    """Stiffness of a flat round foot pressed on a flat face, N/m: E* d.

    Args:
        modulus: joint modulus, Pa.
        diameter: of the patch, m.

    Source: Johnson, Contact Mechanics (rigid flat punch on a half-space, 2 a E*).

    Example:
        >>> foot_stiffness(1e9, 0.02)
        20000000.0
    """
    return modulus * diameter


def edge_stiffness(modulus: float, width: float) -> float:
    """Stiffness of a cylinder lying on a flat face, N/m: (pi / 4) E* b.

    Args:
        modulus: joint modulus, Pa.
        width: length of the line of contact, m.

    Source: Popov, Contact Mechanics and Friction (line contact, nearly linear).

    Example:
        >>> round(edge_stiffness(1e9, 0.02))
        15707963
    """
    return pi / 4.0 * modulus * width


def ball_stiffness(modulus: float, radius: float, load: float) -> float:
    """Chord stiffness F / d of a ball on a flat face at a load, N/m, with d = (9 F^2 / (16 R E*^2))^(1/3).

    Args:
        modulus: joint modulus, Pa.
        radius: of the ball, m.
        load: at which the chord meets the curve, N.

    Source: Hertz; Johnson, Contact Mechanics.

    Example:
        >>> round(ball_stiffness(1e9, 0.02, 10.0))
        708439
    """
    return float(load / (9.0 * load**2 / (16.0 * radius * modulus**2)) ** (1.0 / 3.0))


def bearing_stiffness(one: float, other: float, length: float) -> float:
    """Stiffness of a pin against the wall of its hole, N/m: t / (1/E1 + 1/E2).

    Args:
        one: modulus of the pin, Pa.
        other: of the wall, Pa.
        length: of the pin in its hole, m.

    Source: Tate and Rosenfeld, NACA TN 1051 (bearing terms 1/(t E) of a bolted joint), from memory.

    Example:
        >>> bearing_stiffness(2e9, 2e9, 0.01)
        10000000.0
    """
    return length / (1.0 / one + 1.0 / other)


def ring_stiffness(modulus: float, outside: float, wall: float, length: float) -> float:
    """Stiffness of a pipe squeezed flat by two loads across it, N/m: E I / (0.149 R^3), I = length wall^3 / 12.

    Args:
        modulus: E, Pa.
        outside: diameter, m.
        wall: m, thin against the diameter.
        length: of pipe that takes part, m: where it is pressed, and a radius on to both sides (assumed).

    Source: ring under two opposite loads, diameter changed by (pi/4 - 2/pi) W R^3 / (E I); Timoshenko, Strength of
        Materials, and Roark's Formulas for Stress and Strain.

    Example:
        >>> round(ring_stiffness(2.8e9, 0.0267, 0.0029, 0.04))
        907925
    """
    middle = (outside - wall) / 2.0
    return modulus * length * wall**3 / 12.0 / ((pi / 4.0 - 2.0 / pi) * middle**3)


def loss_of(material: Material) -> float:
    """Damping ratio of a contact whose softer side is of a material: as steel, plastic, wood or rubber.

    Source: assumed, as for end stops.

    Example:
        >>> from simprop.catalog.load import material
        >>> loss_of(material("PVC")), loss_of(material("steel")), loss_of(material("pine"))
        (0.08, 0.03, 0.1)
    """
    ratio = dict(LOSS)
    if material.modulus is not None and material.modulus < 0.1e9:
        return ratio["rubber"]
    if material.modulus is not None and material.modulus > 40e9:
        return ratio["steel"]
    return ratio["wood" if material.poisson is None else "plastic"]


def damping(stiffness: float, loss: float, mass: float) -> float:
    """Damping of a contact, N*s/m: 2 loss sqrt(k m).

    Args:
        stiffness: k, N/m.
        loss: damping ratio, 0 to below 1.
        mass: that meets there, kg.

    Source: any text on vibrations.

    Example:
        >>> damping(1e4, 0.1, 1.0)
        20.0
    """
    return 2.0 * loss * sqrt(stiffness * mass)
