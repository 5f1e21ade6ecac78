"""Self-locking gear motor against a load, stepped by hand as an engine would."""

import math

import pytest

from simprop.laws.dc import friction_torque, line_from_figures
from simprop.laws.locking import Locking, Wedge, advance, drive_torque, free_speed

LINE = line_from_figures(12.0, 45 * math.pi / 30, 15.0, 1.5, 15.0)
GEAR = Locking(LINE, 0.06, 30.0)
INERTIA = 0.2


def run(load, volts, seconds, *, speed=0.0, gear=GEAR, h=1e-4):
    """Output angle and speed over time under a constant load torque and a voltage of time (None: off)."""
    wedge, rate, angle, contact, times = Wedge(speed == 0.0, speed), speed, 0.0, 0.0, []
    for n in range(round(seconds / h)):
        voltage = volts(n * h)
        wedge = advance(gear, wedge, voltage, rate, contact=contact, step=h)
        if wedge.held:
            new = wedge.speed
            contact = INERTIA * (new - rate) / h - load
        else:
            push = drive_torque(gear.line, voltage, rate) - math.copysign(
                friction_torque(gear.line), rate or 1.0
            )
            new = rate + h * (push + load) / (INERTIA + gear.inertia)
            contact = INERTIA * (new - rate) / h - load
        rate = new
        angle += h * rate
        times.append((n * h, angle, rate))
    return times


def test_off_motor_holds_a_load_that_stalls_it_twice():
    assert run(-29.0, lambda t: None, 1.0)[-1][1:] == (0.0, 0.0)


def test_lifting_settles_on_the_line():
    rate = run(-6.0, lambda t: 12.0, 2.0)[-1][2]
    want = 45 * math.pi / 30 * (1 - 6.0 / 15.0)
    assert rate == pytest.approx(want, rel=1e-3)


def test_lowering_runs_at_free_speed_not_beyond():
    rate = run(6.0, lambda t: 12.0, 2.0)[-1][2]
    assert rate == pytest.approx(45 * math.pi / 30, rel=1e-3)


def test_a_strongly_wedging_gear_takes_torque_to_lower():
    # 30 % of the load let down is asked of the motor: w = w0 (1 - 0.3 * 6 / 15)
    wedging = Locking(LINE, 0.06, 30.0, wedging=0.3)
    rate = run(6.0, lambda t: 12.0, 2.0, gear=wedging)[-1][2]
    assert rate == pytest.approx(45 * math.pi / 30 * (1 - 0.3 * 6 / 15), rel=2e-3)


def test_lowering_backwards():
    rate = run(-6.0, lambda t: -12.0, 2.0)[-1][2]
    assert rate == pytest.approx(-45 * math.pi / 30, rel=1e-3)


def test_switched_off_it_stops_within_what_its_own_friction_takes_and_stays():
    rows = run(6.0, lambda t: 12.0 if t < 1.0 else None, 2.0)
    stop = next(t for t, _, rate in rows if t > 1.0 and rate == 0.0)
    assert stop - 1.0 == pytest.approx(45 * math.pi / 30 * GEAR.inertia / friction_torque(LINE), rel=0.01)
    assert rows[-1][2] == 0.0


def test_too_heavy_a_load_is_held_not_dropped():
    rows = run(-20.0, lambda t: 12.0, 1.0)
    assert abs(rows[-1][1]) < 1e-4


def test_breakaway_keeps_a_weak_voltage_from_starting():
    sticky = Locking(LINE, 0.06, 30.0, breakaway=1.0)
    weak = 2.0  # 2 V: kt V / R = 2.78 N*m, own friction 1.67
    assert run(0.0, lambda t: weak, 1.0)[-1][2] > 0.1
    assert run(0.0, lambda t: weak, 1.0, gear=Locking(LINE, 0.06, 30.0, breakaway=1.2))[-1][2] == 0.0
    assert run(0.0, lambda t: weak, 1.0, gear=sticky)[-1][2] > 0.1


def test_free_speed_settles_at_no_load_speed():
    speed = 0.0
    for _ in range(2000):
        speed = free_speed(GEAR, speed, 12.0, 1e-3)
    assert speed == pytest.approx(45 * math.pi / 30, rel=1e-6)
