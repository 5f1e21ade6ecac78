"""Worm gears."""

import math

import pytest

from simprop.errors import SimpropError
from simprop.laws import screw
from simprop.laws.worm import (
    Gear,
    backward_efficiency,
    backward_from_forward,
    forward_efficiency,
    input_torque,
    self_locking,
)


@pytest.mark.parametrize(("lead", "mu"), [(0.07, 0.08), (0.2, 0.05), (0.35, 0.03)])
def test_a_worm_without_pressure_angle_is_a_square_thread(lead, mu):
    # the same inclined plane: a screw of lead pi d tan(lead angle)
    d = 0.02
    thread = screw.Screw(d, math.pi * d * math.tan(lead), mu)
    assert forward_efficiency(lead, mu, 0.0) == pytest.approx(screw.efficiency(thread), rel=1e-12)
    assert backward_efficiency(lead, mu, 0.0) == pytest.approx(screw.backward_efficiency(thread), rel=1e-12)


@pytest.mark.parametrize("lead", [0.05, 0.1, 0.3])
def test_locking_limit_agrees_with_backward_efficiency(lead):
    limit = math.cos(math.radians(20)) * math.tan(lead)
    for mu in (0.99 * limit, 1.01 * limit):
        locks = self_locking(lead, mu, math.radians(20))
        assert locks == (backward_efficiency(lead, mu, math.radians(20)) <= 0)
    assert forward_efficiency(lead, limit, math.radians(20)) <= 0.5


def test_rule_from_forward_efficiency_holds_at_small_lead_angles():
    forward = forward_efficiency(math.radians(3), 0.02)
    assert backward_from_forward(forward) == pytest.approx(
        backward_efficiency(math.radians(3), 0.02), abs=0.01
    )


def test_input_torque_both_ways():
    locking = Gear(50.0, 0.485, backward_from_forward(0.485))
    assert input_torque(locking, 10.0) == pytest.approx(10.0 / (50 * 0.485))
    assert input_torque(locking, -10.0) == pytest.approx(10.0 * (1 / 0.485 - 2) / 50)
    free = Gear(10.0, 0.9, 0.85)
    assert input_torque(free, -10.0) == pytest.approx(-0.85)


def test_nonsense_is_refused():
    with pytest.raises(SimpropError):
        forward_efficiency(0.0, 0.1)
    with pytest.raises(SimpropError):
        backward_from_forward(1.2)
