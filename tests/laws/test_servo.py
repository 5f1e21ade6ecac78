"""RC servo."""

import math

import numpy as np
import pytest

from simprop.errors import SimpropError
from simprop.laws.servo import Servo, drive, follow, inertia, speed_from_time
from simprop.quantities import literal, to_si

STANDARD = Servo(speed_from_time(0.2), 0.3923, 1.0, 0.01, 6.0, friction=0.02)


def test_units_of_the_trade():
    # definition of kgf; 0.20 s for 60 degrees is 50 rpm
    assert to_si(literal("10", "kgf*cm"), "torque") == pytest.approx(0.980665, rel=1e-9)
    assert to_si(literal("23", "kgf*cm"), "torque") == pytest.approx(2.2555295, rel=1e-9)
    assert speed_from_time(0.20) * 30 / math.pi == pytest.approx(50.0, rel=1e-12)


def test_dead_band_is_quiet():
    assert drive(STANDARD, 0.9 * STANDARD.dead_band) == 0.0


def test_sixty_degrees_take_the_stated_time_plus_run_up():
    smooth = Servo(speed_from_time(0.2), 0.4, 1.0, 0.01, 6.0)
    t = np.arange(0, 1, 0.001)
    angle = follow(smooth, t, np.where(t > 0, math.radians(120), 0.0))
    at_30, at_90 = (float(np.interp(math.radians(a), angle, t)) for a in (30, 90))
    assert at_90 - at_30 == pytest.approx(0.2, rel=0.01)
    # first-order run-up to w0 lags by one time constant once it is through
    assert at_90 == pytest.approx(0.3 + smooth.run_up, rel=0.01)


def test_ends_within_dead_band_and_what_friction_adds():
    t = np.arange(0, 2, 0.002)
    angle = follow(STANDARD, t, np.where(t > 0.1, 0.8, 0.0))
    band = STANDARD.dead_band + STANDARD.friction / STANDARD.stall_torque * STANDARD.full_band
    assert abs(angle[-1] - 0.8) < band
    assert np.all(angle < 0.8 + 0.02)


def test_inertia_is_that_of_the_run_up():
    assert inertia(STANDARD) == pytest.approx(0.02 * 0.3923 / STANDARD.no_load_speed)


def test_refusals():
    with pytest.raises(SimpropError):
        follow(STANDARD, np.arange(0, 1, 0.02), np.zeros(50))
    with pytest.raises(SimpropError):
        speed_from_time(0.0)
