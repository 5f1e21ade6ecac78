"""Air in the two chambers of a cylinder: flow through valve and throttle, and the pressures that follow.

Flow: ISO 6358, by sonic conductance and critical pressure ratio (0.2 to 0.5, from memory). Chambers: ideal gas at a
stated polytropic exponent (1 isothermal, 1.4 adiabatic; 1.2 assumed between them). Compiled: a step has many parts.
"""

from __future__ import annotations

import math
from typing import Any

from simprop.compiled import compiled
from simprop.laws.pneumatic import (
    ATMOSPHERE,
    GAS,
    REFERENCE_DENSITY,
    REFERENCE_TEMPERATURE,
    Air,
    Cylinder,
    areas,
)


@compiled
def mass_flow(conductance: float, critical: float, upstream: float, downstream: float) -> float:
    """Air through a valve: ``C p1 rho0 psi``, kg/s, positive from the first to the second side.

    psi = 1 under the critical pressure ratio, ``sqrt(1 - ((r - b) / (1 - b))^2)`` over it, and straight to
    zero for ratios over 0.999. Air at the reference temperature.

    Args:
        conductance: sonic conductance C, m^3/(s*Pa).
        critical: critical pressure ratio b, 0 to 1.
        upstream: pressure on the first side, Pa.
        downstream: on the second, Pa.

    Example:
        >>> choked = mass_flow(1e-8, 0.3, 7e5, 1e5)
        >>> choked == mass_flow(1e-8, 0.3, 7e5, 2e5), mass_flow(1e-8, 0.3, 1e5, 7e5) == -choked
        (True, True)
    """
    sense = 1.0
    if downstream > upstream:
        sense, upstream, downstream = -1.0, downstream, upstream
    ratio = downstream / upstream
    if ratio <= critical:
        psi = 1.0
    elif ratio < 0.999:
        psi = math.sqrt(1 - ((ratio - critical) / (1 - critical)) ** 2)
    else:
        psi = math.sqrt(1 - ((0.999 - critical) / (1 - critical)) ** 2) * (1 - ratio) / 0.001
    return sense * conductance * upstream * REFERENCE_DENSITY * psi


def advance(cylinder: Cylinder, air: Air, valve: int, motion: tuple[float, float], step: float) -> Air:
    """Pressures one step later, with the piston moving evenly meanwhile.

    ``dp/dt = n / V (R T q - p dV/dt)`` on each side, in as many short steps as the flow needs.

    Args:
        cylinder: with its valve.
        air: pressures now.
        valve: +1 extends (air to the cap side, rod side vents), -1 retracts, 0 vents both.
        motion: extension (0 to stroke, m) and its rate (m/s).
        step: s.

    Example:
        >>> box = Cylinder(0.025, 0.010, 0.1, 7e5, 1e-8, 1e-8)
        >>> advance(box, Air(), 1, (0.0, 0.0), 1e-3).cap > ATMOSPHERE
        True
    """
    c = cylinder
    area, ring = areas(c)
    extension, rate = motion
    inside = min(max(extension, 0.0), c.stroke)
    least = c.dead_volume + min(inside * area, (c.stroke - inside) * ring)
    fastest = c.exponent * GAS * REFERENCE_TEMPERATURE * REFERENCE_DENSITY / least
    fastest *= 3 * max(c.inlet, c.exhaust)
    parts = max(1, math.ceil(step * fastest / 0.2))
    path = (inside, rate, step / parts, c.stroke)
    behind, around = (air.cap, area, valve > 0), (air.rod, ring, valve < 0)
    flows = (c.supply, c.inlet, c.exhaust, c.critical, c.cushion, c.cushion_share)
    return Air(*_filled(parts, path, behind, around, flows, (c.dead_volume, c.exponent)))


@compiled
def _filled(parts: int, path: Any, behind: Any, around: Any, flows: Any, gas: Any) -> tuple[float, float]:
    """Pressures after some short steps."""
    at, rate, h, stroke = path
    cap, area, filling = behind
    rod, ring, filling_rod = around
    dead, exponent = gas
    for _ in range(parts):
        then = min(max(at + rate * h, 0.0), stroke)
        q = _flow(flows, cap, filling, at if rate < 0 else math.inf)
        cap = _chamber(cap, h * q, dead + at * area, dead + then * area, exponent)
        q = _flow(flows, rod, filling_rod, stroke - at if rate > 0 else math.inf)
        before, after = dead + (stroke - at) * ring, dead + (stroke - then) * ring
        rod = _chamber(rod, h * q, before, after, exponent)
        at = then
    return cap, rod


@compiled
def _flow(flows: Any, pressure: float, fed: bool, gap: float) -> float:
    """Air into one chamber, kg/s; `gap` is how far the piston that empties it is from its end, m."""
    supply, inlet, exhaust, critical, cushion, cushion_share = flows
    if fed:
        return mass_flow(inlet, critical, supply, pressure)
    share = cushion_share if gap < cushion else 1.0
    return -mass_flow(exhaust * share, critical, pressure, ATMOSPHERE)


@compiled
def _chamber(pressure: float, added: float, before: float, after: float, exponent: float) -> float:
    """Pressure after a mass was added and the volume changed, Pa."""
    filled = pressure + exponent * GAS * REFERENCE_TEMPERATURE * added / before
    return filled * math.pow(before / after, exponent)
