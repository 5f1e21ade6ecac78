"""Straight pushers: lead-screw linear actuator, door-lock pulse actuator, and solenoid by its force-stroke
table.

A linear actuator is a DC motor behind a screw: the same straight line, in m/s and N. Its data sheet names
the speed without load and a rated force, not the force at which it stalls; the line is drawn through the
speed at the rated force, and where that isn't stated it is assumed to be three quarters of the free speed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from simprop.errors import SimpropError
from simprop.laws.dc import DcLine, line_from_figures

LOADED_SPEED = 0.75
"""Speed at the rated force over the free speed of a linear actuator, where not stated (assumed)."""


@dataclass(frozen=True)
class LinearActuator:
    """A lead-screw actuator.

    Attributes:
        rated_voltage: V.
        force: rated, N.
        no_load_speed: m/s.
        loaded_speed: at the rated force, m/s.
        idle_current: without load, A.
        full_load_current: at the rated force, A.
        stroke: m; limit switches stop the motor at both ends.
        self_locking: the load can't drive it.
        longest_run: allowed at a stretch, s.
        duty: allowed share of the time that it runs, 0 to 1.
    """

    rated_voltage: float
    force: float
    no_load_speed: float
    loaded_speed: float
    idle_current: float
    full_load_current: float
    stroke: float
    self_locking: bool = True
    longest_run: float = 120.0
    duty: float = 0.1


def stall_force(actuator: LinearActuator) -> float:
    """Force at which the line reaches standstill: ``F / (1 - v_loaded / v_free)``, N.

    Some actuators slip a clutch or switch off before; none should be used beyond its rated force.

    Example:
        >>> stall_force(LinearActuator(12.0, 300.0, 0.030, 0.0225, 0.9, 4.0, 0.1))
        1200.0
    """
    if not 0 < actuator.loaded_speed < actuator.no_load_speed:
        raise SimpropError("the speed at the rated force must lie between zero and the speed without load")
    return actuator.force / (1 - actuator.loaded_speed / actuator.no_load_speed)


def line(actuator: LinearActuator) -> DcLine:
    """The actuator as a DC motor that turns volts into m/s and amperes into N.

    Example:
        >>> screw = LinearActuator(12.0, 300.0, 0.030, 0.0225, 1.0, 4.0, 0.1)
        >>> round(line(screw).resistance, 3)
        0.923
    """
    per_newton = (actuator.full_load_current - actuator.idle_current) / actuator.force
    stalled = stall_force(actuator)
    return line_from_figures(
        actuator.rated_voltage,
        actuator.no_load_speed,
        stalled,
        actuator.idle_current,
        actuator.idle_current + per_newton * stalled,
    )


def switched(actuator: LinearActuator, extension: float, voltage: float) -> float:
    """Voltage behind the limit switches: none outwards at full stroke, none inwards at zero.

    Args:
        extension: 0 to stroke, m.
        voltage: positive drives outwards, V.

    Example:
        >>> screw = LinearActuator(12.0, 300.0, 0.030, 0.0225, 1.0, 4.0, 0.1)
        >>> switched(screw, 0.1, 12.0), switched(screw, 0.1, -12.0), switched(screw, 0.05, 12.0)
        (0.0, -12.0, 12.0)
    """
    at_end = extension >= actuator.stroke if voltage > 0 else extension <= 0
    return 0.0 if at_end else voltage


def duty_faults(
    actuator: LinearActuator, runs: Sequence[tuple[float, float]], span: float
) -> tuple[str, ...]:
    """What in a run plan goes beyond the actuator's duty.

    Args:
        runs: start and end of each run, s.
        span: of the whole plan, s.

    Returns:
        One sentence for each fault; none when the plan is fine.

    Example:
        >>> screw = LinearActuator(12.0, 300.0, 0.030, 0.0225, 1.0, 4.0, 0.1)
        >>> duty_faults(screw, [(0.0, 4.0)], 20.0)
        ('runs 20 % of the time, 10 % is allowed',)
    """
    found = []
    longest = max((end - start for start, end in runs), default=0.0)
    if longest > actuator.longest_run:
        found.append(f"runs {longest:.0f} s at a stretch, {actuator.longest_run:.0f} s is allowed")
    share = sum(end - start for start, end in runs) / span
    if share > actuator.duty * (1 + 1e-9):
        found.append(f"runs {100 * share:.3g} % of the time, {100 * actuator.duty:.3g} % is allowed")
    return tuple(found)


@dataclass(frozen=True)
class PulseActuator:
    """A door-lock actuator: shoots out or back at a short pulse of either polarity, and burns when left on.

    Attributes:
        rated_voltage: V.
        force: at that voltage, N.
        stroke: m.
        speed: free speed, m/s.
        current: A.
        shortest_pulse: s.
        longest_pulse: s.
        burns_after: s of one pulse after which it may burn.
    """

    rated_voltage: float
    force: float
    stroke: float
    speed: float
    current: float
    shortest_pulse: float = 0.2
    longest_pulse: float = 1.0
    burns_after: float = 5.0


def pulse_fault(actuator: PulseActuator, pulse: float) -> str | None:
    """What is wrong with the length of a pulse, or None.

    Args:
        pulse: s.

    Example:
        >>> lock = PulseActuator(12.0, 30.0, 0.020, 0.1, 5.0)
        >>> pulse_fault(lock, 0.5) is None, pulse_fault(lock, 8.0)
        (True, 'a pulse of 8 s may burn it: 0.2 to 1 s is enough')
    """
    enough = f"{actuator.shortest_pulse:g} to {actuator.longest_pulse:g} s is enough"
    if pulse >= actuator.burns_after:
        return f"a pulse of {pulse:g} s may burn it: {enough}"
    if pulse > actuator.longest_pulse:
        return f"a pulse of {pulse:g} s is longer than it needs: {enough}"
    if pulse < actuator.shortest_pulse:
        return f"a pulse of {pulse:g} s may be too short to throw it: {enough}"
    return None


@dataclass(frozen=True)
class Solenoid:
    """A magnet that pulls a plunger in.

    Attributes:
        gaps: distance from the pulled-in end, rising from 0, m.
        forces: pull at those at the rated voltage, N.
        rated_voltage: V.
        current: A.
    """

    gaps: tuple[float, ...]
    forces: tuple[float, ...]
    rated_voltage: float
    current: float


def pull(solenoid: Solenoid, gap: float, voltage: float) -> float:
    """Pull at a gap, straight between the rows of the table, N.

    The force goes with the square of the current, and so of the voltage. Beyond the last row of the table no
    pull is counted (a real one still pulls a little); a gap below zero counts as closed.

    Args:
        gap: distance from the pulled-in end, m.
        voltage: V, either sign.

    Raises:
        SimpropError: for a table that doesn't rise from a gap of 0.

    Example:
        >>> magnet = Solenoid((0.0, 0.005, 0.010), (40.0, 12.0, 5.0), 12.0, 2.0)
        >>> pull(magnet, 0.0025, 12.0), pull(magnet, 0.02, 12.0), pull(magnet, 0.0, 6.0)
        (26.0, 0.0, 10.0)
    """
    rising = all(b > a for a, b in pairwise(solenoid.gaps))
    if not solenoid.gaps or solenoid.gaps[0] != 0 or not rising or len(solenoid.gaps) != len(solenoid.forces):
        raise SimpropError("a solenoid's table gives a force for each gap, and its gaps rise from 0")
    scale = (voltage / solenoid.rated_voltage) ** 2
    if gap <= 0:
        return solenoid.forces[0] * scale
    rows = list(zip(solenoid.gaps, solenoid.forces, strict=True))
    for (near, strong), (far, weak) in pairwise(rows):
        if gap <= far:
            return (strong + (weak - strong) * (gap - near) / (far - near)) * scale
    return 0.0
