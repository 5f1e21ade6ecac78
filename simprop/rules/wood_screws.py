"""Screws and nails in wood: withdrawal, and lateral load by the yield modes."""

from __future__ import annotations

from math import pow as fpow
from math import sqrt

from simprop.errors import SimpropError

INCH = 0.0254
POUND = 4.4482216152605
PSI = 6894.757293168
LOAD_DURATION = 1.6
"""For wind and blows, AWC NDS; this package uses 1.0 for what moves all evening."""
WET_SERVICE = 0.7
"""For wood that gets wet in service, AWC NDS, from memory."""


def screw_withdrawal(gravity: float, diameter: float) -> float:
    """Allowable withdrawal of a wood screw for each metre of thread in side grain, N/m; none in end grain.

    Args:
        gravity: specific gravity of the wood, oven-dry; 0.3 to 0.75.
        diameter: of the screw, m; #6 to #24.

    Source: AWC NDS, W = 2850 G^2 D, lbf per inch.

    Example:
        >>> round(screw_withdrawal(0.45, 0.190 * INCH) / POUND * INCH, 1)
        109.7
    """
    return 2850 * gravity**2 * (diameter / INCH) * POUND / INCH


def lag_withdrawal(gravity: float, diameter: float, end_grain: bool = False) -> float:
    """Allowable withdrawal of a lag screw for each metre of thread, N/m.

    Args:
        gravity: specific gravity of the wood, oven-dry.
        diameter: m.
        end_grain: driven into end grain.

    Source: AWC NDS, W = 1800 G^1.5 D^0.75; end grain x 0.75.

    Example:
        >>> round(lag_withdrawal(0.55, 0.25 * INCH) / POUND * INCH)
        260
    """
    return (
        1800 * fpow(gravity, 1.5) * fpow(diameter / INCH, 0.75) * (0.75 if end_grain else 1.0) * POUND / INCH
    )


def dowel_bearing(gravity: float, diameter: float, along_grain: bool = True) -> float:
    """Dowel bearing strength of wood, Pa.

    Args:
        gravity: specific gravity of the wood, oven-dry.
        diameter: m.
        along_grain: load along the grain.

    Source: AWC NDS, from memory: 16600 G^1.84 psi below 1/4 in; from 1/4 in on 11200 G along the grain and 6100
    G^1.45 / sqrt(D) across.

    Example:
        >>> round(dowel_bearing(0.5, 0.19 * INCH) / PSI / 50) * 50
        4650
    """
    inches = diameter / INCH
    if inches < 0.25 - 1e-9:
        return 16600 * fpow(gravity, 1.84) * PSI
    if along_grain:
        return 11200 * gravity * PSI
    return 6100 * fpow(gravity, 1.45) / sqrt(inches) * PSI


def penetration_share(penetration: float, diameter: float) -> float:
    """Share of the lateral load that a penetration into the main member earns.

    Args:
        penetration: m.
        diameter: of the shank, m.

    Returns:
        1 from 10 diameters, in proportion down to 6.

    Source: AWC NDS, from memory.

    Raises:
        SimpropError: below 6 diameters: no lateral load may be counted on.

    Example:
        >>> penetration_share(0.032, 0.004)
        0.8
    """
    if penetration < 6 * diameter - 1e-9:
        raise SimpropError(
            f"the screw goes in {penetration * 1e3:.0f} mm; at least {6e3 * diameter:.0f} mm are needed"
        )
    return min(1.0, penetration / (10 * diameter))


def lateral_modes(
    diameter: float,
    bending_yield: float,
    main: float,
    side: float,
    *,
    main_bearing: float,
    side_bearing: float,
) -> dict[str, float]:
    """Allowable lateral load of one dowel-type fastener in single shear by each yield mode, N.

    Args:
        diameter: root diameter (the safe one), m.
        bending_yield: Pa.
        main: length in the main member, m.
        side: thickness of the side member, m.
        main_bearing: dowel bearing strength of the main member, Pa.
        side_bearing: of the side member, Pa.

    Returns:
        Im, Is, II, IIIm, IIIs, IV; the smallest governs. The reduction term of the code is in them.

    Source: AWC NDS yield limit equations, from memory; K_D 2.2 to 0.17 in and 10 D + 0.5 to 1/4 in; from 1/4 in on
    4, 3.6 and 3.2.

    Example:
        >>> bearing = dowel_bearing(0.5, 0.131 * INCH)
        >>> sizes = (0.131 * INCH, 90e3 * PSI, 1.64 * INCH, 0.75 * INCH)
        >>> modes = lateral_modes(*sizes, main_bearing=bearing, side_bearing=bearing)
        >>> round(min(modes.values()) / POUND)
        88
    """
    d = diameter
    re, rt = main_bearing / side_bearing, main / side
    k1 = (sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
    yielding = 2 * bending_yield * d**2 / (3 * main_bearing)
    k2 = -1 + sqrt(2 * (1 + re) + yielding * (1 + 2 * re) / main**2)
    k3 = -1 + sqrt(2 * (1 + re) / re + yielding * (2 + re) / side**2)
    inches = d / INCH
    small = 2.2 if inches <= 0.17 else 10 * inches + 0.5
    first, second, third = (small, small, small) if inches < 0.25 - 1e-9 else (4.0, 3.6, 3.2)
    return {
        "Im": d * main * main_bearing / first,
        "Is": d * side * side_bearing / first,
        "II": k1 * d * side * side_bearing / second,
        "IIIm": k2 * d * main * main_bearing / ((1 + 2 * re) * third),
        "IIIs": k3 * d * side * main_bearing / ((2 + re) * third),
        "IV": d**2 / third * sqrt(2 * main_bearing * bending_yield / (3 * (1 + re))),
    }
