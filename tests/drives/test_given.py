"""Motion that is given: places at times, constant accelerations, a sway; against closed forms."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

INERTIA = 0.01 + 1.0 * 0.2**2
ARM = """
rig: 1
name: Given
bodies:
  frame: {fixed: true}
  arm: {parts: [{lump: 1 kg, at: 200 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
joints: {hub: {pin: [frame, arm], at: 0 0 0 mm, axis: y}}
motors: {push: {joint: hub, motor: {given: {HOW}}}}
run: {for: 3 s, gravity: 0 m/s^2}
"""
PLACES = "angle: [0 s 0 deg, 1 s 40 deg, 2 s 10 deg, 3 s 0 deg]"


def arm(how, text=ARM):
    return parse_rig(text.replace("HOW", how))


def test_it_is_where_it_should_be_when_it_should(engine):
    """A clamped cubic spline of a library; the torque is inertia times its second derivative."""
    run = simulate(arm(PLACES), engine, settle=False, step=5e-4)
    course = CubicSpline([0, 1, 2, 3], np.radians([0, 40, 10, 0]), bc_type="clamped")
    time = run.track.time
    assert run.track.coordinate[:, 0] == pytest.approx(course(time), abs=1e-6)
    given = run.track.applied[:, 0, 0]
    wanted = INERTIA * course(time, 2)
    late = time > 0.02  # at the start the acceleration is there at once
    near = 0.02 if engine == "exudyn" else 0.003
    assert given[late] == pytest.approx(wanted[late], abs=near * np.abs(wanted).max())


def test_a_trapezoid(engine):
    """Up in 1 s to 60 rpm, 1 s of it, down in 1 s: 2 turns, and the torque J a."""
    run = simulate(
        arm("speed: [0 s 0 rpm, 1 s 60 rpm, 2 s 60 rpm, 3 s 0 rpm]"), engine, settle=False, step=1e-3
    )
    assert run.track.coordinate[-1, 0] == pytest.approx(2 * 2 * pi, abs=2e-5)
    torque, time = run.track.applied[:, 0, 0], run.track.time
    for begin, end, share in ((0.1, 0.9, 1.0), (1.1, 1.9, 0.0), (2.1, 2.9, -1.0)):
        rows = (time > begin) & (time < end)
        assert torque[rows] == pytest.approx(share * INERTIA * 2 * pi, abs=1e-3 * INERTIA * 2 * pi)
    if engine != "exudyn":  # its load overshoots where an acceleration jumps
        assert run.loads.motors[0].peak.value == pytest.approx(INERTIA * 2 * pi, rel=1e-3)


def test_a_sway_and_rounds():
    run = simulate(arm("swing: 60 deg, pace: 1 Hz"), "mujoco", settle=False, step=1e-3)
    time = run.track.time
    assert run.track.coordinate[:, 0] == pytest.approx(np.radians(30) * (1 - np.cos(2 * pi * time)), abs=2e-5)
    assert run.loads.motors[0].peak.value == pytest.approx(INERTIA * np.radians(30) * (2 * pi) ** 2, rel=1e-3)
    how = "angle: [0 s 0 deg, 0.5 s 30 deg, 1 s 0 deg], repeat: true"
    run = simulate(arm(how), "mujoco", settle=False, step=1e-3)
    at = np.degrees(np.interp([0.5, 1.0, 1.5, 2.5], run.track.time, run.track.coordinate[:, 0]))
    assert at == pytest.approx([30, 0, 30, 30], abs=1e-2)


def test_a_crank_at_one_speed():
    """In-line slider-crank, r = 40 mm, l = 120 mm: x = r cos q + sqrt(l^2 - r^2 sin^2 q)."""
    text = """
rig: 1
name: Crank
bodies:
  frame: {fixed: true}
  crank: {parts: [{lump: 0.2 kg, at: 20 0 0 mm, inertia: 1e-4 1e-4 1e-4 kg*m^2}]}
  rod: {parts: [{lump: 0.2 kg, at: 100 0 0 mm, inertia: 1e-4 1e-4 1e-4 kg*m^2}]}
  block: {parts: [{lump: 0.5 kg, at: 160 0 0 mm}]}
joints:
  shaft: {pin: [frame, crank], at: 0 0 0 mm, axis: -y}
  pin: {pin: [crank, rod], at: 40 0 0 mm, axis: y}
  wrist: {pin: [rod, block], at: 160 0 0 mm, axis: y}
  guide: {slider: [frame, block], at: 160 0 0 mm, along: x}
motors: {drive: {joint: shaft, motor: {given: {speed: [0 s 120 rpm, 1 s 120 rpm]}}}}
run: {for: 1 s, gravity: 0 m/s^2, start_speeds: {shaft: 120 rpm}}
"""
    for engine in ("mujoco", "exudyn"):
        run = simulate(parse_rig(text), engine, settle=False, step=5e-4)
        angle = 4 * pi * run.track.time
        place = 0.04 * np.cos(angle) + np.sqrt(0.12**2 - (0.04 * np.sin(angle)) ** 2) - 0.16
        assert run.track.coordinate[:, -1] == pytest.approx(place, abs=5e-6)
        assert not [n for n in run.laws.notes if "begins at" in n and "start_speeds" not in n]


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("angle: [0 s 0 deg]", "at least 2 is wanted"),
        ("angle: [1 s 0 deg, 0.5 s 10 deg]", "begin at 0 s or later and rise"),
        ("angle: [0 s 0 deg, 1 s 10 mm]", "angle"),
        ("angle: [0 s, 1 s]", "a row of the table is a time"),
        ("angle: [0 s 0 deg, 1 s 10 deg], speed: [0 s 0 rpm, 1 s 3 rpm]", "a motion is given one way"),
        ("swing: 30 deg", "a swing has a pace"),
        ("swing: 30 deg, pace: 1 Hz, repeat: true", "goes on by itself"),
        ("angle: [0 s 0 deg, 1 s 10 deg], repeat: true", "ends where it began"),
        ("repeat: true", "a motion is given one way"),
    ],
)
def test_faults(how, said):
    with pytest.raises(RigError, match=said) as caught:
        arm(how)
    assert all(f.line for f in caught.value.faults)


def test_a_start_at_speed_is_told():
    run = simulate(arm("speed: [0 s 30 rpm, 1 s 30 rpm]"), "mujoco", settle=False, step=1e-3)
    assert any("say so in run.start_speeds" in note for note in run.laws.notes)


LED = """
rig: 1
name: Led
bodies:
  frame: {fixed: true}
  crank: {parts: [{lump: 0.1 kg, at: 50 0 0 mm, inertia: 1e-4 1e-4 1e-4 kg*m^2}]}
  arm: {parts: [{lump: 1 kg, at: 500 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
joints:
  shaft: {pin: [frame, crank], at: 0 0 0 mm, axis: y}
  hub: {pin: [frame, arm], at: 300 0 0 mm, axis: y}
motors:
  go: {joint: shaft, motor: {given: {speed: [0 s 0 rpm, 0.5 s 60 rpm]}}}
  push: {joint: hub, motor: {given: {HOW}}}
run: {for: 3 s, gravity: 0 m/s^2}
"""


def test_it_goes_by_another_joint(engine):
    """A periodic cubic spline of a library over the other's angle; the torque is inertia times what that asks."""
    how = "led_by: shaft, over: [0 deg 0 deg, 90 deg 20 deg, 200 deg 35 deg, 360 deg 0 deg], repeat: true"
    run = simulate(arm(how, LED), engine, settle=False, step=5e-4)
    course = CubicSpline(np.radians([0, 90, 200, 360]), np.radians([0, 20, 35, 0]), bc_type="periodic")
    lead, at = run.track.coordinate.T
    assert at == pytest.approx(course(np.mod(lead, 2 * pi)), abs=2e-4)
    late = run.track.time > 1.0
    wanted = INERTIA * course(np.mod(lead, 2 * pi), 2) * (2 * pi) ** 2
    given = run.track.applied[:, 0, 1]
    assert given[late] == pytest.approx(wanted[late], abs=0.02 * np.abs(wanted[late]).max())


def test_what_follows_stays_at_the_ends_of_its_table():
    run = simulate(arm("led_by: shaft, over: [0 deg 0 deg, 180 deg 40 deg]", LED), "mujoco", settle=False)
    assert np.degrees(run.track.coordinate[-1, 1]) == pytest.approx(40, abs=0.05)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("led_by: shaft", "has a table"),
        ("led_by: shat, over: [0 deg 0 deg, 90 deg 20 deg]", "shat"),
        ("led_by: shaft, over: [90 deg 0 deg, 0 deg 20 deg]", "angles rise"),
        ("led_by: shaft, over: [0 deg 0 deg, 360 deg 20 deg], repeat: true", "ends where it began"),
        ("led_by: shaft, over: [0 s 0 deg, 360 deg 20 deg]", "angle"),
    ],
)
def test_what_can_t_be_followed(how, said):
    with pytest.raises(RigError) as caught:
        simulate(arm(how, LED), "mujoco", settle=False)
    assert said in str(caught.value)
