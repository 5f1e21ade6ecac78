"""The PyBullet engine against published and closed-form motions."""

from __future__ import annotations

import numpy as np
import pytest
from bullet_rigs import axis_of, four_bar, run, slider_crank, wheel
from scipy.spatial.transform import Rotation

from simprop.engine.world import APPLIED, Trajectory

pytest.importorskip("pybullet")

MOTOR, STOP, FRICTION = (APPLIED.index(name) for name in ("motor", "stop", "friction"))

# Four-bar from rest under 0.05 N*m: crank angle, deg. Recomputed with a Newton-Euler system, absolute coordinates with
# multipliers and a symbolic Lagrangian, agreement 1e-8.
ANGLE = {0.05: 46.17990112551, 0.10: 62.31540198018, 0.15: 89.14237596815, 0.20: 139.8889888728}


def crank_errors(track: Trajectory, axis: int) -> np.ndarray:
    angle = 40.0 + np.degrees(track.coordinate[:, axis])
    return np.array([np.interp(t, track.time, angle) - a for t, a in ANGLE.items()])


@pytest.mark.parametrize(("step", "allowed"), [(1e-3, 0.05), (2.5e-4, 0.003)])
def test_four_bar_angle(step: float, allowed: float) -> None:
    assembly, _, track = run(four_bar(), step, 0.21)
    assert np.abs(crank_errors(track, axis_of(assembly, "O2"))).max() < allowed


def test_four_bar_converges_with_the_square_of_the_step() -> None:
    errors = []
    for step in (2e-3, 1e-3, 5e-4):
        assembly, _, track = run(four_bar(), step, 0.21)
        errors.append(np.abs(crank_errors(track, axis_of(assembly, "O2"))).max())
    assert errors[0] / errors[1] > 3.0
    assert errors[1] / errors[2] > 3.0


@pytest.mark.parametrize("about", [(1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1), (2, -1, 0.3)])
def test_four_bar_any_way_round(about: tuple[float, float, float]) -> None:
    turned = Rotation.from_rotvec(np.radians(37.0) * np.array(about) / np.linalg.norm(about))
    prop = four_bar(turned, moved=(0.3, -0.2, 1.0), along=(0.01, -0.02, 0.015, 0.04))
    assembly, _, track = run(prop, 1e-3, 0.21)
    assert np.abs(crank_errors(track, axis_of(assembly, "O2"))).max() < 0.05


def test_four_bar_accelerations_are_those_of_its_motion() -> None:
    """Newton's law on the whole prop: crank torque is the rate of kinetic and potential energy over crank speed."""
    assembly, _, track = run(four_bar(), 5e-4, 0.2)
    power = np.zeros(len(track.time))
    for i, body in enumerate(assembly.bodies):
        if body.fixed:
            continue
        turn = Rotation.from_quat(track.rotation[:, i])
        inside = turn.apply(track.spin[:, i], inverse=True)
        gain = turn.apply(track.spin_acceleration[:, i], inverse=True)
        power += body.mass * np.sum(track.velocity[:, i] * (track.acceleration[:, i] + [0, 0, 9.81]), axis=1)
        power += np.sum(inside * (gain @ body.inertia), axis=1)
    crank = axis_of(assembly, "O2")
    late = track.time > 0.02
    torque = power[late] / track.rate[late, crank]
    assert np.abs(torque - 0.05).max() < 1e-3 * 0.05


# Linear DC motor model, closed form: 12 V, 2 ohm, 0.05 V*s/rad, 2e-4 kg*m^2; time constant 0.16 s.
RUN_UP = {0.16: 151.7089341189, 0.32: 207.5195320232, 0.48: 228.0511035917}
IDEAL = """{{dc: {{rated_voltage: 12 V, no_load_speed: 240 rad/s, stall_torque: 0.3 N*m, no_load_current: 0 A,
  stall_current: 6 A, rotor_inertia: {rotor} kg*m^2, gear_ratio: {ratio}}}}}"""


@pytest.mark.parametrize(("inertia", "rotor", "ratio"), [(2e-4, 0.0, 1.0), (1e-4, 1e-6, 10.0)])
def test_dc_run_up(inertia: float, rotor: float, ratio: float) -> None:
    motor = IDEAL.format(rotor=rotor, ratio=ratio)
    _, _, track = run(
        wheel(inertia, motors=f"{{m: {{joint: shaft, supply: 12 V, motor: {motor}}}}}"), 1e-3, 0.8
    )
    for time, speed in RUN_UP.items():
        assert np.interp(time, track.time, track.rate[:, 0]) == pytest.approx(speed, rel=1e-4)
    assert track.coordinate[-1, 0] + 0.5e-3 * track.rate[-1, 0] == pytest.approx(153.8587371648, rel=1e-4)
    speed = track.rate[-1, 0]
    assert track.current[-1, 0] == pytest.approx((12.0 - 0.05 * speed) / 2.0, abs=1e-4)
    assert track.voltage[-1, 0] == 12.0


def test_dc_motor_backwards_limited_and_switched() -> None:
    motor = IDEAL.format(rotor=0, ratio=1)
    spec = f"{{m: {{joint: shaft, supply: 12 V 2 A, reverse: true, on: [0.1 s to 0.3 s], motor: {motor}}}}}"
    _, _, track = run(wheel(2e-4, motors=spec), 1e-3, 0.5)
    time, speed = track.time, track.rate[:, 0]
    assert np.abs(speed[time < 0.0999]).max() == 0.0
    running = (time > 0.101) & (time < 0.2)
    # 2 A * 0.05 N*m/A on 2e-4 kg*m^2: 500 rad/s^2, the other way.
    assert np.allclose(np.diff(speed[running]) / 1e-3, -500.0, rtol=1e-6)
    assert np.allclose(track.current[running, 0], 2.0)
    assert np.allclose(track.voltage[running, 0], 2.0 * 2.0 - 0.05 * speed[running], atol=0.03)
    off = time > 0.301
    assert np.ptp(speed[off]) < 1e-9
    assert np.all(track.current[off, 0] == 0.0)


def test_friction_brings_a_rotor_to_true_rest() -> None:
    # 1e-3 kg*m^2 at 50 rad/s against 0.02 N*m: 2.5 s and 62.5 rad (Coulomb friction, elementary mechanics).
    prop = wheel(1e-3, joint=", friction: 0.02 N*m", run="{for: 3 s, start_speeds: {shaft: 50 rad/s}}")
    _, _, track = run(prop, 1e-3, 3.0)
    assert track.time[np.argmax(track.rate[:, 0] < 1e-9)] == pytest.approx(2.5, abs=0.002)
    assert track.coordinate[-1, 0] == pytest.approx(62.5, rel=1e-4)
    assert np.all(track.rate[track.time > 2.502, 0] == 0.0)
    assert np.all(track.applied[track.time < 2.498, FRICTION, 0] == -0.02)
    assert np.all(track.applied[track.time > 2.502, FRICTION, 0] == 0.0)


def test_friction_holds_a_motor_below_it() -> None:
    motors = "{m: {joint: shaft, motor: {steady: {torque: 0.019 N*m}}}}"
    _, _, track = run(wheel(1e-3, joint=", friction: 0.02 N*m", motors=motors), 1e-3, 0.2)
    assert np.abs(track.coordinate).max() < 1e-12
    assert np.allclose(track.applied[1:, FRICTION, 0], -0.019)


# In-line slider-crank at 1200 rpm (method as in Norton, Design of Machinery, ch. 11; numbers recomputed):
# crank angle deg -> slider acceleration m/s^2, crank torque N*m.
SLIDER = {30: (-785.6309954, 8.650010964), 60: (-296.1762225, 5.357421777), 90: (203.8656719, -3.567649258)}


@pytest.mark.parametrize("about", [(0.0, 0.0, 0.0), (0.4, 0.3, -0.5)])
def test_slider_crank_at_1200_rpm(about: tuple[float, float, float]) -> None:
    turned = Rotation.from_rotvec(about)
    assembly, _, track = run(slider_crank(turned), 1e-4, 0.02)
    crank = axis_of(assembly, "shaft")
    angle = np.degrees(track.coordinate[:, crank])
    slider = track.acceleration[:, 3] @ turned.apply([1.0, 0.0, 0.0])
    for at, (acceleration, torque) in SLIDER.items():
        assert np.interp(at, angle, slider) == pytest.approx(acceleration, rel=1e-3)
        assert np.interp(at, angle, track.applied[:, MOTOR, crank]) == pytest.approx(torque, rel=1e-3)
    # Right from the first row on: at rest at its outer dead centre it would have -986.96 m/s^2 there.
    assert slider[0] == pytest.approx(-986.9604401, rel=1e-3)


ARM = """
rig: 1
name: Arm between stops
bodies:
  stand: {fixed: true}
  arm: {parts: [{slender: 0.3 kg, from: 0 0 0 mm, to: 300 0 0 mm}]}
joints: {shaft: {pin: [stand, arm], at: 0 0 0 mm, axis: -y, friction: %s N*m}}
stops: {ends: {pin_stop: shaft, below: -5 deg, above: 60 deg, arm: 100 mm}}
motors: {drive: {joint: shaft, motor: {synchronous: {speed: 5 rpm, pull_out_torque: 4 N*m}}}}
run: {for: 14 s}
"""


@pytest.mark.parametrize("friction", [0.0, 0.3])
def test_synchronous_arm_turns_back_at_each_stop(friction: float) -> None:
    peaks = []
    for step in (2e-3, 1e-3):
        _, _, track = run(ARM % friction, step, 14.0)
        nominal = 5.0 * np.pi / 30.0
        steady = track.rate[np.abs(np.abs(track.rate[:, 0]) - nominal) < 0.02 * nominal, 0]
        assert np.sum(np.diff(np.sign(steady)) != 0) >= 5
        assert np.abs(track.applied[:, MOTOR, 0]).max() == pytest.approx(4.0)
        assert np.abs(track.applied[:, FRICTION, 0]).max() == pytest.approx(friction)
        peaks.append([track.applied[:, STOP, 0].max(), track.applied[:, STOP, 0].min()])
    assert peaks[0] == pytest.approx(peaks[1], rel=0.01)
    # Weight and friction aside the stop bears at least the pull-out torque that stalls against it.
    assert peaks[1][0] > 4.0
