"""Bolt holes in tube walls and plates: bearing, tear-out, and how the two walls of a tube share the load."""

from __future__ import annotations

from simprop.errors import SimpropError

LOOSE_PIN_CREDIT = 0.5
"""A pin that turns in the hole touches the edges of the walls: half the bearing counts. Assumed, no published value.
"""


def bearing_load(stress: float, diameter: float, wall: float, walls: int = 2) -> float:
    """Load at which the bearing stress of a bolt in its hole reaches `stress`, N.

    Args:
        stress: Pa.
        diameter: of the bolt, m.
        wall: thickness of a wall, m.
        walls: how many carry.

    Source: statics, F = n d t s.

    Example:
        >>> round(bearing_load(2000 * 6894.757, 6.35e-3, 0.109 * 0.0254) / 4.448222)
        109
    """
    return walls * diameter * wall * stress


def tear_out_load(shear_strength: float, edge: float, diameter: float, wall: float, walls: int = 2) -> float:
    """Load at which a bolt tears out towards the free end, N.

    Args:
        shear_strength: Pa.
        edge: from the middle of the hole to the free end, m.
        diameter: of the hole, m.
        wall: m.
        walls: how many carry.

    Source: statics, two planes a wall of length edge - d/2 (the safe one).

    Raises:
        SimpropError: when the hole breaks through the end.

    Example:
        >>> round(tear_out_load(27.9e6, 20e-3, 6.35e-3, 2.77e-3))
        5201
    """
    clear = edge - diameter / 2
    if clear <= 0:
        raise SimpropError("the hole breaks through the end of the part")
    return 2 * walls * clear * wall * shear_strength


def least_edge(diameter: float, plastic: bool) -> float:
    """Distance to leave between the middle of a hole and the free end, m.

    Args:
        diameter: m.
        plastic: plastic or wood; otherwise metal.

    Source: common practice in design texts: 2 diameters in metal, 3 in plastic (and wood here).

    Example:
        >>> round(least_edge(6.35e-3, plastic=True) * 1e3, 2)
        19.05
    """
    return (3 if plastic else 2) * diameter


def near_wall_load(load: float, outside: float, wall: float, gap: float) -> float:
    """Load on the nearer wall of a tube when the bolt is held on one side only (single shear), N.

    Args:
        load: shear in the bolt, N.
        outside: outside diameter of the tube, m.
        wall: m.
        gap: from the tube's side to the shear plane, m.

    Returns:
        The nearer wall carries all of it and the couple of the offset: F (1 + s/(D - t)), s = gap + t/2.

    Source: statics of a pin through two walls.

    Example:
        >>> round(near_wall_load(100.0, 21.3e-3, 2.77e-3, 0.5e-3), 1)
        110.2
    """
    return load * (1 + (gap + wall / 2) / (outside - wall))
