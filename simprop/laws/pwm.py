"""A brushed motor fed by pulses: mean current, its ripple, the torque left at low duty, the extra heat,
and the hum.

The chopper is one switch and a freewheel diode without drop: while on, the motor sees the supply; while
off, its current runs on through the diode until it dies out. With current flowing all the time the motor
behaves as on the mean voltage ``duty * V``; where it dies out, the mean is higher for the same duty but
the torque is rippled.
Formulas: closed form of an R-L circuit with back EMF over one period (any text on power electronics),
recomputed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from simprop.errors import SimpropError

AUDIBLE = (20.0, 20e3)
"""Hearing range, Hz: pulses below and above it can't be heard as a tone."""


@dataclass(frozen=True)
class Chopped:
    """Current of one period of pulses.

    Attributes:
        mean: A; torque goes with it.
        rms: A; heat goes with its square.
        peak: A.
        valley: A; 0 where the current dies out.
        continuous: current flows all the time.
        drawn: mean current from the supply, A.
        heat_factor: (rms / mean)^2, how much more the winding heats than with a smooth current of the same
            mean; NaN where no current flows.
    """

    mean: float
    rms: float
    peak: float
    valley: float
    continuous: bool
    drawn: float
    heat_factor: float


def chopped(
    supply: float, back_emf: float, resistance: float, time_constant: float, *, duty: float, frequency: float
) -> Chopped:
    """The motor's current at a steady speed.

    Args:
        supply: voltage of the supply, V, above the back EMF for any current.
        back_emf: motor constant times speed, V, 0 or more.
        resistance: of winding, wires and switch, ohm.
        time_constant: inductance over resistance of the motor, s (0.2 to 2 ms for small gearmotors, from
            memory).
        duty: part of the period that is on, 0 to 1.
        frequency: of the pulses, Hz.

    Example:
        >>> fast = chopped(12.0, 3.0, 0.8, 1e-3, duty=0.5, frequency=20e3)
        >>> fast.continuous, round(fast.mean, 3)
        (True, 3.75)
        >>> slow = chopped(12.0, 3.0, 0.8, 1e-3, duty=0.1, frequency=100.0)
        >>> slow.continuous, slow.mean > (0.1 * 12 - 3) / 0.8, slow.heat_factor > 2
        (False, True, True)
    """
    if not 0 <= duty <= 1 or frequency <= 0 or min(resistance, time_constant) <= 0 or back_emf < 0:
        raise SimpropError(
            "pulses need a duty from 0 to 1 and a frequency, resistance and time constant above zero"
        )
    period, tau = 1 / frequency, time_constant
    drive = (supply - back_emf) / resistance
    fall = -back_emf / resistance
    on = duty * period
    if duty == 0 or drive <= 0:
        return Chopped(0.0, 0.0, 0.0, 0.0, False, 0.0, math.nan)
    if duty == 1:
        return Chopped(drive, drive, drive, drive, True, drive, 1.0)
    whole = -math.expm1(-period / tau)
    valley = supply / resistance * (math.exp(-(period - on) / tau) - math.exp(-period / tau)) / whole + fall
    if valley >= 0:
        peak = drive + (valley - drive) * math.exp(-on / tau)
        off, continuous = period - on, True
    else:
        valley, peak, continuous = 0.0, drive * -math.expm1(-on / tau), False
        off = period - on if fall == 0 else min(period - on, tau * math.log1p(-peak / fall))
    mean_on, square_on = _exponential(drive, valley, on, tau)
    mean_off, square_off = _exponential(fall, peak, off, tau)
    mean, square = (mean_on + mean_off) / period, (square_on + square_off) / period
    return Chopped(mean, math.sqrt(square), peak, valley, continuous, mean_on / period, square / mean**2)


def _exponential(goal: float, start: float, span: float, tau: float) -> tuple[float, float]:
    """Integrals of i and i^2 over `span` for ``i = goal + (start - goal) exp(-t / tau)``."""
    gap = start - goal
    one, two = -math.expm1(-span / tau) * tau, -math.expm1(-2 * span / tau) * tau / 2
    return goal * span + gap * one, goal**2 * span + 2 * goal * gap * one + gap**2 * two


@dataclass(frozen=True)
class Circuit:
    """What drives the current of a pulsed motor.

    Attributes:
        supply: V.
        back_emf: V.
        resistance: ohm.
        time_constant: s.
    """

    supply: float
    back_emf: float
    resistance: float
    time_constant: float


def course(
    circuit: Circuit, start: float, duty: float, frequency: float, span: tuple[float, float]
) -> tuple[float, float]:
    """Mean current over a stretch of time, and the current at its end, followed pulse by pulse.

    Args:
        circuit: at the motor's present speed.
        start: current at the beginning, A.
        duty: 0 to 1; each period begins with its on part.
        frequency: Hz; periods are counted from time 0.
        span: (beginning, length) of the stretch, s.

    Example:
        >>> box = Circuit(12.0, 0.0, 0.8, 1e-3)
        >>> mean, last = course(box, 0.0, 0.5, 50.0, (0.0, 0.010))
        >>> round(last, 2), round(mean, 2)
        (15.0, 13.5)
    """
    period, tau = 1 / frequency, circuit.time_constant
    time, left, amperes, total = span[0], span[1], start, 0.0
    high = (circuit.supply - circuit.back_emf) / circuit.resistance
    low = -circuit.back_emf / circuit.resistance
    while left > 1e-12:
        phase = time % period
        on = phase < duty * period - 1e-12
        piece = min(left, (duty * period if on else period) - phase)
        piece = max(piece, 1e-9)
        goal = high if on else low
        flows = piece
        if goal < 0 and amperes + (goal - amperes) * -math.expm1(-piece / tau) < 0:
            flows = tau * math.log1p(amperes / -goal) if amperes > 0 else 0.0
        total += _exponential(goal, amperes, flows, tau)[0]
        amperes = 0.0 if flows < piece else goal + (amperes - goal) * math.exp(-piece / tau)
        time, left = time + piece, left - piece
    return total / span[1], amperes


def hum(frequency: float) -> str | None:
    """What a person hears of the pulses, or None for nothing. Common practice, no source, but for the
    hearing range.

    Args:
        frequency: of the pulses, Hz.

    Example:
        >>> hum(25e3) is None, hum(1e3)
        (True, 'pulses at 1000 Hz whine: above 20 kHz nobody hears them, at 30 to 200 Hz they hum low')
    """
    low, high = AUDIBLE
    if frequency > high:
        return None
    if frequency < low:
        return f"pulses at {frequency:.0f} Hz are felt as shaking, not heard; 30 to 200 Hz is smoother"
    if frequency <= 200:
        return f"pulses at {frequency:.0f} Hz hum low and ripple the torque, but start a sticky gear better"
    return f"pulses at {frequency:.0f} Hz whine: above 20 kHz nobody hears them, at 30 to 200 Hz they hum low"
