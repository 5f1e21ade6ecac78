"""The MuJoCo engine against closed forms, balances of energy and itself at other steps."""

from __future__ import annotations

import sys
from math import cos, pi, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import actuate
from simprop.engine.exudyn.engine import _exudyn
from simprop.engine.mujoco.engine import MujocoEngine
from simprop.engine.mujoco.model_text import plan
from simprop.engine.mujoco.plan import principal
from simprop.engine.world import APPLIED, Trajectory
from simprop.errors import EngineError, EngineMissingError
from simprop.geometry.arrays import Array
from simprop.rig.load import parse_rig

pytest.importorskip("mujoco")
MOTOR, SPRING, STOP, FRICTION, DAMPING = range(len(APPLIED))


def run(text: str, step: float, duration: float) -> tuple[Assembly, Trajectory]:
    assembly = assemble(parse_rig("rig: 1\nname: test\n" + text))
    return assembly, MujocoEngine().run(assembly, actuate(assembly), step, round(duration / step) + 1)


def matrices(rotation: Array) -> Array:
    x, y, z, w = np.moveaxis(rotation, -1, 0)
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    return np.moveaxis(np.array(rows), (0, 1), (-2, -1))


def energy(assembly: Assembly, track: Trajectory) -> Array:
    """Kinetic energy and height of all bodies, J, (n,)."""
    gravity, total = np.array(assembly.rig.run.gravity), np.zeros(len(track.time))
    for i, body in enumerate(assembly.bodies):
        if not body.fixed:
            turn = matrices(track.rotation[:, i])
            inertia = turn @ body.inertia @ turn.transpose(0, 2, 1)
            spin = track.spin[:, i]
            total += 0.5 * body.mass * np.sum(track.velocity[:, i] ** 2, axis=1)
            total += (
                0.5 * np.einsum("ni,nij,nj->n", spin, inertia, spin)
                - body.mass * track.position[:, i] @ gravity
            )
    return total


def unaccounted(assembly: Assembly, track: Trajectory) -> tuple[float, float]:
    """Largest energy that no recorded load accounts for, and the largest work done, J."""
    power = np.sum(track.applied.sum(axis=1) * track.rate, axis=1)
    length = np.linalg.norm(track.line_end - track.line_start, axis=2)
    if length.size:
        power -= np.sum(track.line_force * np.gradient(length, track.step, axis=0, edge_order=2), axis=1)
    work = np.concatenate([[0.0], np.cumsum(0.5 * (power[1:] + power[:-1]) * track.step)])
    held = energy(assembly, track)
    return float(np.abs(held - held[0] - work).max()), float(np.abs(work).max())


PENDULUM = """
bodies:
  post: {fixed: true}
  bob: {parts: [{lump: 1 kg, at: 1000 0 0 mm}]}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
run: {for: 10 s, gravity: 9.81 m/s^2}
"""
# IFToMM library of multibody benchmark problems, A01; Jacobi elliptic functions at 10 s.
A01 = (0.2750874625761, -0.9614192050991)


def pendulum_error(step: float) -> float:
    _, track = run(PENDULUM, step, 10.0)
    return float(np.hypot(track.position[-1, 1, 0] - A01[0], track.position[-1, 1, 2] - A01[1]))


def test_simple_pendulum_to_a_billionth_of_its_length() -> None:
    assert pendulum_error(1e-3) < 1e-9


def test_order_of_convergence_is_four() -> None:
    coarse, fine = pendulum_error(8e-3), pendulum_error(4e-3)
    assert 3.7 < np.log2(coarse / fine) < 4.4


def test_rows_belong_to_the_start_of_each_step() -> None:
    _, track = run(PENDULUM, 1e-3, 0.01)
    assert track.time[0] == 0.0
    assert track.position[0, 1] == pytest.approx([1.0, 0.0, 0.0], abs=1e-12)
    assert track.acceleration[0, 1] == pytest.approx([0.0, 0.0, -9.81], abs=1e-9)
    assert track.spin_acceleration[0, 1] == pytest.approx([0.0, 9.81, 0.0], abs=1e-9)


def four_bar(extra: str = "", friction: str = "") -> str:
    """Norton, Design of Machinery: four-bar 40, 120, 80, 100 mm, crank at 40 deg (dimensions from memory)."""
    crank, coupler = radians(40), 0.3542648858379
    a = (40 * cos(crank), 40 * sin(crank))
    b = (a[0] + 120 * cos(coupler), a[1] + 120 * sin(coupler))
    return f"""
points:
  {{o2: 0 0 0 mm, a: {a[0]!r} 0 {a[1]!r} mm, b: {b[0]!r} 0 {b[1]!r} mm, o4: 100 0 0 mm, far: 300 0 100 mm}}
bodies:
  ground: {{fixed: true}}
  crank: {{parts: [{{slender: 40 g, from: o2, to: a}}]}}
  coupler: {{parts: [{{slender: 120 g, from: a, to: b}}]}}
  rocker: {{parts: [{{slender: 80 g, from: o4, to: b}}]}}
joints:
  O2: {{pin: [ground, crank], at: o2, axis: -y{friction}}}
  A: {{pin: [crank, coupler], at: a, axis: -y{friction}}}
  B: {{pin: [rocker, coupler], at: b, axis: -y{friction}}}
  O4: {{pin: [ground, rocker], at: o4, axis: -y{friction}}}
motors:
  drive: {{joint: O2, motor: {{steady: {{torque: 0.05 N*m}}}}}}
{extra}
run: {{for: 0.5 s, gravity: 9.81 m/s^2}}
"""


# Newton-Euler of the four-bar with a high-order integrator: time, crank angle in degrees.
FOUR_BAR_ANGLES = (
    (0.05, 46.17990112551),
    (0.1, 62.31540198018),
    (0.2, 139.8889888728),
    (0.25, 283.5096670226),
)


def test_four_bar_under_constant_torque() -> None:
    _, track = run(four_bar(), 1e-3, 0.25)
    for time, angle in FOUR_BAR_ANGLES:
        turned = np.degrees(track.coordinate[round(time / 1e-3), 0]) + 40
        # Measured 7e-6 deg at the fast end; a hundredfold coarser engine would fail.
        assert turned == pytest.approx(angle, abs=5e-5)


def test_recorded_accelerations_are_those_of_the_motion() -> None:
    """Fourth differences of the recorded places against the recorded accelerations at a fast run."""
    _, track = run(four_bar(), 2.5e-4, 0.25)
    for values, rates in ((track.position, track.acceleration), (track.velocity, None)):
        h = track.step
        if rates is None:
            found = (values[:-4] - 8 * values[1:-3] + 8 * values[3:-1] - values[4:]) / (12 * h)
        else:
            found = -values[4:] + 16 * values[3:-1] - 30 * values[2:-2] + 16 * values[1:-3] - values[:-4]
            found = found / (12 * h * h)
        expected = track.acceleration[2:-2]
        assert np.abs(found - expected).max() < 2e-4 * np.abs(expected).max()


def test_all_coordinates_follow_from_the_bodies() -> None:
    """The closing pin's coordinate, which no tree holds, too."""
    assembly, track = run(four_bar(), 1e-3, 0.25)
    angle = {
        body.name: np.unwrap(2 * np.arctan2(-track.rotation[:, i, 1], track.rotation[:, i, 3]))
        for i, body in enumerate(assembly.bodies)
    }
    for k, axis in enumerate(assembly.axes):
        joint = assembly.joints[axis.joint]
        first, second = assembly.bodies[joint.first].name, assembly.bodies[joint.second].name
        assert track.coordinate[:, k] == pytest.approx(angle[second] - angle[first], abs=1e-7)


def test_loads_on_closing_pins_are_accounted_for() -> None:
    extra = """
springs:
  coil: {torsion: O4, rate: 0.02 N*m/rad, free_angle: 0.3 rad}
  slack: {torsion: A, rate: 0.05 N*m/rad, slack: 0.1 rad, damping: 1e-4 N*m*s/rad}
  pull: {extension: [ground, coupler], from: 50 0 200 mm, to: a, rate: 20 N/m, free_length: 100 mm}
  push:
    {compression: [ground, rocker], from: far, to: b, rate: 20 N/m, free_length: 180 mm, damping: 0.1 N*s/m}
  wound:
    {extension: [ground, rocker], from: far, to: b, rate: 20 N/m, free_length: 100 mm, preload: 0.3 N}
  both: {two_way: [crank, rocker], from: o2, to: b, rate: 10 N/m, free_length: 100 mm, damping: 0.2 N*s/m}
"""
    friction = ", friction: 0.002 N*m, viscous: 1e-4 N*m*s/rad"
    text = four_bar(extra, friction).replace("0.05 N*m}", "0.12 N*m}")
    left, work = [], 0.0
    for step in (1e-3, 5e-4):
        assembly, track = run(text, step, 1.0)
        found, work = unaccounted(assembly, track)
        left.append(found)
        assert (np.abs(track.applied[:, FRICTION]).max(axis=0) > 0).all()
    assert work > 0.02
    # The sum of work is by trapezes here: second order.
    assert left[1] < 2e-4 * work
    assert left[1] < 0.5 * left[0]


def rotor(joint: str, extra: str, run_: str, inertia: str = "1e-3") -> str:
    return f"""
bodies:
  post: {{fixed: true}}
  rotor: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [{", ".join([inertia + " kg*m^2"] * 3)}]}}]}}
joints: {{shaft: {{pin: [post, rotor], at: 0 0 0 mm, axis: y{joint}}}}}
{extra}
run: {{for: 4 s, gravity: 0 m/s^2{run_}}}
"""


def test_dry_friction_stops_a_rotor_and_holds_it() -> None:
    """J w / M = 2.5 s, J w^2 / 2 M = 62.5 rad (Coulomb friction, elementary mechanics)."""
    _, track = run(rotor(", friction: 0.02 N*m", "", ", start_speeds: {shaft: 50 rad/s}"), 1e-3, 3.0)
    stopped = int(np.argmax(track.rate[:, 0] < 0.05))
    assert track.time[stopped] == pytest.approx(2.5, abs=0.002)
    assert track.coordinate[-1, 0] == pytest.approx(62.5, rel=1e-5)
    assert abs(track.rate[-1, 0]) < 1e-9
    assert track.applied[:2000, FRICTION, 0] == pytest.approx(-0.02, rel=1e-6)
    assert abs(track.applied[-1, FRICTION, 0]) < 1e-6


def test_friction_sticks_under_a_load_below_it() -> None:
    push = "motors: {push: {joint: shaft, motor: {steady: {torque: 0.019 N*m}}}}"
    _, track = run(rotor(", friction: 0.02 N*m", push, ""), 1e-3, 2.0)
    assert abs(track.coordinate[-1, 0]) < 1e-6
    assert track.applied[100:, FRICTION, 0] == pytest.approx(-0.019, rel=1e-4)


DC = (
    "dc: {rated_voltage: 12 V, no_load_speed: 240 rad/s, stall_torque: 0.3 N*m, no_load_current: 0 A, "
    "stall_current: 6 A, rotor_inertia: %s kg*m^2, gear_ratio: %s}"
)


def test_dc_motor_runs_up_as_its_line_says() -> None:
    """Linear DC motor: w = w0 (1 - exp(-t / T)), T = J w0 / Ts (any text on electrical machines)."""
    drive = f"motors: {{m: {{joint: shaft, motor: {{{DC % ('1e-5', '2')}}}}}}}"
    _, track = run(rotor("", drive, "", inertia="1.6e-4"), 4e-3, 0.48)
    for k in (1, 2, 3):
        row = round(0.16 * k / 4e-3)
        assert track.rate[row, 0] == pytest.approx(240 * (1 - np.exp(-k)), rel=1e-6)
        assert track.current[row, 0] == pytest.approx(6 * np.exp(-k), rel=1e-6)
    assert track.voltage[:, 0] == pytest.approx(12.0)


def test_supply_limit_and_switching() -> None:
    motor = DC % ("1e-9", "1")
    drive = f"motors: {{m: {{joint: shaft, motor: {{{motor}}}, supply: 12 V 2 A, on: [0 s to 0.2 s]}}}}"
    _, track = run(rotor("", drive, "", inertia="2e-4"), 1e-3, 0.4)
    assert track.current[0, 0] == pytest.approx(2.0)
    assert track.applied[50, MOTOR, 0] == pytest.approx(0.1, rel=1e-9)
    assert track.voltage[50, 0] == pytest.approx(2 * 2 + 0.05 * track.rate[50, 0])
    assert track.rate[201:, 0] == pytest.approx(track.rate[201, 0], rel=1e-9)
    assert track.current[250, 0] == 0.0
    assert track.voltage[250, 0] == pytest.approx(0.05 * track.rate[250, 0])


def test_rotor_inertia_on_a_moving_parent() -> None:
    """Two bodies on one axis: (J1 + J2) a1 + (J2 + N Jr) q'' = 0, (J2 + N Jr) a1 + (J2 + N^2 Jr) q'' = T."""
    text = f"""
bodies:
  post: {{fixed: true}}
  one: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [3e-3 kg*m^2, 3e-3 kg*m^2, 3e-3 kg*m^2]}}]}}
  two: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [2e-3 kg*m^2, 2e-3 kg*m^2, 2e-3 kg*m^2]}}]}}
joints:
  base: {{pin: [post, one], at: 0 0 0 mm, axis: y}}
  driven: {{pin: [one, two], at: 0 0 0 mm, axis: y}}
motors: {{m: {{joint: driven, motor: {{{DC % ("4e-5", "5")}}}}}}}
run: {{for: 1 s, gravity: 0 m/s^2}}
"""
    _, track = run(text, 1e-3, 0.01)
    j1, j2, jr, n = 3e-3, 2e-3, 4e-5, 5
    expected = np.linalg.solve([[j1 + j2, j2 + n * jr], [j2 + n * jr, j2 + n * n * jr]], [0.0, 0.3])
    assert track.spin_acceleration[0, 1, 1] == pytest.approx(expected[0], rel=1e-6)
    assert track.spin_acceleration[0, 2, 1] == pytest.approx(expected.sum(), rel=1e-6)


ARM_ON_STOP = """
bodies:
  post: {fixed: true}
  arm: {parts: [{lump: 1 kg, at: 500 0 0 mm}]}
joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
stops: {bump: {pin_stop: hook, above: 1.2 rad, stiffness: 2000 N*m/rad, damping: %s}}
run: {for: 1 s, gravity: 9.81 m/s^2}
"""


def test_stop_peak_against_the_energy_balance() -> None:
    """m g r (sin q - sin 0) = k d^2 / 2 with q = 1.2 rad + d (elementary mechanics): 136.857 N*m."""
    _, track = run(ARM_ON_STOP % "0 N*m*s/rad", 2.5e-4, 0.6)
    assert track.applied[:, STOP, 0].min() == pytest.approx(-136.8567765641, rel=3e-4)
    assert track.applied[:, STOP, 0].max() <= 0.0


@pytest.mark.parametrize("damping", ["0 N*m*s/rad", "8 N*m*s/rad"])
def test_stop_acts_exactly_as_its_law_says(damping: str) -> None:
    """The recorded law against what the recorded motion must have felt, about the pin."""
    _, track = run(ARM_ON_STOP % damping, 1e-3, 1.0)
    felt = 0.25 * track.spin_acceleration[:, 1, 1] - 9.81 * 0.5 * np.cos(track.coordinate[:, 0])
    assert np.count_nonzero(track.applied[:, STOP, 0]) > 20
    assert np.abs(felt - track.applied[:, STOP, 0]).max() < 1e-6


def test_synchronous_motor_turns_back_at_its_stops() -> None:
    text = """
bodies:
  post: {fixed: true}
  arm: {parts: [{slender: 0.2 kg, from: 0 0 0 mm, to: 0 0 300 mm}]}
joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y, friction: 0.01 N*m}}
motors: {m: {joint: hook, motor: {synchronous: {speed: 5 rpm, pull_out_torque: 2 N*m}}}}
stops: {ends: {pin_stop: hook, below: -20 deg, above: 20 deg, stiffness: 100 N*m/rad, damping: 0.5 N*m*s/rad}}
run: {for: 10 s}
"""
    peaks = []
    for step in (2e-3, 1e-3):
        _, track = run(text, step, 10.0)
        assert track.rate[100, 0] == pytest.approx(5 * pi / 30, rel=1e-6)
        assert np.abs(track.applied[:, MOTOR, 0]).max() <= 2.0 + 1e-9
        signs = np.sign(np.round(track.rate[np.abs(track.rate[:, 0]) > 0.5, 0], 2))
        assert np.count_nonzero(np.diff(signs)) >= 5
        peaks.append(np.abs(track.applied[:, STOP, 0]).max())
    assert peaks[0] == pytest.approx(peaks[1], rel=0.01)


def test_a_steady_push_on_a_slider_between_bodies() -> None:
    """Relative acceleration F (1/m1 + 1/m2), and the coordinate counts the second body against the first."""
    text = """
bodies:
  rail: {fixed: true}
  one: {parts: [{lump: 2 kg, at: 0 0 0 mm}]}
  two: {parts: [{lump: 0.5 kg, at: 100 0 0 mm}]}
joints:
  base: {slider: [rail, one], at: 0 0 0 mm, along: x}
  tee: {slider: [two, one], at: 50 0 0 mm, along: x}
points: {p: 0 0 0 mm, q: 100 0 0 mm}
springs: {s: {two_way: [one, two], from: p, to: q, rate: 1e-9 N/m, free_length: 50 mm, preload: 3 N}}
run: {for: 1 s, gravity: 0 m/s^2}
"""
    _, track = run(text, 1e-3, 0.01)
    assert track.acceleration[0, :, 0] == pytest.approx([0.0, 1.5, -6.0], abs=1e-6)
    assert track.coordinate[-1, 1] == pytest.approx(0.5 * 7.5 * 0.01**2, rel=1e-4)
    assert track.line_force[0, 0] == pytest.approx(3.0, abs=1e-6)


@pytest.mark.parametrize(
    "last",
    ["pin: [ground, rocker], axis: x", "ball: [ground, rocker]", "cylindrical: [ground, rocker], axis: x"],
)
def test_spatial_loop_keeps_its_energy(last: str) -> None:
    """A crank about y, a ball-ended link, and a rocker about x: nothing here is planar."""
    text = f"""
points: {{o: 0 0 0 mm, a: 60 0 0 mm, b: 80 0 200 mm, p: 80 -150 200 mm}}
bodies:
  ground: {{fixed: true}}
  crank: {{parts: [{{bar: 20 x 5 mm, of: steel, from: o, to: a}}, {{lump: 0.1 kg, at: -30 0 10 mm}}]}}
  link: {{parts: [{{rod: 8 mm, of: steel, from: a, to: b}}]}}
  rocker: {{parts: [{{bar: 20 x 5 mm, of: steel, from: b, to: p}}]}}
joints:
  o: {{pin: [ground, crank], at: o, axis: y}}
  a: {{ball: [crank, link], at: a}}
  b: {{ball: [link, rocker], at: b}}
  p: {{{last}, at: p}}
run: {{for: 1 s, gravity: 9.81 m/s^2, start_speeds: {{o: 10 rad/s}}}}
"""
    assembly, track = run(text, 1e-3, 1.0)
    assert assembly.closures
    held = energy(assembly, track)
    kinetic = 0.5 * np.sum(
        track.velocity**2 * np.array([b.mass for b in assembly.bodies])[:, None], axis=(1, 2)
    )
    assert np.abs(held - held[0]).max() < 1e-4 * kinetic.max()
    for joint in assembly.joints:
        ends = [
            track.position[:, k] + matrices(track.rotation[:, k]) @ (joint.point - assembly.bodies[k].com)
            for k in (joint.first, joint.second)
        ]
        apart = ends[0] - ends[1]
        if joint.kind.kind == "cylindrical":
            apart = apart - (apart @ joint.axis)[:, None] * joint.axis
        assert np.abs(apart).max() < 1e-5


def test_a_sliding_joint_can_close_a_loop() -> None:
    """Slider-crank whose slide isn't in the tree: a block with two slides in line closes by one of them."""
    text = """
points: {o: 0 0 0 mm, a: 0 0 50 mm, w: 193.649167310371 0 0 mm}
bodies:
  ground: {fixed: true}
  crank: {parts: [{slender: 0.1 kg, from: o, to: a}]}
  rod: {parts: [{slender: 0.1 kg, from: a, to: w}]}
  block: {parts: [{lump: 0.3 kg, at: w, inertia: [1e-4 kg*m^2, 1e-4 kg*m^2, 1e-4 kg*m^2]}]}
joints:
  o: {pin: [ground, crank], at: o, axis: y}
  a: {pin: [crank, rod], at: a, axis: y}
  w: {pin: [rod, block], at: w, axis: y}
  rail: {slider: [ground, block], at: w, along: x}
  guide: {slider: [block, ground], at: 250 0 0 mm, along: x, friction: 0.2 N}
run: {for: 1 s, gravity: 9.81 m/s^2, start_speeds: {o: 10 rad/s}}
"""
    assembly, track = run(text, 1e-3, 1.0)
    assert "slider" in {assembly.joints[c.joint].kind.kind for c in assembly.closures}
    crank = track.coordinate[:, 0]
    away = 0.05 * np.sin(crank) + np.sqrt(0.2**2 - (0.05 * np.cos(crank)) ** 2) - 0.193649167310371
    axes = {assembly.joints[x.joint].name: i for i, x in enumerate(assembly.axes)}
    assert track.coordinate[:, axes["rail"]] == pytest.approx(away, abs=1e-7)
    assert track.coordinate[:, axes["guide"]] == pytest.approx(-away, abs=1e-7)
    left, work = unaccounted(assembly, track)
    assert left < 2e-3 * work


def test_parts_fastened_twice_swing_as_one_rod() -> None:
    """Two half rods on a bracket, fastened to each other at two places: w = sqrt(3 g / L) at the bottom."""
    text = """
points: {o: 0 0 0 mm, m: 500 0 0 mm, n: 400 0 100 mm, e: 1000 0 0 mm}
bodies:
  post: {fixed: true}
  bracket: {parts: [{lump: 1 kg, at: o}]}
  one: {parts: [{slender: 0.5 kg, from: o, to: m}]}
  two: {parts: [{slender: 0.5 kg, from: m, to: e}]}
joints:
  foot: {fixed: [post, bracket], at: o}
  o: {pin: [bracket, one], at: o, axis: y}
  m: {fixed: [one, two], at: m}
  n: {fixed: [two, one], at: n}
run: {for: 1 s, gravity: 9.81 m/s^2}
"""
    assembly, track = run(text, 1e-3, 0.6)
    assert [assembly.joints[c.joint].kind.kind for c in assembly.closures] == ["fixed"]
    assert track.rate[:, 0].max() == pytest.approx(5.424942396008, rel=1e-6)
    assert np.abs(track.rotation[:, 2] - track.rotation[:, 3]).max() < 1e-9


def test_a_free_body_falls_and_tumbles() -> None:
    """Free fall, and Euler's equations: energy and angular momentum of a torque-free body stay."""
    text = """
bodies:
  ground: {fixed: true}
  top: {parts: [{lump: 1 kg, at: 10 20 30 mm, inertia: [1e-3 kg*m^2, 2e-3 kg*m^2, 2.5e-3 kg*m^2]}]}
  cup: {parts: [{lump: 1 kg, at: 10 20 30 mm, inertia: [1e-3 kg*m^2, 1e-3 kg*m^2, 1e-3 kg*m^2]}]}
joints: {hold: {pin: [top, cup], at: 10 20 30 mm, axis: 0 0.6 0.8, friction: 1e-4 N*m}}
run: {for: 1 s, gravity: 9.81 m/s^2, start_speeds: {hold: 40 rad/s}}
"""
    assembly, track = run(text, 1e-3, 0.5)
    moment = np.zeros((len(track.time), 3))
    for i, body in enumerate(assembly.bodies[1:], 1):
        turn = matrices(track.rotation[:, i])
        moment += np.einsum("nij,nj->ni", turn @ body.inertia @ turn.transpose(0, 2, 1), track.spin[:, i])
    assert moment == pytest.approx(np.broadcast_to(moment[0], moment.shape), abs=1e-7)
    assert track.position[-1, 1] == pytest.approx([0.01, 0.02, 0.03 - 0.5 * 9.81 * 0.25], abs=1e-9)
    left, work = unaccounted(assembly, track)
    assert left < 1e-4 * work


def test_principal_axes_give_the_inertia_back() -> None:
    rng = np.random.default_rng(3)
    for _ in range(50):
        root = rng.normal(size=(3, 3))
        inertia = root @ root.T
        moments, (w, x, y, z) = principal(inertia)
        turn = matrices(np.array([x, y, z, w]))
        assert turn @ np.diag(moments) @ turn.T == pytest.approx(inertia, rel=1e-6, abs=1e-6)
    half_turn = np.diag([1.0, -1.0, -1.0]) @ np.diag([3.0, 2.0, 1.0]) @ np.diag([1.0, -1.0, -1.0])
    moments, (w, x, y, z) = principal(half_turn)
    turn = matrices(np.array([x, y, z, w]))
    assert turn @ np.diag(moments) @ turn.T == pytest.approx(half_turn, abs=1e-6)


def test_a_native_rig_needs_no_callback() -> None:
    assembly = assemble(parse_rig("rig: 1\nname: test\n" + ARM_ON_STOP % "8 N*m*s/rad"))
    made = plan(assembly, actuate(assembly), 1e-3)
    assert not made.feeds
    assert not made.holds


def test_same_run_same_numbers() -> None:
    one, two = (run(four_bar(), 1e-3, 0.1)[1] for _ in range(2))
    assert (one.acceleration == two.acceleration).all()


def test_progress_is_told() -> None:
    assembly = assemble(parse_rig("rig: 1\nname: test\n" + PENDULUM))
    told: list[int] = []
    MujocoEngine().run(assembly, actuate(assembly), 1e-3, 450, told.append)
    assert told == [200, 400, 450]


def test_a_step_too_coarse_is_told_with_its_cause(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    spring = "springs: {coil: {torsion: shaft, rate: 10000 N*m/rad, free_angle: 1 rad}}"
    message = (
        r"runs away at .* s, first at body 'rotor'; likely cause: .* too coarse for the torsion spring on"
    )
    with pytest.raises(EngineError, match=message):
        run(rotor("", spring, ""), 5e-3, 1.0)
    assert not list(tmp_path.iterdir())


def test_a_stop_far_too_soft_is_told() -> None:
    with pytest.raises(
        EngineError, match=r"joint 'hook' is more than .* past its stop at .* s; likely cause"
    ):
        run((ARM_ON_STOP % "0 N*m*s/rad").replace("2000", "1"), 1e-3, 2.0)


def test_a_loop_that_comes_apart_is_told() -> None:
    with pytest.raises(EngineError, match=r"(loop through joint '\w+'|runs away)"):
        run(four_bar().replace("0.05 N*m", "5 N*m"), 1e-2, 1.0)


def test_missing_package_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "mujoco", None)
    with pytest.raises(EngineMissingError, match="pip install mujoco"):
        run(PENDULUM, 1e-3, 0.01)


@pytest.mark.parametrize(
    ("why", "do"),
    [
        ("libGL.so.1: cannot open shared object file", "apt-get install libgl1"),
        ("none", "pip install exudyn"),
    ],
)
def test_a_library_of_the_system_is_told_by_its_package(
    monkeypatch: pytest.MonkeyPatch, why: str, do: str
) -> None:
    def fails(name: str, *_: object, **__: object) -> None:
        raise ImportError(why)

    monkeypatch.setitem(sys.modules, "exudyn", None)
    monkeypatch.setattr("builtins.__import__", fails)
    with pytest.raises(EngineMissingError, match=do):
        _exudyn()


def test_old_package_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("mujoco.__version__", "3.2.7")
    with pytest.raises(EngineMissingError, match=r"3\.2\.7 is too old; 3\.7 or newer"):
        run(PENDULUM, 1e-3, 0.01)


def test_spring_mass_period() -> None:
    """T = 2 pi sqrt(m / k), lowest point at twice the static stretch m g / k (vibration theory)."""
    text = """
bodies:
  ground: {fixed: true}
  bob: {parts: [{lump: 0.25 kg, at: 0 0 -100 mm}]}
joints: {guide: {slider: [ground, bob], at: 0 0 0 mm, along: z}}
springs: {s: {extension: [ground, bob], from: 0 0 0 mm, to: 0 0 -100 mm, rate: 100 N/m, free_length: 100 mm}}
run: {for: 1 s, gravity: 9.81 m/s^2}
"""
    _, track = run(text, 1e-3, 1.0)
    assert track.coordinate[:, 0].min() == pytest.approx(-2 * 0.25 * 9.81 / 100, rel=1e-4)
    expected = -0.25 * 9.81 / 100 * (1 - np.cos(sqrt(400.0) * track.time))
    assert track.coordinate[:, 0] == pytest.approx(expected, abs=2e-7)
