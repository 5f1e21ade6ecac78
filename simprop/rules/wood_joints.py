"""Screws, lag screws and bolts in wood: withdrawal, and lateral load by the yield modes."""

from __future__ import annotations

from math import pi
from math import pow as fpow
from typing import Literal

import numpy as np

from simprop.errors import SimpropError
from simprop.geometry.arrays import Array

INCH = 0.0254
POUND = 4.4482216152605
PSI = 6894.757293168
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


def thread_length(length: float, diameter: float, lag: bool = False) -> float:
    """Length of thread that holds in withdrawal, m; the tip of a lag screw doesn't count.

    Args:
        length: of the screw under its head, m.
        diameter: m.
        lag: a lag screw, else a wood screw.

    Source: AWC NDS appendix L, from memory: lag screws L / 2 + 1/2 in, at most 6 in and at most L, less a tip of 5/8 D;
    wood screws 2/3 of their length.

    Example:
        >>> round(thread_length(3 * INCH, 0.25 * INCH, lag=True) / INCH, 2)
        1.84
    """
    if not lag:
        return 2 / 3 * length
    return max(0.0, min(length / 2 + 0.5 * INCH, 6 * INCH, length) - 0.625 * diameter)


def dowel_bearing(gravity: float, diameter: float, angle: Array | float = 0.0) -> Array:
    """Dowel bearing strength of wood, Pa.

    Args:
        gravity: specific gravity of the wood, oven-dry.
        diameter: nominal, m.
        angle: of the load to the grain, rad, any shape.

    Returns:
        One value for each angle.

    Source: AWC NDS, from memory: 16600 G^1.84 psi below 1/4 in; from 1/4 in on 11200 G along the grain and 6100
    G^1.45 / sqrt(D) across, between them by Hankinson.

    Example:
        >>> [round(float(dowel_bearing(0.5, 0.5 * INCH, a)) / PSI / 50) * 50 for a in (0.0, pi / 2)]
        [5600, 3150]
    """
    inches = diameter / INCH
    angle = np.asarray(angle, dtype=float)
    if inches < 0.25 - 1e-9:
        return np.full_like(angle, 16600 * fpow(gravity, 1.84) * PSI)
    along, across = 11200 * gravity, 6100 * fpow(gravity, 1.45) / fpow(inches, 0.5)
    return along * across / (along * np.sin(angle) ** 2 + across * np.cos(angle) ** 2) * PSI


def penetration_share(penetration: float, diameter: float, lag: bool = False) -> float:
    """Share of the lateral load that a penetration into the main member earns.

    Args:
        penetration: m.
        diameter: of the shank, m.
        lag: a lag screw, else a wood screw.

    Returns:
        1 from 10 diameters, in proportion down to 6; of a lag screw 8 and 4.

    Source: AWC NDS, from memory.

    Raises:
        SimpropError: below the least penetration: no lateral load may be counted on.

    Example:
        >>> penetration_share(0.032, 0.004)
        0.8
    """
    full, least = (8, 4) if lag else (10, 6)
    if penetration < least * diameter - 1e-9:
        raise SimpropError(
            f"the screw goes in {penetration * 1e3:.0f} mm; at least {least * 1e3 * diameter:.0f} mm are needed"
        )
    return min(1.0, penetration / (full * diameter))


def lateral_modes(
    diameter: float,
    bending_yield: float,
    main: float,
    side: float,
    *,
    main_bearing: Array | float,
    side_bearing: Array | float,
    angle: Array | float = 0.0,
    nominal: float | None = None,
    shear: Literal["single", "double"] = "single",
) -> dict[str, Array]:
    """Allowable lateral load of one dowel-type fastener by each yield mode, N.

    Args:
        diameter: root diameter where threads may be in the way (the safe one), m.
        bending_yield: Pa.
        main: length in the main member, m.
        side: thickness of the side member (of each of two), m.
        main_bearing: dowel bearing strength of the main member, Pa.
        side_bearing: of the side member, Pa.
        angle: largest angle of the load to the grain of a member, rad.
        nominal: diameter by which the reduction goes, m; None: `diameter`.

    Returns:
        Im, Is, II, IIIm, IIIs, IV (in double shear Im, Is, IIIs, IV); the smallest governs. The reduction term of the
        code is in them: 1/4 more across the grain from 1/4 in on.

    Source: AWC NDS yield limit equations, from memory; K_D 2.2 to 0.17 in and 10 D + 0.5 to 1/4 in (by the root of what
    is 1/4 in and more outside); from 1/4 in on 4, 3.6 and 3.2.

    Example:
        >>> bearing = dowel_bearing(0.5, 0.131 * INCH)
        >>> sizes = (0.131 * INCH, 90e3 * PSI, 1.64 * INCH, 0.75 * INCH)
        >>> modes = lateral_modes(*sizes, main_bearing=bearing, side_bearing=bearing)
        >>> round(float(min(modes.values())) / POUND)
        88
    """
    d, fm = diameter, np.asarray(main_bearing, dtype=float)
    re, rt = fm / np.asarray(side_bearing, dtype=float), main / side
    yields = 2 * bending_yield * d**2 / (3 * fm)
    k1 = (np.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
    k2 = -1 + np.sqrt(2 * (1 + re) + yields * (1 + 2 * re) / main**2)
    k3 = -1 + np.sqrt(2 * (1 + re) / re + yields * (2 + re) / side**2)
    first, second, third = _reductions(d, d if nominal is None else nominal, np.asarray(angle, dtype=float))
    modes = {
        "Im": d * main * fm / first,
        "Is": d * side * fm / re / first,
        "II": k1 * d * side * fm / re / second,
        "IIIm": k2 * d * main * fm / ((1 + 2 * re) * third),
        "IIIs": k3 * d * side * fm / ((2 + re) * third),
        "IV": d**2 / third * np.sqrt(2 * fm * bending_yield / (3 * (1 + re))),
    }
    if shear == "single":
        return modes
    return {"Im": modes["Im"], **{name: 2 * modes[name] for name in ("Is", "IIIs", "IV")}}


def _reductions(root: float, nominal: float, angle: Array) -> tuple[Array, Array, Array]:
    """Reduction terms of modes I, II, and III and IV."""
    inches, slant = root / INCH, 1 + angle / (2 * pi)
    if nominal / INCH < 0.25 - 1e-9:
        slant = np.ones_like(angle)
    if inches < 0.25 - 1e-9:
        small = (2.2 if inches <= 0.17 else 10 * inches + 0.5) * slant
        return small, small, small
    return 4.0 * slant, 3.6 * slant, 3.2 * slant
