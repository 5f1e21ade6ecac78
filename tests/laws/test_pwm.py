"""Pulsed supply against stepping the circuit's equation."""

import math

import pytest

from simprop.errors import SimpropError
from simprop.laws.pwm import Circuit, chopped, course, hum


def stepped(supply, emf, resistance, tau, *, duty, frequency):
    """Mean, mean square and drawn current by many small steps of L di/dt = v - R i - e with a diode."""
    period = 1 / frequency
    h = min(period, tau) / 4000
    n_on, n = round(duty * period / h), round(period / h)
    i = 0.0
    for _ in range(max(3, math.ceil(12 * tau / period))):
        total = square = drawn = 0.0
        for k in range(n):
            on = k < n_on
            goal = ((supply if on else 0.0) - emf) / resistance
            new = max(0.0, goal + (i - goal) * math.exp(-h / tau))
            middle = (i + new) / 2
            total, square, drawn = total + middle * h, square + middle**2 * h, drawn + on * middle * h
            i = new
    return total / period, square / period, drawn / period


@pytest.mark.parametrize(
    ("emf", "duty", "frequency"),
    [(3.0, 0.5, 4000.0), (3.0, 0.3, 500.0), (3.0, 0.1, 100.0), (0.0, 0.2, 200.0), (7.0, 0.6, 90.0)],
)
def test_closed_form_equals_stepping(emf, duty, frequency):
    c = chopped(12.0, emf, 0.8, 1e-3, duty=duty, frequency=frequency)
    mean, square, drawn = stepped(12.0, emf, 0.8, 1e-3, duty=duty, frequency=frequency)
    assert c.mean == pytest.approx(mean, rel=3e-3)
    assert c.rms**2 == pytest.approx(square, rel=3e-3)
    assert c.drawn == pytest.approx(drawn, rel=3e-3)


def test_fast_pulses_are_the_mean_voltage_without_extra_heat():
    c = chopped(12.0, 3.0, 0.8, 1e-3, duty=0.5, frequency=50e3)
    assert c.continuous
    assert c.mean == pytest.approx((6 - 3) / 0.8, rel=1e-9)
    assert c.heat_factor == pytest.approx(1.0, abs=1e-3)
    assert c.drawn == pytest.approx(0.5 * c.mean, rel=2e-3)


def test_power_balance():
    # supply power = heat in the winding + power turned into motion, both ways of conduction
    for duty, frequency in ((0.5, 5e3), (0.2, 60.0)):
        c = chopped(12.0, 4.0, 0.8, 8e-4, duty=duty, frequency=frequency)
        assert 12.0 * c.drawn == pytest.approx(c.rms**2 * 0.8 + 4.0 * c.mean, rel=1e-9)


def test_slow_pulses_at_low_duty_keep_torque_but_heat_more():
    slow, fast = (
        chopped(12.0, 1.5, 0.8, 1e-3, duty=0.1, frequency=60.0),
        chopped(12.0, 1.5, 0.8, 1e-3, duty=0.1, frequency=20e3),
    )
    assert slow.mean > 4 * max(fast.mean, 1e-9)
    assert slow.heat_factor > 3


def test_edges():
    assert chopped(12.0, 3.0, 0.8, 1e-3, duty=1.0, frequency=100.0).mean == pytest.approx(11.25)
    off = chopped(12.0, 3.0, 0.8, 1e-3, duty=0.0, frequency=100.0)
    assert off.mean == 0.0
    assert math.isnan(off.heat_factor)
    assert chopped(12.0, 13.0, 0.8, 1e-3, duty=0.5, frequency=100.0).mean == 0.0
    with pytest.raises(SimpropError):
        chopped(12.0, 3.0, 0.8, 1e-3, duty=1.5, frequency=100.0)


def test_hum():
    assert hum(21e3) is None
    assert all(hum(f) for f in (10.0, 100.0, 490.0, 19e3))


@pytest.mark.parametrize(
    ("emf", "duty", "frequency"), [(3.0, 0.3, 500.0), (3.0, 0.1, 100.0), (7.0, 0.6, 90.0)]
)
def test_course_settles_on_the_closed_form(emf, duty, frequency):
    circuit, amperes, means = Circuit(12.0, emf, 0.8, 1e-3), 0.0, []
    step = 1 / frequency / 7.3
    for n in range(730):
        mean, amperes = course(circuit, amperes, duty, frequency, (n * step, step))
        means.append(mean)
    want = chopped(12.0, emf, 0.8, 1e-3, duty=duty, frequency=frequency).mean
    assert sum(means[-73 * 5 :]) / (73 * 5) == pytest.approx(want, rel=1e-6)
