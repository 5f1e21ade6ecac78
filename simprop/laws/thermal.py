"""How hot a motor gets: winding and case as two nodes, copper that resists more when hot, duty repeated
for hours.

One node: ``C dT/dt = P - T / R``. Two nodes: the winding heats the case, the case the air. The winding's
loss is ``I^2 R20 (1 + a (T - 20))`` (a = 0.00393 / K, standard value) plus a fixed part, which is linear
in the temperature, so that every phase of constant current has an exact solution (matrix exponential by
its eigenvalues) and a cycle is one affine map. Hours of a cycle are powers of that map, not steps. Lumped
thermal networks: any text on electrical machines. Temperatures here are rises over the surrounding air, K,
unless said otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simprop.errors import SimpropError
from simprop.laws.supply import COPPER

Array = NDArray[np.float64]

INSULATION = {"A": 105.0, "B": 130.0, "F": 155.0}
"""Temperature limit by insulation class, degC: IEC 60085."""


def one_node_rise(power: float, resistance: float, capacity: float, time: float, start: float = 0.0) -> float:
    """Rise after a time of constant loss: ``P R + (start - P R) exp(-t / (R C))``.

    Args:
        power: loss, W.
        resistance: to the air, K/W.
        capacity: J/K.
        time: s.
        start: rise at the start, K.

    Example:
        >>> round(one_node_rise(8.0, 6.0, 50.0, 60.0), 3)
        8.701
    """
    goal = power * resistance
    return goal + (start - goal) * math.exp(-time / (resistance * capacity))


def one_node_time(
    power: float, resistance: float, capacity: float, limit: float, start: float = 0.0
) -> float:
    """Time from one rise to a higher one at constant loss, s; inf if it never gets there.

    Example:
        >>> round(one_node_time(8.0, 6.0, 50.0, 40.0), 1)
        537.5
    """
    goal = power * resistance
    if start >= limit:
        return 0.0
    return math.inf if goal <= limit else resistance * capacity * math.log((goal - start) / (goal - limit))


def duty_rise(power: float, resistance: float, capacity: float, on: float, off: float) -> tuple[float, float]:
    """Highest and lowest rise of endless on-off duty, K.

    ``peak = P R (1 - exp(-on / tau)) / (1 - exp(-(on + off) / tau))``

    Example:
        >>> [round(v, 2) for v in duty_rise(8.0, 6.0, 50.0, 120.0, 180.0)]
        [25.03, 13.74]
    """
    tau = resistance * capacity
    peak = power * resistance * math.expm1(-on / tau) / math.expm1(-(on + off) / tau)
    return peak, peak * math.exp(-off / tau)


def current_factor(duty: float) -> float:
    """How much more current a short duty cycle allows than continuous running: ``1 / sqrt(duty)``.

    Holds for cycles much shorter than the winding's time constant.

    Example:
        >>> current_factor(0.25)
        2.0
    """
    return 1 / math.sqrt(duty)


@dataclass(frozen=True)
class Thermal:
    """A motor as two heat stores.

    Attributes:
        resistance: of the winding at 20 degC, ohm; 0 for a motor whose loss doesn't depend on its
            temperature.
        winding_capacity: J/K.
        case_capacity: J/K.
        winding_to_case: K/W.
        case_to_air: K/W.
    """

    resistance: float
    winding_capacity: float
    case_capacity: float
    winding_to_case: float
    case_to_air: float


@dataclass(frozen=True)
class Phase:
    """A stretch of constant heating.

    Attributes:
        duration: s.
        square_current: mean square of the winding's current, A^2.
        fixed: loss in the winding that isn't copper's (brushes), W.
        case: loss in the case (gears, bearings), W.
    """

    duration: float
    square_current: float
    fixed: float = 0.0
    case: float = 0.0


def _system(motor: Thermal, phase: Phase, ambient: float) -> tuple[Array, Array]:
    """``d(rise)/dt = A rise + b`` of a phase."""
    copper = phase.square_current * motor.resistance
    to_case, to_air = 1 / motor.winding_to_case, 1 / motor.case_to_air
    a = np.array(
        [
            [(copper * COPPER - to_case) / motor.winding_capacity, to_case / motor.winding_capacity],
            [to_case / motor.case_capacity, -(to_case + to_air) / motor.case_capacity],
        ]
    )
    b = np.array(
        [
            (copper * (1 + COPPER * (ambient - 20)) + phase.fixed) / motor.winding_capacity,
            phase.case / motor.case_capacity,
        ]
    )
    return a, b


def _map(motor: Thermal, phase: Phase, ambient: float) -> Array:
    """The phase as a 3 x 3 affine map of (winding, case, 1)."""
    a, b = _system(motor, phase, ambient)
    # The two nodes' matrix is that of a symmetric one in other units: its eigenvalues are real and apart.
    rates, modes = np.linalg.eig(a)
    back = np.linalg.inv(modes)
    grown = rates * phase.duration
    safe = np.where(np.abs(grown) > 1e-12, grown, 1.0)
    filled = np.where(np.abs(grown) > 1e-12, np.expm1(grown) / safe, 1.0) * phase.duration
    whole = np.eye(3)
    whole[:2, :2] = modes @ np.diag(np.exp(grown)) @ back
    whole[:2, 2] = modes @ np.diag(filled) @ back @ b
    return whole


def rise_after(
    motor: Thermal, phases: Sequence[Phase], ambient: float = 20.0, start: tuple[float, float] = (0.0, 0.0)
) -> tuple[float, float]:
    """Rise of winding and case at the end of the phases, K.

    Args:
        motor: heat stores and resistances.
        phases: in order.
        ambient: temperature of the air, degC.
        start: rise of winding and case at the start, K.

    Example:
        >>> bench = Thermal(0.0, 12.0, 150.0, 3.0, 6.0)
        >>> [round(v, 3) for v in rise_after(bench, [Phase(120.0, 0.0, fixed=8.0)])]
        [25.825, 4.107]
    """
    state = np.array([*start, 1.0])
    for phase in phases:
        state = _map(motor, phase, ambient) @ state
    return float(state[0]), float(state[1])


def settled_rise(motor: Thermal, phase: Phase, ambient: float = 20.0) -> tuple[float, float]:
    """Rise of winding and case after endless running, K; inf where copper's feedback runs away.

    Example:
        >>> bench = Thermal(0.0, 12.0, 150.0, 3.0, 6.0)
        >>> [round(v, 6) for v in settled_rise(bench, Phase(1.0, 0.0, fixed=8.0))]
        [72.0, 48.0]
    """
    a, b = _system(motor, phase, ambient)
    if float(np.max(np.linalg.eigvals(a).real)) >= 0:
        return math.inf, math.inf
    winding, case = np.linalg.solve(a, -b)
    return float(winding), float(case)


def time_constants(motor: Thermal) -> tuple[float, float]:
    """The two time constants without current, s, shortest first.

    Example:
        >>> [round(v, 2) for v in time_constants(Thermal(0.0, 12.0, 150.0, 3.0, 6.0))]
        [33.24, 974.76]
    """
    a, _ = _system(motor, Phase(1.0, 0.0), 20.0)
    fast, slow = sorted(-1 / np.linalg.eigvals(a).real)
    return float(fast), float(slow)


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
        motor: heat stores and resistances.
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
    maps = [_map(motor, p, ambient) for p in phases]
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
        after = _map(motor, phase, ambient) @ state
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
        motor: heat stores and resistances.
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
        motor: heat stores and resistances.
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
