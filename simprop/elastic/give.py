"""How far joints give under load: pin and hole, bolt and wall, guide and bar."""

from __future__ import annotations

from simprop.errors import SimpropError

STEEL = 205e9
"""Young's modulus of steel pins and bolts, Pa (EN 1993-1-1: 210 GPa; handbooks 200 to 210)."""


def pin_give(
    diameter: float, walls: tuple[float, float], moduli: tuple[float, float], pin: float = STEEL
) -> float:
    """How far a pin or bolt in two walls gives for each newton across it, m/N.

    Args:
        diameter: of the pin, m.
        walls: bearing length in each of the two parts, m.
        moduli: Young's modulus of each part, Pa.
        pin: Young's modulus of the pin, Pa.

    Source: Swift's formula for bolted and riveted joints in single shear, 5 / (d Ef) + 0.8 (1 / (t1 E1) + 1 / (t2 E2)),
        as quoted in texts on the damage tolerance of aircraft joints, from memory; a close fit without clearance.

    Raises:
        SimpropError: when a size or modulus isn't above zero.

    Example:
        >>> round(1e-6 / pin_give(6e-3, (3e-3, 3e-3), (205e9, 205e9)))  # N for a micrometre, M6 in 3 mm steel
        150
    """
    if min(diameter, *walls, *moduli, pin) <= 0:
        raise SimpropError("a pin's diameter, walls and moduli are above zero")
    return 5 / (diameter * pin) + 0.8 * sum(1 / (t * e) for t, e in zip(walls, moduli, strict=True))


def tilt_give(across: float, length: float) -> float:
    """How far a bearing gives when it is tilted, rad/(N m), from what it gives across.

    Args:
        across: give across the bearing for each newton, m/N.
        length: of the bearing, m.

    Source: an even bed of springs of 1 / across in all over a length L resists tilting with L^2 / (12 across).

    Raises:
        SimpropError: when the length isn't above zero.

    Example:
        >>> round(tilt_give(1e-8, 0.02), 9)
        0.0003
    """
    if length <= 0:
        raise SimpropError("a bearing has a length above zero")
    return 12 * across / length**2


def edge_give(across: float, width: float) -> float:
    """How far a guide gives when what slides in it is turned about its own line, rad/(N m).

    Args:
        across: give across the guide for each newton, m/N.
        width: of what slides, m.

    Source: two springs of half of 1 / across each at the edges, half the width from the middle.

    Raises:
        SimpropError: when the width isn't above zero.

    Example:
        >>> round(edge_give(1e-8, 0.02), 7)
        0.0001
    """
    if width <= 0:
        raise SimpropError("what slides has a width above zero")
    return 4 * across / width**2
