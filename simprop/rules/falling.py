"""When what comes loose can come down on somebody."""

from __future__ import annotations

from simprop.errors import SimpropError

HEAD = 1.0
"""Height over the ground from which on a thing comes down on a head, m: that of a child of three or four (growth
charts, from memory)."""
HARD = 5.0
"""Energy of a fall that is worth a worst case where nobody is said to walk beneath, J: half a kilogram from one metre.
Bare skulls broke in drop tests from some 14 J on (adults, from memory), less for a child; assumed."""


def falls_on_people(mass: float, height: float, gravity: float, beneath: bool) -> bool:
    """Whether a thing that comes loose is to be feared by those under it.

    It must hang higher than the head of a small child, and fall hard - or people are said to walk beneath: then any
    weight counts.

    Args:
        mass: kg.
        height: of its centre of mass over the ground, m.
        gravity: m/s^2, downwards.
        beneath: the rig says that people walk beneath.

    Source: energy m g h against `HARD`; rule of this package.

    Raises:
        SimpropError: when the mass or gravity is negative.

    Example:
        >>> falls_on_people(2.0, 2.2, 9.81, False), falls_on_people(2.0, 0.4, 9.81, True)
        (True, False)
        >>> falls_on_people(0.1, 2.2, 9.81, False), falls_on_people(0.1, 2.2, 9.81, True)
        (False, True)
    """
    if mass < 0 or gravity < 0:
        raise SimpropError("a mass that falls and the gravity that pulls it aren't negative")
    return height >= HEAD and mass > 0 and (beneath or mass * gravity * height >= HARD)
