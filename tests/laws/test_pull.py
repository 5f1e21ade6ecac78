"""Pulls without a motor."""

import math

import pytest

from simprop.errors import SimpropError
from simprop.laws.pull import (
    ConstantForceSpring,
    Counterweight,
    GasSpring,
    constant_force,
    counterweight_step,
    counterweight_tension,
    gas_spring,
    hang,
    rope,
)


def test_rope_ramps():
    assert [rope(50.0, 0.2, t) for t in (-0.1, 0.0, 0.1, 0.2, 9.0)] == pytest.approx([0, 0, 25, 50, 50])
    assert rope(50.0, 0.0, 0.0) == 50.0


def test_gas_spring_is_an_isothermal_gas():
    # p V constant: F (V0 - A s) is the same all along the stroke
    strut = GasSpring(100.0, 1.4, 0.3, 0.1)
    products = [
        gas_spring(strut, 0.3 - s, 0.0) * (1 - (1 - 1 / 1.4) * s / 0.1) for s in (0.0, 0.03, 0.07, 0.1)
    ]
    assert products == pytest.approx([100.0] * 4)
    assert gas_spring(strut, 0.2, 0.0) == pytest.approx(140.0)


def test_gas_spring_ends_hold_it():
    strut = GasSpring(100.0, 1.4, 0.3, 0.1)
    assert gas_spring(strut, 0.301, 0.0) == pytest.approx(100.0 - 200.0)
    assert gas_spring(strut, 0.199, 0.0) > 300.0
    with pytest.raises(SimpropError):
        gas_spring(GasSpring(100.0, 0.9, 0.3, 0.1), 0.25, 0.0)


def test_constant_force_strip():
    strip = ConstantForceSpring(30.0, 0.05, 0.02, 0.5)
    assert constant_force(strip, 0.07) == constant_force(strip, 0.45) == 30.0
    assert constant_force(strip, 0.05) == 0.0


def test_counterweight_accelerates_a_load_as_an_atwood_machine():
    # a = (m2 - m1) g / (m1 + m2), tension 2 m1 m2 g / (m1 + m2): elementary mechanics
    weight = Counterweight(2.0, 1.0, 4e4, 120.0)
    load, h = 1.5, 1e-4
    position, speed = 0.5, 0.0  # below the pulley
    state = hang(weight, position)
    tensions = []
    for _ in range(4000):
        tension = counterweight_tension(weight, state, position, speed)
        state = counterweight_step(weight, state, tension, h)
        speed += h * (9.80665 - tension / load)
        position += h * speed
        tensions.append(tension)
    assert -speed == pytest.approx(0.5 / 3.5 * 9.80665 * 0.4, rel=0.01)
    assert math.fsum(tensions[2000:]) / 2000 == pytest.approx(2 * 2.0 * 1.5 / 3.5 * 9.80665, rel=0.005)


def test_rope_goes_slack():
    weight = Counterweight(2.0, 1.0, 4e4, 120.0)
    assert counterweight_tension(weight, hang(weight, 0.5), 0.4, 0.0) == 0.0
