"""Air cylinder."""

import math
from dataclasses import replace

import numpy as np
import pytest

from simprop.laws.chambers import advance, mass_flow
from simprop.laws.pneumatic import (
    ATMOSPHERE,
    REFERENCE_DENSITY,
    Air,
    Cylinder,
    conductance_from_cv,
    extend_force,
    force,
    push,
)
from tests.laws.stroke import stroke

BOX = Cylinder(0.025, 0.010, 0.15, 7e5, 2e-8, 2e-8)


def test_static_forces():
    # p A: 25 mm at 6 bar 294.5 N; 1.5 in at 60 psi
    # 106 lbf
    assert extend_force(0.025, 6e5) == pytest.approx(294.5, rel=1e-4)
    assert extend_force(1.5 * 0.0254, 60 * 6894.757) / 4.448222 == pytest.approx(106.0, rel=1e-3)


@pytest.mark.parametrize("critical", [0.2, 0.3, 0.5])
def test_a_valve_passes_the_nominal_flow_that_makers_state_for_its_cv(critical):
    # makers' tables: Qn = 984 l/min of reference air times Cv, 6 to 5 bar gauge (7 to 6 bar absolute)
    for cv in (0.1, 1.0):
        flow = mass_flow(conductance_from_cv(cv, critical), critical, 7e5, 6e5) / REFERENCE_DENSITY
        assert flow * 60e3 == pytest.approx(984.0 * cv, rel=2e-3)


def test_choked_flow_by_cv_is_near_the_general_valve_equation():
    # IEC 60534 for a valve of x_T 0.72 at its choke, 0.56 scfm/psia of air at 60 degF; that of small valves is rated by
    # other tests, so they agree to some percent only
    scfm = conductance_from_cv(1.0) * 6894.757 * 60 / 0.3048**3
    assert scfm == pytest.approx(0.56, rel=0.03)


def test_flow_is_choked_then_falls_to_zero_without_a_jump():
    ratios = np.linspace(0.05, 1.0, 2000)
    flows = np.array([mass_flow(1e-8, 0.3, 7e5, r * 7e5) for r in ratios])
    assert np.all(flows[ratios <= 0.3] == 1e-8 * 7e5 * REFERENCE_DENSITY)
    assert np.all(np.diff(flows) <= 1e-12)
    assert flows[-1] == pytest.approx(0.0, abs=1e-12)
    middle = mass_flow(1e-8, 0.3, 7e5, 0.65 * 7e5)
    assert middle == pytest.approx(1e-8 * 7e5 * REFERENCE_DENSITY * math.sqrt(0.75))


def test_filling_a_fixed_chamber_at_constant_flow_is_a_straight_line():
    # choked: dp/dt = n R T C p_s rho0 / V
    air = Air()
    for _ in range(20):
        air = advance(BOX, air, 1, (0.1, 0.0), 1e-4)
    volume = BOX.dead_volume + 0.1 * math.pi / 4 * 0.025**2
    slope = 1.2 * 287.05 * 293.15 * 2e-8 * 7e5 * 1.185 / volume
    assert air.cap - ATMOSPHERE == pytest.approx(slope * 2e-3, rel=1e-3)
    assert air.rod == ATMOSPHERE


def test_closed_compression_is_polytropic():
    shut = replace(BOX, inlet=0.0, exhaust=0.0)
    air, x, v, h = Air(3e5, ATMOSPHERE), 0.1, -0.2, 1e-4
    for _ in range(2500):
        air = advance(shut, air, 0, (x, v), h)
        x += v * h
    area = math.pi / 4 * 0.025**2
    want = 3e5 * ((2e-6 + 0.1 * area) / (2e-6 + 0.05 * area)) ** 1.2
    assert air.cap == pytest.approx(want, rel=1e-3)


def test_stalled_rod_reaches_the_static_force():
    air = Air()
    for _ in range(1000):
        air = advance(BOX, air, 1, (0.05, 0.0), 1e-3)
    assert force(BOX, air) == pytest.approx(extend_force(0.025, 7e5 - ATMOSPHERE), rel=2e-3)


@pytest.mark.parametrize("exhaust", [4e-10, 8e-10])
def test_throttled_exhaust_sets_the_speed(exhaust):
    # choked and steady, the volume swept is the volume let out at chamber pressure: v = R T C rho0 / A
    out = stroke(replace(BOX, exhaust=exhaust, stroke=0.3), 0.5, 0.0)
    ring = math.pi / 4 * (0.025**2 - 0.010**2)
    middle = float(np.mean(out.rate[(out.extension > 0.12) & (out.extension < 0.2)]))
    assert middle == pytest.approx(287.05 * 293.15 * exhaust * 1.185 / ring, rel=0.05)


def test_work_of_a_slow_stroke_becomes_speed():
    # energy: integral of air force over the stroke = kinetic energy + load
    out = stroke(BOX, 5.0, 30.0)
    cap, ring = math.pi / 4 * 0.025**2, math.pi / 4 * (0.025**2 - 0.01**2)
    push = out.cap * cap - out.rod * ring - ATMOSPHERE * (cap - ring) - 30.0
    work = float(np.trapezoid(push, out.extension))
    assert 0.5 * 5.0 * out.slam_speed**2 == pytest.approx(work, rel=0.01)


def test_first_stroke_after_a_rest_jumps():
    slow = replace(BOX, exhaust=2e-9)
    held, jump = stroke(slow, 2.0, 10.0), stroke(slow, 2.0, 10.0, vented=True)
    assert float(np.max(jump.rate)) > 1.5 * float(np.max(held.rate))


def test_cushion_takes_the_slam():
    soft = replace(BOX, exhaust=4e-9, cushion=0.02, cushion_share=0.03)
    with_it, without = stroke(soft, 2.0, 10.0), stroke(replace(soft, cushion=0.0), 2.0, 10.0)
    assert with_it.slam_speed < 0.6 * without.slam_speed
    assert with_it.slam_force < 0.7 * without.slam_force
    assert with_it.arrives > without.arrives


def test_slam_on_the_end_cap_is_the_energy_of_mass_and_push():
    out = stroke(BOX, 2.0, 10.0)
    push = force(BOX, Air(float(out.cap[-1]), float(out.rod[-1]))) - 10.0
    # 1/2 m v^2 + F d = 1/2 k d^2, peak k d
    depth = out.slam_force / BOX.end_stiffness
    assert 0.5 * 2.0 * out.slam_speed**2 + push * depth == pytest.approx(
        0.5 * BOX.end_stiffness * depth**2, rel=1e-9
    )


def test_too_heavy_a_load_does_not_arrive():
    out = stroke(BOX, 2.0, 400.0, longest=1.0)
    assert out.arrives == math.inf
    assert math.isnan(out.slam_force)


def test_end_caps_take_what_presses_the_piston_on_them():
    assert [push(BOX, f, 0.05) for f in (-247.0, 300.0)] == [-247.0, 300.0]
    assert push(BOX, -247.0, 0.0) == push(BOX, 300.0, BOX.stroke) == 0.0
    assert push(BOX, 300.0, 0.0) == 300.0  # out of its seat at once, with nothing sprung behind it
    assert push(BOX, -247.0, -1e-4) == pytest.approx(1e-4 * BOX.end_stiffness)
    assert push(BOX, 300.0, BOX.stroke + 1e-4) == pytest.approx(-1e-4 * BOX.end_stiffness)
    for pressed in (-247.0, 300.0):  # without a jump
        for end in (0.0, BOX.stroke):
            assert push(BOX, pressed, end - 1e-12) == pytest.approx(push(BOX, pressed, end + 1e-12), abs=1e-5)
