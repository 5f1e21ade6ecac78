"""Linear, pulse and solenoid actuators."""

import pytest

from simprop.errors import SimpropError
from simprop.laws import dc
from simprop.laws.actuator import (
    LinearActuator,
    PulseActuator,
    Solenoid,
    duty_faults,
    line,
    pull,
    pulse_fault,
    stall_force,
    switched,
)

# the 330 N class of 12 V actuators: 25 to 30 mm/s free, 0.8 to 1 A idle, 3 to 5 A full (typical, from memory)
CLASS_330 = LinearActuator(12.0, 330.0, 0.0275, 0.75 * 0.0275, 0.9, 4.0, 0.15)


def test_line_runs_through_its_two_stated_points():
    motor = line(CLASS_330)
    net = dc.torque(motor, 12.0, CLASS_330.loaded_speed) - dc.friction_torque(motor)
    assert net == pytest.approx(330.0)
    assert dc.current(motor, 12.0, CLASS_330.loaded_speed) == pytest.approx(4.0)
    assert dc.torque(motor, 12.0, 0.0275) - dc.friction_torque(motor) == pytest.approx(0.0, abs=1e-9)
    assert dc.current(motor, 12.0, 0.0275) == pytest.approx(0.9)
    assert stall_force(CLASS_330) == pytest.approx(1320.0)


def test_electric_power_exceeds_mechanical_power():
    assert 330.0 * CLASS_330.loaded_speed < 12.0 * 4.0


def test_limit_switches_cut_one_direction_only():
    assert switched(CLASS_330, 0.0, -12.0) == 0.0
    assert switched(CLASS_330, 0.0, 12.0) == 12.0
    assert switched(CLASS_330, 0.151, 12.0) == 0.0


def test_duty():
    # 2 min on and 18 off is 10 % (typical, from memory)
    assert duty_faults(CLASS_330, [(0.0, 120.0)], 1200.0) == ()
    assert len(duty_faults(CLASS_330, [(0.0, 130.0)], 1200.0)) == 2


def test_pulses():
    lock = PulseActuator(12.0, 30.0, 0.02, 0.1, 5.0)
    assert pulse_fault(lock, 0.2) is None
    assert "short" in pulse_fault(lock, 0.05)
    assert "longer" in pulse_fault(lock, 2.0)
    assert "burn" in pulse_fault(lock, 5.0)


def test_solenoid_table():
    magnet = Solenoid((0.0, 0.005, 0.010), (40.0, 12.0, 5.0), 12.0, 2.0)
    assert [pull(magnet, g, 12.0) for g in (-1e-3, 0.0, 0.005, 0.0075, 0.01)] == pytest.approx(
        [40, 40, 12, 8.5, 5]
    )
    assert pull(magnet, 0.0101, 12.0) == 0.0
    with pytest.raises(SimpropError):
        pull(Solenoid((0.001, 0.005), (4.0, 2.0), 12.0, 1.0), 0.002, 12.0)


def test_impossible_actuator():
    with pytest.raises(SimpropError):
        stall_force(LinearActuator(12.0, 330.0, 0.02, 0.02, 0.9, 4.0, 0.1))
