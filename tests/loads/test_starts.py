"""Starts of drives told apart from running, and one load of a drive in every room, against closed forms."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from simprop.commands.drives import size
from simprop.loads.driving import starts
from simprop.loads.joints import all_peaks
from simprop.loads.verdicts import verdicts
from simprop.picture.render.extras import load_extras, value_at
from simprop.picture.render.marks import gauge_text
from simprop.report.comparison import comparison
from simprop.report.loads import LOADS, headline, motor_line
from simprop.report.sizes import faults_of
from simprop.report.writers import as_json, plain
from simprop.rig.load import load_rig, parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.drives.rigs import arm, sled, wheel

RIGS = sorted((Path(__file__).parents[2] / "rigs").glob("*.yaml"))
engines = pytest.mark.parametrize("engine", ["mujoco", "bullet"])
# wiper medium low: R = 0.8 ohm, k = 2.2918 V*s/rad, kt = 1.1111 N*m/A, own friction 1.6667 N*m; run-up of 20 ms alone
KT, K, R = 15 / 13.5, (12 - 1.2) / (45 * math.pi / 30), 0.8
ROTOR = 0.02 * KT * K / R
WIPER = "motors: {m: {joint: hub, motor: wiper, supply: 12 V%s}}\n"


def ran(text: str, engine: str = "mujoco", step: float = 2e-4) -> Run:
    if engine == "bullet":
        pytest.importorskip("pybullet")
    return simulate(parse_rig(text), engine, settle=False, step=step)


def test_a_start_on_a_straight_line_lasts_until_a_hundredth_is_left():
    """w (1 - exp(-t / tau)): the gain is a tenth at ln 10 tau, a hundredth at twice that."""
    time = np.arange(4000) * 1e-4
    for tau in (0.004, 0.01, 0.03):
        rows = starts(np.ones(4000), 3.0 * (1 - np.exp(-time / tau)))
        assert time[int(np.flatnonzero(~rows)[0])] == pytest.approx(2 * math.log(10) * tau, abs=5e-4)
        assert not rows[int(np.flatnonzero(~rows)[0]) :].any()


def test_each_switch_on_and_each_turn_is_a_start_and_slow_changes_of_speed_are_none():
    time = np.arange(8000) * 1e-3
    share = np.select([time < 2, time < 3, time < 5, time < 8], [1.0, 0.0, 1.0, -1.0])
    speed = np.zeros(8000)
    for begin, end in ((0, 2), (3, 5), (5, 8)):
        rows = (time >= begin) & (time < end)
        t = time[rows] - begin
        speed[rows] = (1 - np.exp(-t / 0.01)) * (1 + 0.8 * np.sin(2 * math.pi * t))  # a heavy crank
    found = time[starts(share, speed)]
    assert {round(float(t)) for t in found} == {0, 3, 5}
    for begin in (0, 3, 5):
        last = float(found[(found >= begin) & (found < begin + 1)].max()) - begin
        assert 0.03 < last < 0.07
    assert not starts(np.ones(100), np.full(100, 2.0)).any()  # already at speed
    assert not starts(np.ones(100), np.zeros(100)).any()  # never moves
    assert starts(np.ones(100), np.arange(100.0)).sum() == 1  # nothing but a run-up: its switch-on alone


@engines
def test_running_and_start_of_a_wheel_with_a_brake(engine):
    """Running it is asked for the brake; at the switch-on for its share of the stall by the two inertias besides."""
    inertia, brake = 0.2, 1.0
    run = ran(wheel(WIPER % "" + "run: {for: 2 s}", f"{brake} N*m", f"{inertia} kg*m^2"), engine)
    (load,) = run.loads.motors
    stall = KT * (12 / R - 1.5)
    assert load.able == pytest.approx(stall)
    jolt = brake + (stall - brake) * inertia / (inertia + ROTOR)
    assert load.peak.value == pytest.approx(brake, rel=0.12)  # a hundredth of the jolt is left
    assert load.peak.jolt is not None
    assert load.peak.jolt.value == pytest.approx(jolt, rel=0.02)
    assert load.peak.jolt.time < 0.01 < load.peak.time
    said = motor_line(load)
    assert "of 15.0 N*m it can give at standstill, 1" in said
    assert "while it starts" in said
    data = json.loads(as_json(LOADS.of(run)))["motors"]["m"]["load"]
    assert data["start"]["value"] == load.peak.jolt.value
    assert data["value"] == load.peak.value
    # the same load in every room
    did = run.sizes()[0].work
    (gauge,) = load_extras(run.loads).gauges
    assert did.peak_load == load.peak.value == gauge.peak
    assert did.start_load == load.peak.jolt.value == float(gauge.load.max())
    assert (did.able, gauge.able) == (load.able, load.able)


@engines
def test_what_a_free_motor_takes_for_its_own_rotor_is_not_asked_of_it(engine):
    """A wheel a thousand times lighter than the rotor: its share of 15 N*m at the switch-on, not 15 N*m."""
    run = ran(wheel(WIPER % "" + "run: {for: 0.5 s}", inertia="6e-5 kg*m^2"), engine)
    top = max(p.value for p in all_peaks(run.loads) if p.key.startswith("motor."))
    # on bullet current and acceleration of a row lie half a step apart, and the run-up takes 20 ms
    half_a_step = 0.0 if engine == "mujoco" else 15 * 1e-4 / 0.02
    assert top == pytest.approx(15 * 6e-5 / ROTOR, rel=0.05, abs=1.1 * half_a_step)


DRUM = """
rig: 1
name: Arm in the plane
bodies: {post: {fixed: true}, arm: {parts: [{lump: 2 kg, at: 300 0 0 mm}]}}
joints: {hub: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
motors:
  m: {joint: hub, motor: {synchronous: {speed: 30 rpm, pull_out_torque: 10 N*m, run_up: 50 ms, reverses: false}}}
run: {for: 2 s, gravity: 0 m/s^2}
"""


@engines
def test_the_jolt_of_a_mains_motor_does_not_head_the_report(engine):
    """m r (a^2 + w^4)^(1/2) with a = T / (J + Jr) while it starts, m r w^2 as it runs."""
    run = ran(DRUM, engine)
    mass, radius, speed = 2.0, 0.3, math.pi
    whole = mass * radius**2 + 10.0 * 0.05 / speed
    gain = 10.0 / whole
    worst = run.loads.worst
    assert worst is not None
    assert worst.value == pytest.approx(mass * radius * speed**2, rel=1e-3)
    assert worst.jolt is not None
    assert worst.jolt.value == pytest.approx(mass * radius * math.hypot(gain, speed**2), rel=0.02)
    assert worst.jolt.time < speed / gain + 0.01
    assert run.loads.history(worst).max() == worst.jolt.value  # what strength goes by has both
    said = headline(run.loads)
    assert said.startswith("Highest load: joint hub, 5.92 N")
    assert "while starting it bears" in said
    text = plain(LOADS.of(run))
    assert [line.split()[0] for line in text.splitlines() if "while starting  " in line] == ["while"]
    assert max(len(line) for line in text.splitlines()) <= 80
    table = json.loads(as_json(comparison(["one", "two"], [run, run])))["figures"]
    assert table["hub: peak force while starting"]["values"] == [worst.jolt.value] * 2


def test_one_number_where_the_start_loads_less_than_running():
    run = ran(DRUM.replace("50 ms", "5 s").replace("for: 2 s", "for: 24 s"), step=2e-3)
    worst = run.loads.worst
    assert worst is not None
    assert worst.jolt is None
    assert "while starting" not in plain(LOADS.of(run))
    assert json.loads(as_json(LOADS.of(run)))["joints"]["hub"]["force"]["start"] is None


def test_peaks_of_starts_are_settled_too():
    run = simulate(parse_rig(DRUM.replace("for: 2 s", "for: 0.6 s")), "mujoco", step=1e-3)
    worst = run.loads.worst
    assert worst is not None
    assert worst.jolt is not None
    assert worst.band is not None
    assert worst.jolt.band is not None
    assert worst.band.settled
    assert worst.jolt.band.settled
    assert worst.jolt.band.change < 0.02 * worst.jolt.value


@pytest.mark.parametrize("rig", RIGS, ids=lambda p: p.stem)
def test_root_mean_square_is_never_below_the_mean(rig):
    """Jensen's inequality, over one window."""
    run = simulate(load_rig(rig, {"run.for": "3 s"}), settle=False)
    assert run.drives or rig.stem == "cask_hoist"  # which a hand drives
    for drive, size_ in zip(run.drives, run.sizes(), strict=True):
        did = size_.work
        assert did.rms_load >= did.mean_load * (1 - 1e-12)
        assert did.peak_load >= did.rms_load * (1 - 1e-12)
        if np.isfinite(did.rms_current):
            assert did.rms_current >= did.mean_current * (1 - 1e-12)
        assert did.mean_load == pytest.approx(float(drive.load[drive.running].mean()))


def test_pulses_are_averaged_in_loads_gauge_and_size():
    """Under pulses of 50 Hz against a brake the load is the brake; the current goes up and down by amperes."""
    pulsed = ", pwm: {duty: 60 %, frequency: 50 Hz}"
    run = ran(wheel(WIPER.replace("12 V", "12 V 5 A") % pulsed + "run: {for: 2 s}", "2 N*m"))
    (load,) = run.loads.motors
    assert load.peak.value == pytest.approx(2.0, rel=0.05)
    assert load.able == run.sizes()[0].work.able == pytest.approx((5 / 0.6 - 1.5) * KT)
    current = run.track.current[run.track.time > 1.0, 0]
    assert np.ptp(current) > 3.0
    (gauge,) = load_extras(run.loads).gauges
    frames = [gauge_text(gauge, 1.0 + 0.0371 * k, 0.04) for k in range(20)]
    assert {round(share, 2) for _, _, share in frames} == {round(2.0 / load.able, 2)}
    read = np.array([float(second.split()[-2]) for _, second, _ in frames])
    assert np.ptp(read) < 0.15 * float(current.mean())
    bare = [float(value_at(gauge.time, gauge.current, 1.0 + 0.0371 * k)) for k in range(20)]
    assert np.ptp(bare) > 3.0  # an instant of it says nothing


STOP = "stops: {end: {pin_stop: hub, above: 80 deg, stiffness: 2000 N*m/rad, damping: 20 N*m*s/rad}}\n"


@engines
def test_a_motor_parked_on_its_stop_is_not_too_weak(engine):
    """It lifts m g r = 2.94 N*m of 15 to its stop and stands there; the margin is that of the way after its start."""
    run = ran(arm(WIPER % "" + STOP + "run: {for: 2 s}"), engine)
    (load,), (size_,) = run.loads.motors, run.sizes()
    weight = 1.001 * 9.80665 * 0.3
    angle = run.track.coordinate[load.peak.row, 0]
    assert load.peak.value == pytest.approx(
        weight * math.cos(angle), rel=0.12
    )  # a hundredth of the start is left
    assert size_.work.margin == pytest.approx(1 - load.peak.value / 15)
    assert size_.work.margin > 0.8
    assert load.held_since == pytest.approx(0.39, abs=0.03)  # 80 deg at 39 rpm, and 48 ms of run-up
    assert load.held == pytest.approx(2.0 - load.held_since, abs=0.01)
    assert size_.work.held == pytest.approx(load.held)
    assert "its supply" not in str(faults_of(size_))
    assert not [f for f in faults_of(size_) if "stalls" in f]
    assert "a stop holds it for 1.6 s in all, first at 0." in motor_line(load)
    assert verdicts(run.loads) == ()


def test_a_motor_that_stands_without_a_stop_is_too_weak_and_one_below_its_stop_as_well():
    held = STOP.replace("above: 80 deg", "below: -1 deg")
    for extra in ("", held):
        run = ran(arm(WIPER.replace("12 V", "3.3 V") % "" + extra + "run: {for: 1 s}", "3 kg"))
        (size_,) = run.sizes()
        assert run.loads.motors[0].held_since is None  # the stop carries the arm; it doesn't hold the motor
        assert size_.work.margin < 0.05
    assert any("never leaves its lower stop" in v or "locks" in v for v in verdicts(run.loads))


def test_a_crank_elsewhere_in_the_linkage_is_held_by_the_stop_of_its_lever():
    text = """
rig: 1
name: Lever on a stop
bodies:
  post: {fixed: true}
  crank: {parts: [{slender: 0.1 kg, from: 0 0 0 mm, to: 0 0 100 mm}]}
  rod: {parts: [{slender: 0.1 kg, from: 0 0 100 mm, to: 200 0 100 mm}]}
  lever: {parts: [{slender: 0.1 kg, from: 200 0 0 mm, to: 200 0 100 mm}]}
joints:
  hub: {pin: [post, crank], at: 0 0 0 mm, axis: y}
  a: {pin: [crank, rod], at: 0 0 100 mm, axis: y}
  b: {pin: [rod, lever], at: 200 0 100 mm, axis: y}
  c: {pin: [post, lever], at: 200 0 0 mm, axis: y}
stops: {end: {pin_stop: c, above: 30 deg, stiffness: 2000 N*m/rad, damping: 20 N*m*s/rad}}
"""
    run = ran(text + WIPER % "" + "run: {for: 1 s}")
    (load,) = run.loads.motors
    assert load.held_since == pytest.approx(0.14, abs=0.04)
    assert run.sizes()[0].work.margin > 0.8


PUSH = "pushers: {p: {between: [post, sled], from: low, to: high, motor: linear 150, supply: 12 V 5 A}}\n"


@engines
def test_pushers_stand_beside_what_they_can_give_and_say_where_they_lock(engine):
    light, heavy = (ran(sled(PUSH + "run: {for: 1.5 s}", f"{m} kg"), engine, 1e-3) for m in (5, 60))
    (load,) = light.loads.pushers
    assert load.able == 150.0
    assert load.peak.value == pytest.approx(5 * 9.80665, rel=0.05)
    line = motor_line(load)
    assert line.startswith("Pusher p: peak 49.")
    assert "of 150 N it can give at standstill" in line
    assert verdicts(light.loads) == ()
    (said,) = verdicts(heavy.loads)
    assert said.startswith("Pusher p locks at ")
    assert said.endswith("and doesn't move")
    assert json.loads(as_json(LOADS.of(heavy)))["asked_of_pushers"]["p"]["able_at_standstill"] == 150.0


def test_a_grabber_that_stalls_by_design_sizes_without_a_fault(tmp_path, capsys):
    path = next(r for r in RIGS if r.stem == "gate_grabber")
    assert size(path, {"run.for": "3 s"}, "mujoco", tmp_path, hours=4, ambient=20) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "that is its stall, and not in the margin" in said
    assert "Not as it should be" not in said
