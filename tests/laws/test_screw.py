"""Power screws against worked examples."""

import math

import pytest

from simprop.errors import SimpropError
from simprop.laws.screw import (
    Screw,
    backward_efficiency,
    collar_torque,
    efficiency,
    least_friction_to_hold,
    lowering_torque,
    raising_torque,
    self_locking,
)

# Shigley, Mechanical Engineering Design, power screw example (from memory; printed 26.18 and 9.77 N*m,
# 0.311; recomputed)
SQUARE = Screw(0.030, 0.008, 0.08, collar_diameter=0.040, collar_friction=0.08)
# trapezoidal 8 x 2, the square-thread formula with friction / cos(half angle) (Shigley, from memory),
# recomputed
TR8X2 = Screw(0.007, 0.002, 0.15, half_angle=math.radians(15))


def test_square_thread_with_collar():
    assert collar_torque(SQUARE, 6400.0) == pytest.approx(10.24, rel=1e-9)
    assert raising_torque(SQUARE, 6400.0) == pytest.approx(26.17695474499, rel=1e-6)
    assert raising_torque(SQUARE, 6400.0) - 10.24 == pytest.approx(15.93695474499, rel=1e-6)
    assert lowering_torque(SQUARE, 6400.0) == pytest.approx(9.774428429082, rel=1e-6)
    assert lowering_torque(SQUARE, 6400.0) - 10.24 == pytest.approx(-0.4655715709184, rel=1e-6)
    assert efficiency(SQUARE) == pytest.approx(0.3112941579984, rel=1e-6)
    assert least_friction_to_hold(SQUARE) == pytest.approx(0.08488263631568, rel=1e-6)
    assert self_locking(SQUARE)


def test_thread_alone_does_not_hold():
    assert not self_locking(Screw(0.030, 0.008, 0.08))


def test_trapezoidal_8x2():
    assert raising_torque(TR8X2, 200.0) == pytest.approx(0.1748351883547, rel=1e-6)
    assert lowering_torque(TR8X2, 200.0) == pytest.approx(0.04441474845169, rel=1e-6)
    assert efficiency(TR8X2) == pytest.approx(0.3641256536277, rel=1e-6)
    assert least_friction_to_hold(TR8X2) == pytest.approx(0.08784678280802, rel=1e-6)
    assert self_locking(TR8X2)


@pytest.mark.parametrize("half", [0.0, 0.26])
def test_friction_at_the_limit_of_holding_gives_zero_torque(half):
    limit = least_friction_to_hold(Screw(0.01, 0.004, 0.1, half_angle=half))
    assert lowering_torque(Screw(0.01, 0.004, limit, half_angle=half), 100.0) == pytest.approx(0.0, abs=1e-12)
    assert efficiency(Screw(0.01, 0.004, limit, half_angle=half)) < 0.5


def test_without_friction_nothing_is_lost():
    smooth = Screw(0.01, 0.02, 0.0)
    assert efficiency(smooth) == pytest.approx(1.0)
    assert backward_efficiency(smooth) == pytest.approx(1.0)


def test_jam_and_nonsense():
    with pytest.raises(SimpropError, match="jams"):
        raising_torque(Screw(0.01, 0.04, 0.9), 1.0)
    with pytest.raises(SimpropError):
        raising_torque(Screw(0.0, 0.04, 0.1), 1.0)
