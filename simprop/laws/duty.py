"""A duty repeated for hours: how hot the winding gets, when it passes its limit, and how long it may run
or must rest.

A cycle of phases is one affine map of the two nodes' temperatures (see `simprop.laws.thermal`); hours of
it are powers of that map, not steps. Duty types are named as in IEC 60034-1 (names from the standard,
numbers from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simprop.errors import SimpropError
from simprop.geometry.arrays import Array
from simprop.laws.thermal import Phase, Thermal, phase_map, rise_after, settled_rise, time_constants


@dataclass(frozen=True)
class Evening:
    """What hours of a repeated cycle do.

    Attributes:
        winding: rise of the winding at its hottest in the last cycle, K.
        case: rise of the case at its hottest in the last cycle, K.
        time_to_limit: when the winding first passes the limit, s; inf if it doesn't in that time.
        settled: rise of the winding at its hottest in an endless evening, K; inf for a runaway.
    """

    winding: float
    case: float
    time_to_limit: float
    settled: float


def evening(
    motor: Thermal, cycle: Sequence[Phase], hours: float, limit: float, ambient: float = 20.0
) -> Evening:
    """Repeats a cycle for hours, extrapolated from its map.

    Args:
        cycle: phases of one cycle, in order.
        hours: how long it is repeated.
        limit: temperature the winding must not pass, degC.
        ambient: of the air, degC.

    Raises:
        SimpropError: for a cycle without duration.

    Example:
        >>> bench = Thermal(0.0, 12.0, 150.0, 3.0, 6.0)
        >>> rest = evening(bench, [Phase(20.0, 0.0, 8.0), Phase(40.0, 0.0)], 4.0, 105.0)
        >>> rest.winding < 72.0 and rest.time_to_limit == math.inf
        True
    """
    phases = [p for p in cycle if p.duration > 0]
    span = sum(p.duration for p in phases)
    if span <= 0:
        raise SimpropError("a cycle lasts longer than 0 s")
    maps = [phase_map(motor, p, ambient) for p in phases]
    whole = np.eye(3)
    for m in maps:
        whole = m @ whole
    cycles = max(1, math.ceil(hours * 3600 / span))
    gap = limit - ambient

    def peaks(state: Array) -> tuple[float, float]:
        winding, case = float(state[0]), float(state[1])
        for m in maps:
            state = m @ state
            winding, case = max(winding, float(state[0])), max(case, float(state[1]))
        return winding, case

    cold = np.array([0.0, 0.0, 1.0])
    winding, case = peaks(np.linalg.matrix_power(whole, cycles - 1) @ cold)
    hits = _first_cycle_over(whole, peaks, gap, cycles)
    when = math.inf
    if hits is not None:
        before = np.linalg.matrix_power(whole, hits) @ cold
        when = hits * span + _time_in(motor, phases, before, gap, ambient)
    radius = float(np.max(np.abs(np.linalg.eigvals(whole[:2, :2]))))
    if radius < 1:
        fixed = np.linalg.solve(np.eye(2) - whole[:2, :2], whole[:2, 2])
        settled = peaks(np.array([*fixed, 1.0]))[0]
    else:
        settled = math.inf
    return Evening(winding, case, when, settled)


def _first_cycle_over(
    whole: Array, peaks: Callable[[Array], tuple[float, float]], gap: float, cycles: int
) -> int | None:
    """Index of the first cycle whose peak passes `gap`: peaks never fall from cycle to cycle, so halve."""
    cold = np.array([0.0, 0.0, 1.0])

    def over(index: int) -> bool:
        return bool(peaks(np.linalg.matrix_power(whole, index) @ cold)[0] > gap)

    if not over(cycles - 1):
        return None
    low, high = 0, cycles - 1
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if over(middle) else (middle + 1, high)
    return low


def _time_in(motor: Thermal, phases: Sequence[Phase], state: Array, gap: float, ambient: float) -> float:
    """Time after `state` at which the winding passes `gap` within the phases, s."""
    passed = 0.0
    for phase in phases:
        after = phase_map(motor, phase, ambient) @ state
        if after[0] > gap:
            return passed + _crossing(motor, phase, (float(state[0]), float(state[1])), gap, ambient)
        state = after
        passed += phase.duration
    return passed


def _crossing(motor: Thermal, phase: Phase, start: tuple[float, float], gap: float, ambient: float) -> float:
    """Time in a phase of any length at which the winding passes `gap`, s; inf if it doesn't."""
    if start[0] >= gap:
        return 0.0

    def rise(time: float) -> float:
        return rise_after(motor, [replace(phase, duration=time)], ambient, start)[0]

    fast, slow = time_constants(motor)
    high = fast / 50
    while rise(high) < gap:
        high *= 1.5
        if high > 60 * slow:
            return math.inf
    low = 0.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if rise(middle) < gap else (low, middle)
    return high


def longest_run(
    motor: Thermal, phase: Phase, limit: float, ambient: float = 20.0, start: tuple[float, float] = (0.0, 0.0)
) -> float:
    """Longest continuous run from cold before the winding reaches its limit, s; inf if it may run for ever.

    Args:
        phase: current and loss of the run (its duration isn't used).
        limit: of the winding, degC.
        ambient: degC.
        start: rise of winding and case at the start, K.

    Example:
        >>> bench = Thermal(0.0, 12.0, 150.0, 3.0, 6.0)
        >>> longest_run(bench, Phase(0.0, 0.0, 8.0), 105.0)
        inf
        >>> 600 < longest_run(bench, Phase(0.0, 0.0, 8.0), 66.0) < 800
        True
    """
    settled = settled_rise(motor, phase, ambient)[0]
    if start[0] < limit - ambient and settled <= limit - ambient:
        return math.inf
    return _crossing(motor, phase, start, limit - ambient, ambient)


def rest_needed(motor: Thermal, run: Phase, limit: float, ambient: float = 20.0) -> float:
    """Rest after each run so that endless repetition stays under the limit, s; inf if even one cold run
    passes it.

    Args:
        run: current, loss and duration of each run.
        limit: of the winding, degC.
        ambient: degC.

    Example:
        >>> bench = Thermal(0.0, 12.0, 150.0, 3.0, 6.0)
        >>> rest_needed(bench, Phase(60.0, 0.0, 8.0), 105.0)
        0.0
        >>> 0 < rest_needed(bench, Phase(60.0, 0.0, 8.0), 66.0) < 60
        True
    """
    gap = limit - ambient
    if settled_rise(motor, run, ambient)[0] <= gap:
        return 0.0
    if rise_after(motor, [run], ambient)[0] > gap:
        return math.inf

    def fits(rest: float) -> bool:
        return evening(motor, [run, Phase(rest, 0.0)], 0.0, limit, ambient).settled <= gap

    high = run.duration
    while not fits(high):
        high *= 2
        if high > 1e7:
            return math.inf
    low = 0.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


def duty_type(on: float, off: float, slow: float) -> str:
    """Name of a duty by IEC 60034-1 (names from the standard, numbers from memory).

    Args:
        on: running time of a cycle, s.
        off: rest of a cycle, s.
        slow: the motor's longer time constant, s.

    Returns:
        S1 without rest or when one run reaches the settled temperature; S2 for a run followed by a rest
        that cools it down; S3 with the cyclic duration factor otherwise.

    Example:
        >>> duty_type(10.0, 0.0, 900.0), duty_type(10.0, 30.0, 900.0), duty_type(300.0, 7200.0, 900.0)
        ('S1 continuous', 'S3 intermittent 25 %', 'S2 short-time 5 min')
    """
    if off <= 0 or (on > 4 * slow and off < 4 * slow):
        return "S1 continuous"
    if off > 4 * slow:
        return f"S2 short-time {on / 60:.3g} min"
    return f"S3 intermittent {100 * on / (on + off):.0f} %"
