"""Strength of teeth, strands and nuts against worked examples."""

from __future__ import annotations

import pytest

from simprop.rig.load import parse_rig
from simprop.rules.chains import breaking_load
from simprop.rules.power_screws import PSI, flank_pressure
from simprop.rules.teeth import form_factor, root_stress
from simprop.run.simulate import simulate

INCH, POUND = 0.0254, 4.448222

PAIR = """
rig: 1
name: Two wheels
bodies:
  post: {fixed: true}
  one: {parts: [{disc: 48 mm, thick: 20 mm, of: steel, at: 0 0 0 mm, axis: y}]}
  two: {parts: [{disc: 400 mm, thick: 20 mm, of: steel, at: 120 0 0 mm, axis: y}]}
joints: {left: {pin: [post, one], at: 0 0 0 mm, axis: y}, right: {pin: [post, two], at: DISTANCE 0 0 mm, axis: y}}
couplings: {pair: {COUPLING}}
motors: {drive: {joint: left, motor: {steady: {torque: 0.6 N*m}}}}
run: {for: 0.1 s, step: 1 ms}
"""


def checks_of(coupling: str, distance: float = 120.0):
    text = PAIR.replace("{COUPLING}", "{" + coupling + "}").replace("DISTANCE", f"{distance:g}")
    run = simulate(parse_rig(text.replace("at: 120 0 0 mm", f"at: {distance:g} 0 0 mm")), settle=False)
    return run, [c for c in run.strength.checks if c.place == "coupling pair"]


def test_a_stock_gear_bears_what_the_worked_example_says():
    """8 teeth an inch of pitch diameter, 1.5 in face, 16 teeth, 1200 rpm: 313 lbf make 8.57 kpsi with a velocity
    factor of 1.52 (Shigley, example 14-1, from memory)."""
    speed = 1200 / 60 * 3.14159265 * 2 * INCH
    stress = root_stress(313 * POUND, 1.5 * INCH, INCH / 8, 16, speed)
    assert form_factor(16) == 0.296
    assert stress / (1e3 * PSI) == pytest.approx(8.57, rel=4e-3)


def test_a_double_square_thread_presses_its_nut_as_in_the_worked_example():
    """32 mm, pitch 4 mm, 6.4 kN, the first engaged thread with 0.38 of the load: 12.9 MPa (Shigley, example 8-1)."""
    assert flank_pressure(0.38 * 6400, 32e-3, 4e-3, 4e-3) == pytest.approx(12.9e6, rel=2e-3)


def test_a_pinion_is_judged_by_the_push_around_it():
    """The torque's force on the pinion's pitch radius of 30 mm, less what speeds up the pinion itself."""
    run, (check,) = checks_of("gears: [left, right], teeth: [20, 60], module: 3 mm, face: 12 mm, of: steel")
    inertia = run.assembly.bodies[1].inertia[1, 1]
    push = (0.6 - inertia * abs(run.track.spin_acceleration[5, 1, 1])) / 0.030
    fast = 0.030 * abs(run.track.rate[-1, 0])
    assert check.demand == pytest.approx(root_stress(push, 12e-3, 3e-3, 20, fast), rel=1e-3)
    assert check.capacity == 250e6
    assert check.factor == 2.0
    assert check.verdict == "pass"
    _, (weak,) = checks_of("gears: [left, right], teeth: [20, 60], module: 3 mm, face: 0.1 mm, of: steel")
    assert weak.verdict == "fail"


@pytest.mark.parametrize(
    ("coupling", "distance", "told"),
    [
        ("gears: [left, right], teeth: [20, 60]", 120, "how wide its teeth are"),
        ("gears: [left, right], teeth: [20, 60], face: 5 mm, of: pine", 120, "no strength for teeth of pine"),
        ("gears: [left, right], teeth: [10, 60], face: 5 mm, of: steel", 120, "begins at 12"),
        ("toothed_belt: [left, right], teeth: [20, 40], pitch: 5 mm", 120, "what its strand bears"),
        ("chain: [left, right], teeth: [12, 20], pitch: 7 mm", 120, "what its strand bears"),
    ],
)
def test_what_is_not_stated_is_not_computed(coupling: str, distance: float, told: str):
    _, (check,) = checks_of(coupling, distance)
    assert check.verdict == "not computed"
    assert told in check.reason


def test_a_chain_is_judged_by_what_a_standard_one_of_its_pitch_breaks_at():
    run, (check,) = checks_of("chain: [left, right], teeth: [12, 20], pitch: 6.35 mm")
    assert check.capacity == breaking_load(6.35e-3) == 3500.0
    assert check.factor == 7.0
    peak = next(p for p in run.loads.couplings)
    assert check.demand == pytest.approx(peak.value, rel=1e-9)
    _, (own,) = checks_of("chain: [left, right], teeth: [12, 20], pitch: 6.35 mm, bears: 100 N")
    assert own.capacity == 100.0
    assert own.verdict == "fail"


def test_a_belt_bears_what_its_maker_allows():
    run, (check,) = checks_of(
        "toothed_belt: [left, right], teeth: [20, 40], pitch: 5 mm, tension: 30 N, bears: 200 N"
    )
    assert check.demand == pytest.approx(run.loads.couplings[0].value, rel=1e-9)
    assert (check.capacity, check.factor, check.verdict) == (200.0, 1.0, "pass")
