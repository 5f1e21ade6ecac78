"""Dry (Coulomb) friction that goes with the load: pins in holes and guides that slide.

Coefficients are taken for the same at every load (Amontons). Between rest and sliding the coefficient falls from the
static to the kinetic value over a sliding speed of about `CREEP`.
"""

from __future__ import annotations

from math import exp, sqrt

Vec = tuple[float, float, float]

CREEP = 1e-3
"""Sliding speed over which friction falls from its static to its kinetic value, m/s (assumed)."""


def coefficient(static: float, kinetic: float, speed: float) -> float:
    """Coefficient of friction at a sliding speed: kinetic + (static - kinetic) exp(-(speed / CREEP)^2).

    Args:
        static: at rest.
        kinetic: while sliding.
        speed: of the surfaces on each other, m/s.

    Source: Stribeck's curve without its viscous part.

    Example:
        >>> coefficient(0.5, 0.4, 0.0), coefficient(0.5, 0.4, 0.1)
        (0.5, 0.4)
    """
    return kinetic + (static - kinetic) * exp(-((speed / CREEP) ** 2))


def pin_torque(mu: float, radial: float, radius: float) -> float:
    """Largest friction torque of a pin in its hole, N*m: mu * F * r.

    Args:
        mu: coefficient of friction.
        radial: force across the pin, N.
        radius: of the pin, m.

    Source: any text on machines (dry journal bearing; the small friction circle).

    Example:
        >>> round(pin_torque(0.35, 80.0, 0.003), 6)
        0.084
    """
    return mu * radial * radius


def end_reactions(force: Vec, moment: Vec, axis: Vec, length: float) -> tuple[float, float]:
    """Reactions at the two ends of a guide, N: the sizes of F/2 - (a x M)/b and F/2 + (a x M)/b.

    Args:
        force: side load on what slides, N; its part along the axis is left out.
        moment: tilting moment about the middle of the guide, N*m; its part about the axis is left out.
        axis: unit direction of the guide.
        length: guided length b, m.

    Source: statics of a rod held at two places.

    Example:
        >>> end_reactions((10.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.1)
        (5.0, 5.0)
        >>> end_reactions((0.0, 0.0, 0.0), (0.0, 2.0, 0.0), (0.0, 0.0, 1.0), 0.1)
        (20.0, 20.0)
    """
    ax, ay, az = axis
    fx, fy, fz = force
    mx, my, mz = moment
    along = fx * ax + fy * ay + fz * az
    fx, fy, fz = 0.5 * (fx - along * ax), 0.5 * (fy - along * ay), 0.5 * (fz - along * az)
    tx, ty, tz = (ay * mz - az * my) / length, (az * mx - ax * mz) / length, (ax * my - ay * mx) / length
    one = sqrt((fx - tx) ** 2 + (fy - ty) ** 2 + (fz - tz) ** 2)
    two = sqrt((fx + tx) ** 2 + (fy + ty) ** 2 + (fz + tz) ** 2)
    return one, two


def slide_force(mu: float, ends: tuple[float, float]) -> float:
    """Largest friction of a guide, N: mu (N1 + N2).

    Args:
        mu: coefficient of friction.
        ends: reactions at the two ends, N.

    Source: any text on machines.

    Example:
        >>> round(slide_force(0.4, (20.0, 20.0)), 9)
        16.0
    """
    return mu * (ends[0] + ends[1])


def thread_friction(mu: float, force: float, lever: float, level: float, slant: float) -> float:
    """Load that a thread's or mesh's friction takes on the axis that drives it, N*m or N: mu F l / (a - mu b).

    Of a screw a = cos(flank angle) cos(lead angle), b = sin(lead angle), positive where the axis drives the thread and
    negative where the thread drives the axis, l the mean radius over cos(lead angle). Where mu b reaches a nothing can
    drive it: the result is 1e9.

    Args:
        mu: coefficient of friction.
        force: along the axis of the screw, N.
        lever: sliding for each rad or m of the axis, m or 1.
        level: a.
        slant: b.

    Source: power screws in any text on machine design; with T = F r tan(lead angle) it gives
    T = F r (mu sec + tan) / (1 - mu tan sec) of Shigley to raise a load.

    Example:
        >>> from math import atan, cos, pi, sin
        >>> lead = atan(4e-3 / (pi * 18e-3))
        >>> rub = thread_friction(0.15, 1000.0, 9e-3 / cos(lead), cos(lead), sin(lead))
        >>> round(rub + 1000.0 * 4e-3 / (2 * pi), 3)  # square thread of 18 mm, lead 4 mm, 1 kN
        2.008
    """
    under = level - mu * slant
    return mu * abs(force) * lever / under if under > 1e-9 else 1e9
