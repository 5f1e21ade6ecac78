"""The DC line against the figures it was made from and a published closed form."""

from __future__ import annotations

from math import inf, pi

import pytest

from simprop.errors import RigError
from simprop.laws.dc import DcLine, current, friction_torque, limited, line_from_figures, torque

RPM = pi / 30


@pytest.fixture
def wiper() -> DcLine:
    """12 V, 45 rpm and 1.5 A without load; 15 N*m and 15 A stalled."""
    return line_from_figures(12.0, 45 * RPM, 15.0, 1.5, 15.0)


def free_speed(line: DcLine, voltage: float) -> float:
    return (voltage - line.resistance * line.friction_current) / line.speed_constant


def test_gives_back_its_own_figures(wiper: DcLine) -> None:
    assert wiper.resistance == pytest.approx(0.8)
    assert free_speed(wiper, 12.0) == pytest.approx(45 * RPM)
    assert current(wiper, 12.0, 45 * RPM) == pytest.approx(1.5)
    assert current(wiper, 12.0, 0.0) == pytest.approx(15.0)
    assert torque(wiper, 12.0, 0.0) - friction_torque(wiper) == pytest.approx(15.0)
    assert torque(wiper, 12.0, 45 * RPM) == pytest.approx(friction_torque(wiper))


def test_lower_voltages(wiper: DcLine) -> None:
    # By hand: (5 - 1.5 * 0.8) / ((12 - 1.2) / 45 rpm) = 15.83 rpm; 3.3 V: 8.75 rpm; kt (3.3 / 0.8 - 1.5) = 2.9167.
    assert free_speed(wiper, 5.0) / RPM == pytest.approx(15.8333, abs=1e-4)
    assert free_speed(wiper, 3.3) / RPM == pytest.approx(8.75, abs=1e-4)
    assert torque(wiper, 3.3, 0.0) - friction_torque(wiper) == pytest.approx(2.916667, abs=1e-6)


def test_ideal_motor() -> None:
    # Linear DC motor model: 12 V, 2 ohm, 0.05 V*s/rad: 240 rad/s, 0.3 N*m, 6 A; under 0.06 N*m 192 rad/s, 1.2 A.
    line = line_from_figures(12.0, 240.0, 0.3, 0.0, 6.0)
    assert (line.resistance, line.speed_constant, line.torque_constant) == pytest.approx((2.0, 0.05, 0.05))
    assert torque(line, 12.0, 192.0) == pytest.approx(0.06)
    assert current(line, 12.0, 192.0) == pytest.approx(1.2)


def test_driven_beyond_its_free_speed_it_brakes(wiper: DcLine) -> None:
    assert current(wiper, 12.0, 60 * RPM) < 0.0
    assert torque(wiper, 12.0, 60 * RPM) < 0.0


@pytest.mark.parametrize("speed", [-3.0, 0.0, 2.0, 9.0])
def test_supply_limit(wiper: DcLine, speed: float) -> None:
    amperes, volts = limited(wiper, 12.0, speed, 5.0)
    assert abs(amperes) <= 5.0
    assert volts == pytest.approx(amperes * wiper.resistance + wiper.speed_constant * speed)
    assert limited(wiper, 12.0, speed, inf) == (current(wiper, 12.0, speed), 12.0)


def test_figures_that_are_no_motor_are_all_named() -> None:
    with pytest.raises(RigError) as error:
        line_from_figures(12.0, 0.0, -1.0, 5.0, 5.0)
    assert [f.field for f in error.value.faults] == ["no_load_speed", "stall_torque", "stall_current"]
