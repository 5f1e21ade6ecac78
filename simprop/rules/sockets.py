"""PVC pipe in a socket: solvent-welded, screwed, or pushed in dry."""

from __future__ import annotations

from math import atan, pi

PSI = 6894.757293168
CURE = ((2.0, 250 * PSI), (16.0, 500 * PSI), (72.0, 900 * PSI))
"""Least lap-shear strength of solvent cement by hours of curing, (h, Pa): ASTM D2564, from memory."""
BONDED_SHARE = 1 / 3
"""Share of the socket's depth that is bonded for certain: the taper's last third touches. On the safe side."""
DRY_MOMENT_SHARE = 0.2
"""Moment that a dry push-fit carries over a glued one: 0.2 to 0.4. Assumed, no published value."""


def lap_shear(hours: float) -> float | None:
    """Shear strength of the cement after curing, Pa; None before 2 h.

    Args:
        hours: since gluing, at room temperature.

    Source: ASTM D2564 minimum lap shear; between the hours stated the earlier figure.

    Example:
        >>> round(lap_shear(24.0) / PSI)
        500
    """
    found = [strength for cured, strength in CURE if hours >= cured]
    return found[-1] if found else None


def glued_pull(pipe_outside: float, depth: float, strength: float, share: float = BONDED_SHARE) -> float:
    """Pull at which a glued joint shears, N.

    Args:
        pipe_outside: m.
        depth: of the socket, m.
        strength: lap shear, Pa.
        share: bonded share of the depth.

    Source: statics, pi D L share tau.

    Example:
        >>> round(glued_pull(0.840 * 0.0254, 0.688 * 0.0254, 900 * PSI) / 4.448222)
        545
    """
    return pi * pipe_outside * depth * share * strength


def glued_torque(pipe_outside: float, depth: float, strength: float, share: float = BONDED_SHARE) -> float:
    """Torque about the pipe at which a glued joint shears, N*m.

    Args:
        pipe_outside: m.
        depth: of the socket, m.
        strength: lap shear, Pa.
        share: bonded share of the depth.

    Source: statics, the lap force at half of the diameter.

    Example:
        >>> round(glued_torque(21.336e-3, 17.475e-3, 6.205e6), 2)
        25.85
    """
    return glued_pull(pipe_outside, depth, strength, share) * pipe_outside / 2


def prying_moment(pipe_outside: float, depth: float, pressure: float) -> float:
    """Bending moment that the socket's walls carry by bearing on the pipe, N*m.

    Args:
        pipe_outside: m.
        depth: of the socket, m.
        pressure: greatest bearing stress, Pa.

    Source: statics, linear pressure over the depth on the projected width: p D L^2 / 6.

    Example:
        >>> round(prying_moment(21.336e-3, 17.475e-3, 13.8e6), 1)
        15.0
    """
    return pressure * pipe_outside * depth**2 / 6


def free_tilt(pipe_outside: float, bottom: float, depth: float) -> float:
    """Tilt of a pipe that is loose in a socket, rad.

    Args:
        pipe_outside: m.
        bottom: diameter of the socket at its bottom, m.
        depth: of the socket, m.

    Source: geometry, atan(gap / depth).

    Example:
        >>> round(free_tilt(0.840, 1.046, 0.719) * 180 / pi, 1)
        16.0
    """
    return atan(max(bottom - pipe_outside, 0.0) / depth)
