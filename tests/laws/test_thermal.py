"""Heat of windings against closed forms and integration."""

import math
from itertools import pairwise

import numpy as np
import pytest

from simprop.errors import SimpropError
from simprop.laws.duty import duty_type, evening, longest_run, rest_needed
from simprop.laws.thermal import (
    Phase,
    Thermal,
    rise_after,
    settled_rise,
    time_constants,
)

TWO = Thermal(0.0, 12.0, 150.0, 3.0, 6.0)
COPPER = Thermal(2.0, 1.0, 1e-6, 1e-6, 6.0)  # one node of 2 ohm in effect: the case follows the winding
WIPER = Thermal(0.8, 40.0, 500.0, 1.5, 2.0)


def test_two_nodes():
    # lumped network, by eigenvalues and by integration, recomputed
    phase = Phase(1.0, 0.0, 8.0)
    assert settled_rise(TWO, phase) == pytest.approx((72.0, 48.0), rel=1e-9)
    assert time_constants(TWO) == pytest.approx((33.23891409761, 974.7610859024), rel=1e-9)
    for time, winding, case in (
        (30.0, 13.69089599296, 0.4987785116256),
        (120.0, 25.82491684312, 4.107440673493),
        (600.0, 44.11771704755, 21.14746936515),
    ):
        assert rise_after(TWO, [Phase(time, 0.0, 8.0)]) == pytest.approx((winding, case), rel=1e-8)


def test_copper_feedback():
    # 2 A through 2 ohm at 6 K/W, 0.00393 / K: root of the balance, recomputed
    assert settled_rise(COPPER, Phase(1.0, 4.0))[0] == pytest.approx(59.15992900809, rel=1e-5)


def test_copper_runs_away_where_heating_outgrows_cooling():
    # a I^2 R20 R_th = 1 at I = sqrt(1 / (0.00393 * 2 * 6))
    edge = 1 / (0.00393 * 2 * 6)
    assert settled_rise(COPPER, Phase(1.0, 0.99 * edge))[0] < math.inf
    assert settled_rise(COPPER, Phase(1.0, 1.01 * edge))[0] == math.inf


def stepped_evening(motor, cycle, hours, ambient=20.0):
    """The same two nodes by small explicit steps."""
    winding = case = time = 0.0
    hottest = 0.0
    h = 0.02
    while time < hours * 3600:
        hottest = 0.0
        for phase in cycle:
            for _ in range(round(phase.duration / h)):
                heat = (
                    phase.square_current * motor.resistance * (1 + 0.00393 * (ambient + winding - 20))
                    + phase.fixed
                )
                to_case = (winding - case) / motor.winding_to_case
                winding += h * (heat - to_case) / motor.winding_capacity
                case += h * (to_case - case / motor.case_to_air) / motor.case_capacity
                hottest = max(hottest, winding)
            time += phase.duration
    return hottest, case


def test_evening_equals_stepping_through_it():
    cycle = [Phase(8.0, 36.0, 4.0), Phase(1.0, 150.0, 4.0), Phase(21.0, 0.0)]
    got = evening(WIPER, cycle, 0.5, 105.0)
    winding, _ = stepped_evening(WIPER, cycle, 0.5)
    assert got.winding == pytest.approx(winding, rel=2e-3)
    long = evening(WIPER, cycle, 100.0, 105.0)
    assert long.settled == pytest.approx(long.winding, rel=1e-6)


def test_time_to_limit_is_where_the_rise_is():
    cycle = [Phase(20.0, 60.0, 4.0), Phase(10.0, 0.0)]
    got = evening(WIPER, cycle, 5.0, 105.0)
    assert 0 < got.time_to_limit < 5 * 3600
    whole, rest = divmod(got.time_to_limit, 30.0)
    phases = list(cycle) * int(whole) + [Phase(min(rest, 20.0), 60.0, 4.0), Phase(max(0.0, rest - 20.0), 0.0)]
    assert rise_after(WIPER, phases)[0] == pytest.approx(85.0, rel=1e-6)


def test_longest_run_ends_at_the_limit():
    run = Phase(0.0, 100.0, 3.0)
    time = longest_run(WIPER, run, 105.0)
    assert rise_after(WIPER, [Phase(time, 100.0, 3.0)])[0] == pytest.approx(85.0, rel=1e-6)
    assert longest_run(WIPER, Phase(0.0, 1.0), 105.0) == math.inf


def test_rest_needed_holds_the_limit_exactly():
    run = Phase(20.0, 100.0, 3.0)
    rest = rest_needed(WIPER, run, 105.0)
    assert 0 < rest < math.inf
    assert evening(WIPER, [run, Phase(rest, 0.0)], 500.0, 105.0).winding == pytest.approx(85.0, rel=1e-4)
    assert rest_needed(WIPER, Phase(2000.0, 100.0), 105.0) == math.inf


def test_peak_never_falls_from_cycle_to_cycle():
    cycle = [Phase(10.0, 80.0), Phase(30.0, 0.0)]
    peaks = [evening(WIPER, cycle, h, 105.0).winding for h in np.linspace(0.02, 3, 12)]
    assert all(b >= a for a, b in pairwise(peaks))


def test_duty_names():
    assert duty_type(10.0, 0.0, 900.0) == "S1 continuous"
    assert duty_type(150.0, 450.0, 900.0) == "S3 intermittent 25 %"
    assert duty_type(600.0, 9000.0, 900.0) == "S2 short-time 10 min"


def test_no_cycle():
    with pytest.raises(SimpropError):
        evening(WIPER, [], 1.0, 105.0)


def test_loss_in_the_case_heats_both_alike():
    settled = settled_rise(TWO, Phase(1.0, 0.0, case=8.0))
    assert settled == pytest.approx((48.0, 48.0), rel=1e-9)
