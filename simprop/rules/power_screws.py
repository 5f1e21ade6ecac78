"""How hard the flanks of a power screw press its nut."""

from __future__ import annotations

from math import pi

PSI = 6894.757
PRESSURES = ((0.0508, 1600 * PSI), (0.2032, 800 * PSI), (0.254, 150 * PSI))
"""Safe pressure of steel on a bronze nut up to a sliding speed, (m/s, Pa): 10, 40 and 50 ft/min, low ends (Shigley,
table 8-4, from memory)."""


def flank_pressure(load: float, diameter: float, pitch: float, nut: float) -> float:
    """Mean pressure on the flanks of a nut, Pa; all its turns bear alike.

    Args:
        load: along the spindle, N.
        diameter: outside the thread, m.
        pitch: from thread to thread, m.
        nut: its length, m.

    Source: 2 F / (pi d_m n p) with thread depth p / 2 and d_m = d - p / 2 (Shigley, equation 8-10).

    Example:
        >>> round(flank_pressure(6400.0, 32e-3, 4e-3, 4e-3) / 1e6, 1)
        34.0
    """
    return 2 * load / (pi * (diameter - pitch / 2) * nut)


def safe_pressure(speed: float) -> float | None:
    """Pressure that a bronze nut on a steel spindle stands, Pa; None faster than the table.

    Args:
        speed: sliding of the flanks, m/s.

    Example:
        >>> round(safe_pressure(0.01) / 1e6, 1), safe_pressure(1.0) is None
        (11.0, True)
    """
    return next((pressure for most, pressure in PRESSURES if abs(speed) <= most), None)
