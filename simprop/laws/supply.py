"""Supply, wire and fuse: what voltage reaches motors that share a supply, and what wire, fuse and supply do.

Wire: AWG diameters by definition (ASTM B258); resistivity and its rise of copper 10.371 ohm*cmil/ft and 0.00393 / K
(copper wire tables, 20 degC), of aluminium 17.00 and 0.00404 (61 % of copper's conductance, from memory), of
copper-clad aluminium 16.5 and 0.00405 (ASTM B566 class 10A, from memory).
A supply holds its voltage up to its current limit, then holds that current.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from simprop.errors import SimpropError

COPPER = 0.00393
"""Rise of copper's resistance per kelvin, of its value at 20 degC, 1/K."""

METALS = {"copper": (10.371, COPPER), "aluminium": (17.00, 0.00404), "copper-clad aluminium": (16.5, 0.00405)}
"""Resistivity at 20 degC, ohm*cmil/ft, and its rise per kelvin of that, 1/K."""
LAY = 1.022
"""Strands are so much longer than the wire that they are laid into (NEC chapter 9 table 8: 2.0 to 2.6 %)."""

_MIL = 25.4e-6
_FOOT = 0.3048

CORD_CURRENT = {18: 10.0, 16: 13.0, 14: 18.0, 12: 25.0}
"""Current of a flexible cord with two loaded conductors by gauge, A: NEC 400.5."""

FUSE_AT_MOST = {24: 2.0, 22: 3.0, 20: 5.0, 18: 7.0, 16: 10.0, 14: 15.0, 12: 20.0, 10: 30.0}
"""Greatest fuse that protects the wire by gauge, A: NEC 240.4(D) from 14 AWG up; below, common practice
(low end)."""

FUSES = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)
"""Sizes of blade and glass fuses on sale, A: common practice, no source."""

FUSE_OVER_STEADY = 1.25
"""Least fuse over steady load: common practice."""


def wire_diameter(gauge: float) -> float:
    """Diameter of a wire by its gauge: ``0.005 in * 92^((36 - n) / 39)``.

    Args:
        gauge: AWG number, 0 to 40 (0 means 1/0).

    Returns:
        m.

    Raises:
        SimpropError: outside of that range.

    Example:
        >>> round(wire_diameter(16) * 1e3, 3)
        1.291
    """
    if not 0 <= gauge <= 40:
        raise SimpropError(f"{gauge:g} is not a wire gauge from 0 to 40 AWG")
    return float(0.005 * 0.0254 * 92 ** ((36 - gauge) / 39))


def wire_resistance(
    gauge: float, length: float, temperature: float = 20.0, *, stranded: bool = False, metal: str = "copper"
) -> float:
    """Resistance of one conductor.

    Args:
        gauge: AWG number, 0 to 40.
        length: of the conductor, m.
        temperature: of the metal, degC.
        stranded: of strands, which are longer than the wire.
        metal: a name of `METALS`.

    Returns:
        ohm.

    Example:
        >>> round(wire_resistance(16, 304.8), 2), round(wire_resistance(16, 304.8, 75.0, stranded=True), 2)
        (4.02, 4.99)
    """
    cmil = (wire_diameter(gauge) / _MIL) ** 2
    ohm, rise = METALS[metal]
    lay = LAY if stranded else 1.0
    return ohm / cmil * length / _FOOT * (1 + rise * (temperature - 20)) * lay


class Load(NamedTuple):
    """One consumer at the end of the line at one instant: ``current = conductance * (V - emf)`` plus a
    fixed part.

    Attributes:
        conductance: 1/ohm as seen from the line (duty^2 / resistance for a pulsed motor); 0 for a fixed
            current.
        emf: back EMF as seen from the line, V (back EMF / duty for a pulsed motor).
        fixed: current that doesn't depend on the voltage, A.
        feeds_back: a motor driven faster than its voltage returns current (a relay does that); a
            controller with a diode doesn't.
    """

    conductance: float
    emf: float = 0.0
    fixed: float = 0.0
    feeds_back: bool = False


@dataclass(frozen=True)
class Beside:
    """What consumers that aren't in a run ask of the same line.

    Attributes:
        time: when each row begins, rising, (n,) s; a row holds until the next one, the last to the end.
        loads: the consumers of each row.
    """

    time: tuple[float, ...] = ()
    loads: tuple[tuple[Load, ...], ...] = ()


NOBODY = Beside()
"""Nothing else hangs on the line."""


def loads_at(beside: Beside, time: float) -> tuple[Load, ...]:
    """The consumers at one instant; none before the first row.

    Args:
        beside: over time.
        time: s.

    Example:
        >>> lamp = Load(0.0, fixed=2.0)
        >>> one = Beside((1.0, 3.0), ((lamp,), ()))
        >>> [len(loads_at(one, t)) for t in (0.0, 1.0, 2.9, 3.0)]
        [0, 1, 1, 0]
    """
    row = bisect_right(beside.time, time) - 1
    return beside.loads[row] if row >= 0 else ()


@dataclass(frozen=True)
class Source:
    """A supply with the line to its motors.

    Attributes:
        voltage: V.
        limit: greatest current, A; inf where none is stated.
        resistance: of the line there and back and of the supply itself, ohm.
        name: by which others share it; "" where nobody does.
        beside: what hangs on the line besides the drives of the run.
    """

    voltage: float
    limit: float = math.inf
    resistance: float = 0.0
    name: str = ""
    beside: Beside = NOBODY


@dataclass(frozen=True)
class Shared:
    """What the loads get.

    Attributes:
        voltage: at the end of the line, V.
        current: of each load, A.
        total: A.
        limited: the current limit of the supply holds the voltage down.
    """

    voltage: float
    current: tuple[float, ...]
    total: float
    limited: bool


def share(source: Source, loads: Sequence[Load]) -> Shared:
    """Voltage and currents of loads on one line, in equilibrium (the supply reacts faster than the motion).

    The voltage at the loads is the greatest that satisfies both ``V + R I <= V0`` and ``I <= limit``. Fixed
    currents count in full; a supply too weak even for those gives 0 V.

    Args:
        source: the supply with its line.
        loads: what hangs on it.

    Example:
        >>> weak = share(Source(12.0, limit=2.0), [Load(1 / 0.8, emf=3.0)])
        >>> weak.limited, round(weak.voltage, 2), round(weak.total, 2)
        (True, 4.6, 2.0)
        >>> share(Source(12.0, resistance=0.2), [Load(1 / 0.8)]).voltage
        9.6
    """
    voltage = line_voltage(source, loads)
    limited = _total(loads, _settled(source, loads)) > source.limit
    return Shared(voltage, _currents(loads, voltage), _total(loads, voltage), limited)


def line_voltage(source: Source, loads: Sequence[Load]) -> float:
    """The voltage of `share` alone, V; quick, for every step of a run.

    Args:
        source: the supply with its line.
        loads: what hangs on it.

    Example:
        >>> line_voltage(Source(12.0, resistance=0.2), [Load(1 / 0.8)])
        9.6
    """
    free = _settled(source, loads)
    if source.limit == math.inf or _total(loads, free) <= source.limit:
        return free
    if _total(loads, 0.0) >= source.limit:
        return 0.0
    return max(0.0, _solve(loads, 0.0, 1.0, source.limit))


def _settled(source: Source, loads: Sequence[Load]) -> float:
    """The voltage v with ``v = voltage - resistance * total(v)``, without the limit; total never falls with v, so it
    is unique."""
    if source.resistance == 0:
        return source.voltage
    return max(0.0, _solve(loads, 1.0, source.resistance, source.voltage))


def _currents(loads: Sequence[Load], voltage: float) -> tuple[float, ...]:
    out = []
    for load in loads:
        drawn = load.conductance * (voltage - load.emf)
        out.append(load.fixed + (drawn if load.feeds_back else max(0.0, drawn)))
    return tuple(out)


def _total(loads: Sequence[Load], voltage: float) -> float:
    total = 0.0
    for conductance, emf, fixed, feeds_back in loads:
        drawn = conductance * (voltage - emf)
        total += fixed + (drawn if feeds_back else max(0.0, drawn))
    return total


def _solve(loads: Sequence[Load], own: float, per_ampere: float, whole: float) -> float:
    """The voltage v with ``own * v + per_ampere * total(v) = whole``.

    Walks the pieces from high to low voltage, on each of which the total is ``slope * v + base``.
    """
    edges = sorted({d.emf for d in loads if not d.feeds_back and d.conductance > 0}, reverse=True)
    upper, answer = math.inf, 0.0
    for lower in (*edges, -math.inf):
        slope = fixed = pushed = 0.0
        for conductance, emf, more, feeds_back in loads:
            fixed += more
            if feeds_back or emf <= lower:
                slope += conductance
                pushed += conductance * emf
        share_of_v = own + per_ampere * slope
        answer = (whole - per_ampere * (fixed - pushed)) / share_of_v if share_of_v > 0 else math.inf
        if answer >= lower:
            return min(answer, upper)
        upper = lower
    return answer


def fuse(steady: float, gauge: int | None = None) -> float | None:
    """Smallest slow-blow fuse of at least 1.25 times the steady current, or None if that doesn't protect
    the wire.

    Args:
        steady: RMS or steady running current, A.
        gauge: AWG of the wire, or None when it isn't known.

    Returns:
        A, or None: no fuse on sale carries the load and protects this wire; take thicker wire.

    Example:
        >>> fuse(5.0, 16), fuse(5.0, 22) is None
        (7.5, True)
    """
    size = next((f for f in FUSES if f >= FUSE_OVER_STEADY * steady), None)
    if size is None or (gauge is not None and size > FUSE_AT_MOST.get(gauge, 0.0)):
        return None
    return size
