"""How hot a motor gets: winding and case as two nodes, copper that resists more when hot, duty repeated
for hours.

Two nodes, each ``C dT/dt = P - T / R``: the winding heats the case, the case the air. The winding's
loss is ``I^2 R20 (1 + a (T - 20))`` (a = 0.00393 / K, standard value) plus a fixed part, which is linear
in the temperature, so that every phase of constant current has an exact solution (matrix exponential by
its eigenvalues) and a cycle is one affine map. Hours of a cycle are powers of that map, not steps. Lumped
thermal networks: any text on electrical machines. Temperatures here are rises over the surrounding air, K,
unless said otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array
from simprop.laws.supply import COPPER


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


def phase_map(motor: Thermal, phase: Phase, ambient: float) -> Array:
    """A phase as an affine map of (winding rise, case rise, 1), (3, 3).

    Args:
        ambient: of the air, degC.
    """
    a, b = _system(motor, phase, ambient)
    # The two nodes' matrix is that of a symmetric one in other units: its eigenvalues are real and apart.
    rates, modes = (np.real(found) for found in np.linalg.eig(a))
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
        state = phase_map(motor, phase, ambient) @ state
    return float(state[0]), float(state[1])


def settled_rise(motor: Thermal, phase: Phase, ambient: float = 20.0) -> tuple[float, float]:
    """Rise of winding and case after endless running, K; inf where copper's feedback runs away.

    Args:
        phase: current and losses (its duration is not used).
        ambient: of the air, degC.

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
