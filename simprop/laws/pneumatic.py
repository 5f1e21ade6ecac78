"""Air cylinder: its figures, its force, and the flow by which its valve is rated.

What flows in and out meanwhile stands in `simprop.laws.chambers`. Pressures are absolute unless said otherwise.
Compressed air stores energy: see `CAUTION`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

ATMOSPHERE = 101325.0
GAS = 287.05
REFERENCE_DENSITY = 1.185
REFERENCE_TEMPERATURE = 293.15
"""Reference air of ISO 6358: 20 degC, 100 kPa, kg/m^3 (from memory)."""
PSI = 6894.757
RATED = (7e5, 6e5)
"""Absolute pressures before and behind a valve at which its nominal flow is stated: 6 to 5 bar gauge, Pa."""

CAUTION = (
    "Compressed air stores energy with the power off: fit a regulator, a relief and a dump valve, vent "
    "before reaching in, shield the rod's path, and never hold air in PVC pipe. See ISO 4414 and local rules."
)


def extend_force(bore: float, gauge: float) -> float:
    """Static push of the piston: ``p A``.

    Args:
        bore: m.
        gauge: pressure over atmosphere, Pa.

    Returns:
        N.

    Example:
        >>> round(extend_force(0.025, 6e5), 1)
        294.5
    """
    return gauge * math.pi / 4 * bore**2


def nominal_flow(flow_coefficient: float, upstream: float, downstream: float) -> float:
    """Flow of reference air through a valve by its Cv, m^3/s: ``22.48 Cv sqrt((p1 - p2) p2 / T)`` in scfm, psia, degR.

    Args:
        flow_coefficient: Cv of the valve.
        upstream: absolute pressure before it, Pa.
        downstream: absolute pressure behind it, Pa; where it isn't choked, above about half of that before it.

    Source: ANSI/NFPA T3.21.3, by which makers of pneumatic valves rate them (from memory): Cv 1 passes 984 l/min from
    7 to 6 bar absolute, as their tables say.

    Example:
        >>> round(nominal_flow(1.0, 7e5, 6e5) * 60e3)
        985
    """
    scfm = 22.48 * math.sqrt((upstream - downstream) * downstream / (REFERENCE_TEMPERATURE * 1.8)) / PSI
    return flow_coefficient * scfm * 0.3048**3 / 60


def conductance_from_cv(flow_coefficient: float, critical: float = 0.3) -> float:
    """Sonic conductance of ISO 6358 that passes the flow by which a valve is rated, 7 to 6 bar, m^3/(s*Pa).

    Args:
        flow_coefficient: Cv of the valve.
        critical: critical pressure ratio b that goes with it, 0 to 0.8.

    Source: ISO 6358 (subsonic flow), held to `nominal_flow`.

    Example:
        >>> round(conductance_from_cv(1.0) * 1e8, 2)  # l/(s*bar)
        3.87
    """
    part = math.sqrt(1 - ((RATED[1] / RATED[0] - critical) / (1 - critical)) ** 2)
    return nominal_flow(flow_coefficient, *RATED) / (RATED[0] * part)


@dataclass(frozen=True)
class Cylinder:
    """A double-acting cylinder with its valve; `rod` 0 for a rodless one.

    Attributes:
        bore: m.
        rod: diameter, m.
        stroke: m.
        supply: absolute pressure of the supply, Pa.
        inlet: sonic conductance of valve and hose, m^3/(s*Pa).
        exhaust: sonic conductance of the exhaust with its throttle, m^3/(s*Pa).
        critical: critical pressure ratio of both.
        friction: of the seals, N.
        cushion: length of the end cushions, m; 0 for none.
        cushion_share: part of the exhaust's conductance left within the cushion.
        dead_volume: at each end with the hose, m^3.
        exponent: polytropic exponent.
        end_stiffness: of piston on end cap, N/m.
    """

    bore: float
    rod: float
    stroke: float
    supply: float
    inlet: float
    exhaust: float
    critical: float = 0.3
    friction: float = 0.0
    cushion: float = 0.0
    cushion_share: float = 0.05
    dead_volume: float = 2e-6
    exponent: float = 1.2
    end_stiffness: float = 1e6


@dataclass(frozen=True)
class Air:
    """Absolute pressure behind the piston (cap side) and around the rod, Pa."""

    cap: float = ATMOSPHERE
    rod: float = ATMOSPHERE


def force(cylinder: Cylinder, air: Air) -> float:
    """Push of the air on the rod, N, positive outwards; friction and ends not counted.

    Example:
        >>> round(force(Cylinder(0.025, 0.010, 0.1, 7e5, 1e-8, 1e-8), Air(7.01325e5, 1.01325e5)), 1)
        294.5
    """
    cap, ring = areas(cylinder)
    return air.cap * cap - air.rod * ring - ATMOSPHERE * (cap - ring)


def push(cylinder: Cylinder, pressed: float, extension: float) -> float:
    """Push on what the cylinder is mounted between, N: the air's, but for what its own end caps take.

    A piston that its air presses on an end cap presses on nothing outside. Driven out of its seat or into it, the
    mounting gives as a spring.

    Args:
        cylinder: stroke and stiffness of its ends.
        pressed: push of the air on the piston, N.
        extension: m; well within 0 and the stroke it is the air's alone.

    Example:
        >>> box = Cylinder(0.025, 0.010, 0.1, 7e5, 1e-8, 1e-8)
        >>> push(box, -247.0, 0.05), push(box, -247.0, 0.0) == 0.0, round(push(box, -247.0, -1e-4), 6)
        (-247.0, True, 100.0)
    """
    inner = -cylinder.end_stiffness * extension
    outer = cylinder.end_stiffness * (cylinder.stroke - extension)
    if extension <= 0:
        return inner + max(pressed, 0.0)
    if extension >= cylinder.stroke:
        return outer + min(pressed, 0.0)
    return max(pressed, inner) if pressed < 0 else min(pressed, outer)


def areas(cylinder: Cylinder) -> tuple[float, float]:
    """Of the piston behind and around the rod, m^2.

    Args:
        cylinder: bore and rod.

    Example:
        >>> [round(a * 1e6, 1) for a in areas(Cylinder(0.025, 0.010, 0.1, 7e5, 1e-8, 1e-8))]
        [490.9, 412.3]
    """
    cap = math.pi / 4 * cylinder.bore**2
    return cap, cap - math.pi / 4 * cylinder.rod**2
