"""Contacts: bounce, stopping distance, rolling, tipping."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from simprop.errors import RigError
from simprop.laws import contact as law
from simprop.loads.energy import energy
from simprop.loads.joints import joint_loads
from simprop.recording import load_recording, save_recording
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.touch.closed_forms import bounce_force, restitution
from tests.touch.helpers import GRAVITY, recorded, run

pytestmark = pytest.mark.parametrize("engine", ["bullet", "mujoco", "exudyn"])

BALL = """
bodies: {{ball: {{parts: [{{ball: 40 mm, mass: 0.1 kg, of: steel, at: 0 0 30 mm}}]}}}}
contacts: {{floor: {{ball: ball, at: 0 0 30 mm, diameter: 40 mm, friction: 0, stiffness: 10000 N/m, loss: {loss}}}}}
run: {{for: 0.1 s}}
"""


def test_ball_on_a_springy_floor(engine: str) -> None:
    """Dropped 10 mm, no loss: peak m g + sqrt((m g)^2 + k m v^2), touch time and rebound in closed form."""
    mass, k, drop = 0.1, 1e4, 0.01
    speed, weight, w = np.sqrt(2 * GRAVITY * drop), mass * GRAVITY, np.sqrt(k / mass)
    _, _, track = run(BALL.format(loss=0), engine, 2e-5, 0.1)
    force = track.touch_force[:, 0, 2]
    assert force.max() == pytest.approx(weight + np.sqrt(weight**2 + k * mass * speed**2), rel=1e-5)
    on = np.flatnonzero(force > 0)
    lasted = (2 / w) * (np.pi - np.arctan2(speed, weight / mass / w))
    assert lasted == pytest.approx((np.pi + 2 * np.arctan(GRAVITY / w / speed)) / w, rel=1e-12)
    assert track.time[on[-1]] - track.time[on[0]] == pytest.approx(lasted, abs=5e-5)
    rebound = track.velocity[on[-1] + 2, 0, 2] + 2 * 2e-5 * GRAVITY
    assert rebound == pytest.approx(speed, rel=1e-3)


@pytest.mark.parametrize("loss", [0.05, 0.3])
def test_ball_loses_what_the_law_says(engine: str, loss: float) -> None:
    """The damped bounce, weight included, against the same law solved apart; the closed form without weight is near."""
    mass, k = 0.1, 1e4
    damping, speed = law.damping(k, loss, mass), np.sqrt(2 * GRAVITY * 0.01)

    def push(depth: float, rate: float) -> float:
        """Kelvin and Voigt: never a pull."""
        return max(0.0, k * depth + damping * rate) if depth > 0.0 else 0.0

    def slope(_: float, s: np.ndarray) -> list[float]:
        return [s[1], GRAVITY - push(s[0], s[1]) / mass]

    out = solve_ivp(slope, (0, 0.012), [1e-12, speed], rtol=1e-10, atol=1e-13, max_step=1e-5)
    force = [push(d, v) for d, v in out.y.T]
    end = len(force) - int(np.argmax(np.array(force)[::-1] > 0))
    _, _, track = run(BALL.format(loss=loss), engine, 1e-5, 0.06)
    ours = track.touch_force[:, 0, 2]
    assert ours.max() == pytest.approx(max(force), rel=5e-3)
    last = np.flatnonzero(ours > 0)[-1]
    assert track.velocity[last + 3, 0, 2] == pytest.approx(-out.y[1, end], rel=5e-3)
    assert -out.y[1, end] / speed == pytest.approx(restitution(loss), rel=0.06)
    assert max(force) == pytest.approx(bounce_force(k, loss, mass, speed), rel=0.08)
    taken = 0.5 * mass * (speed**2 - out.y[1, end] ** 2) + mass * GRAVITY * out.y[0, end]
    assembly = run(BALL.format(loss=loss), engine, 1e-5, 0.001)[0]
    audit = energy(recorded(assembly, track))
    assert -audit.contact == pytest.approx(taken, rel=0.02)
    assert (audit.share or 0) < 2e-3


def test_block_stops_after_v2_over_2_mu_g(engine: str) -> None:
    """A block of 1 kg carried at 1 m/s by a carriage of 0.5 kg: (3/2) v^2 / (2 mu g), less the spring of what sticks.

    At the end the block springs back by mu N over its sideways stiffness.
    """
    text = """
bodies:
  rail: {fixed: true}
  carriage: {parts: [{lump: 0.5 kg, at: 0 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}]}
  block: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}]}
joints:
  way: {slider: [rail, carriage], at: 0 0 0 mm, along: x}
  lift: {slider: [carriage, block], at: 0 0 0 mm, along: z}
contacts: {sole: {point: block, at: 0 0 -0.0980665 mm, stiffness: 1e5 N/m, loss: 0.1, friction: 0.3}}
run: {for: 1 s, start_speeds: {way: 1 m/s}}
"""
    assembly, _, track = run(text, engine, 2e-4, 0.7)
    spring = 0.3 * GRAVITY / (law.SIDEWAYS * 1e5)
    assert track.coordinate[-1, 0] == pytest.approx(1.5 / (2 * 0.3 * GRAVITY) - spring, abs=3e-6)
    assert abs(track.rate[-1, 0]) < 1e-4
    loads = joint_loads(recorded(assembly, track))
    assert loads.contacts[0].key == "contact.sole.force"
    assert loads.contacts[0].value == pytest.approx(GRAVITY * np.hypot(1, 0.3), rel=1e-3)


def rocking_period(radius: float, below: float, mass: float, inertia: float, swing: float) -> float:
    """Period of a round rail that rolls without slip, centre of mass `below` its middle; energy, exact."""

    def slowness(u: float) -> float:
        angle = swing * np.sin(u)
        turning = inertia + mass * (radius**2 + below**2 - 2 * radius * below * np.cos(angle))
        rest = swing * np.sin((np.pi / 2 - u) / 2) ** 2  # half of swing - angle, without loss of digits
        fall = 4 * mass * GRAVITY * below * np.sin((swing + angle) / 2) * np.sin(rest)
        return float(np.sqrt(turning / fall) * swing * np.cos(u))

    return 4 * quad(slowness, 0, np.pi / 2)[0]


def test_rocker_rolls_without_slip(engine: str) -> None:
    """Two rails of 500 mm: period by energy; small swings take 2 pi sqrt((I + m (R - d)^2) / (m g d))."""
    radius, below, mass, inertia, swing = 0.5, 0.1, 2.0, 0.02, 0.3
    small = 2 * np.pi * np.sqrt((inertia + mass * (radius - below) ** 2) / (mass * GRAVITY * below))
    assert rocking_period(radius, below, mass, inertia, 1e-3) == pytest.approx(small, rel=1e-5)
    x, z = below * np.sin(swing), radius - below * np.cos(swing)
    rail = f"arc: seat, radius: {radius} m, axis: y, stiffness: 1e6 N/m, loss: 0.05, friction: 0.5"
    text = f"""
bodies: {{seat: {{parts: [{{lump: {mass} kg, at: {x} 0 {z} m, inertia: {inertia} {inertia} {inertia} kg*m^2}}]}}}}
contacts:
  left: {{{rail}, centre: 0 100 500 mm}}
  right: {{{rail}, centre: 0 -100 500 mm}}
run: {{for: 3 s}}
"""
    assembly, _, track = run(text, engine, 2e-4, 3.0)
    turned = 2 * np.arctan2(track.rotation[:, 0, 1], track.rotation[:, 0, 3])
    rate = track.spin[:, 0, 1]
    back = np.flatnonzero((rate[:-1] < 0) & (rate[1:] >= 0))[-1]
    period = track.time[back] - rate[back] * np.diff(track.time)[0] / (rate[back + 1] - rate[back])
    # The rails give by micrometres: the period comes out 3e-6 long.
    assert period == pytest.approx(rocking_period(radius, below, mass, inertia, swing), rel=1e-5)
    assert turned.max() == pytest.approx(2 * swing, abs=1e-5)
    # Without slip the middle of the rail has rolled by R times the angle; the centre of mass follows.
    rolled = radius * turned + below * (np.sin(swing - turned) - np.sin(swing)) + x
    assert np.abs(track.position[:, 0, 0] - rolled).max() < 5e-5
    assert (energy(recorded(assembly, track)).share or 0) < 1e-3


@pytest.mark.parametrize("share", [0.98, 0.995, 1.005, 1.02])
def test_box_tips_at_the_static_force(engine: str, share: float) -> None:
    """Feet 80 mm apart, pulled at 150 mm: tips beyond m g (b/2) / h; the floor carries its weight."""
    most = 2 * GRAVITY * 40 / 150
    foot = "point: box, stiffness: 4e7 N/m, loss: 0.4, friction: 0.9"
    sunk = 2 * GRAVITY / 4 / 4e7
    text = f"""
bodies:
  stand: {{fixed: true}}
  box: {{parts: [{{lump: 2 kg, at: 0 0 100 mm, inertia: 0.01 0.01 0.01 kg*m^2}}]}}
contacts:
  a: {{{foot}, at: 0.04 0.03 {-sunk} m}}
  b: {{{foot}, at: -0.04 0.03 {-sunk} m}}
  c: {{{foot}, at: 0.04 -0.03 {-sunk} m}}
  d: {{{foot}, at: -0.04 -0.03 {-sunk} m}}
springs:
  pull: {{extension: [stand, box], from: 100 0 0.15 m, to: 0 0 0.15 m, rate: 0.01 N/m, free_length: 1 m,
    preload: {share * most - 0.99} N}}
run: {{for: 0.3 s}}
"""
    _, _, track = run(text, engine, 2e-5, 0.25)
    angle = np.degrees(2 * np.arctan2(track.rotation[-1, 1, 1], track.rotation[-1, 1, 3]))
    if share < 1:
        assert abs(angle) < 0.01
        reaction = track.touch_force[-2000:].sum(axis=1).mean(axis=0)
        assert reaction[2] == pytest.approx(2 * GRAVITY, rel=1e-4)
        assert -reaction[0] == pytest.approx(share * most, rel=1e-3)
    else:
        assert angle > 0.3


def test_what_sticks_does_not_creep(engine: str) -> None:
    """On a slope of 20 deg (gravity turned) a foot with mu 0.4 > tan 20 deg stands still; with 0.3 it slides."""
    tilt = np.radians(20)
    pull = f"[{GRAVITY * np.sin(tilt)} m/s^2, 0 m/s^2, {-GRAVITY * np.cos(tilt)} m/s^2]"
    text = """
bodies:
  rail: {{fixed: true}}
  carriage: {{parts: [{{lump: 0.001 kg, at: 0 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}}]}}
  block: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}}]}}
joints:
  way: {{slider: [rail, carriage], at: 0 0 0 mm, along: x}}
  lift: {{slider: [carriage, block], at: 0 0 0 mm, along: z}}
contacts: {{sole: {{point: block, at: 0 0 -0.0921525 mm, stiffness: 1e5 N/m, loss: 0.2, friction: {mu}}}}}
run: {{for: 1 s, gravity: {pull}}}
"""
    _, _, track = run(text.format(mu=0.4, pull=pull), engine, 2e-4, 1.0)
    half = len(track.time) // 2
    assert abs(track.coordinate[-1, 0] - track.coordinate[half, 0]) < 1e-9
    _, _, track = run(text.format(mu=0.3, pull=pull), engine, 2e-4, 1.0)
    accel = GRAVITY * (np.sin(tilt) - 0.3 * np.cos(tilt) / 1.001)
    gained = (track.rate[-1, 0] - track.rate[half, 0]) / (track.time[-1] - track.time[half])
    assert gained == pytest.approx(accel, rel=1e-4)


def test_a_rail_with_an_end_rocks_over_its_tip(engine: str) -> None:
    """A rail that ends 10 deg from its middle touches with its tip once it has turned further than that."""
    rail = "arc: seat, radius: 0.5 m, axis: y, stiffness: 1e6 N/m, loss: 0.3, friction: 0.9, spread: 10 deg"
    text = f"""
bodies: {{seat: {{parts: [{{lump: 2 kg, at: 100 0 450 mm, inertia: 0.02 0.02 0.02 kg*m^2}}]}}}}
contacts:
  left: {{{rail}, centre: 0 100 500 mm}}
  right: {{{rail}, centre: 0 -100 500 mm}}
run: {{for: 1 s}}
"""
    _, _, track = run(text, engine, 5e-5, 0.45)
    turned = np.degrees(2 * np.arctan2(track.rotation[:, 0, 1], track.rotation[:, 0, 3]))
    tipping = turned > 15
    assert tipping.any()
    # Rolled 10 deg of arc, then turning about the tip, which sticks.
    places = track.touch_point[tipping, 0, 0]
    assert np.abs(places - 0.5 * np.radians(10)).max() < 1e-4


def test_face_of_a_moving_body(engine: str) -> None:
    """A ball on a shelf that is lifted: the shelf's drive bears both, and the ball goes with it."""
    text = """
bodies:
  stand: {fixed: true}
  shelf: {parts: [{lump: 0.5 kg, at: 0 0 100 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
  ball: {parts: [{lump: 0.2 kg, at: 0 0 150 mm, inertia: 0.0001 0.0001 0.0001 kg*m^2}]}
joints: {lift: {slider: [stand, shelf], at: 0 0 0 mm, along: z}}
springs:
  hoist: {extension: [stand, shelf], from: 0 0 100 m, to: 0 0 0.1 m, rate: 0.001 N/m, free_length: 0.9 m,
    preload: 9.901 N}
contacts:
  rest: {ball: ball, at: 0 0 150 mm, diameter: 100 mm, on: {face: shelf, at: 0 0 100 mm, normal: z}, stiffness: 1e5 N/m,
    loss: 0.3, friction: 0.3}
run: {for: 0.2 s}
"""
    assembly, _, track = run(text, engine, 1e-4, 0.2)
    accel = 10 / 0.7 - GRAVITY  # the hoist pulls with 10 N, less 1e-4 N by the end
    assert track.acceleration[-200:, 1:, 2].mean() == pytest.approx(accel, rel=2e-3)
    assert track.touch_force[-200:, 0, 2].mean() == pytest.approx(0.2 * (accel + GRAVITY), rel=2e-3)
    assert joint_loads(recorded(assembly, track)).wrenches.unbalanced < 1e-3


def test_recording_keeps_what_touched(engine: str, tmp_path: object) -> None:
    pytest.importorskip({"bullet": "pybullet"}.get(engine, engine))
    rig = parse_rig("rig: 1\nname: t\n" + BALL.format(loss=0.1).replace("0.1 s", "0.06 s"))
    recording = simulate(rig, engine).recording
    save_recording(recording, f"{tmp_path}/ball.npz")
    loaded = load_recording(f"{tmp_path}/ball.npz")
    assert np.array_equal(loaded.track.touch_force, recording.track.touch_force)
    assert np.array_equal(loaded.track.touch_point, recording.track.touch_point)
    assert loaded.bands["contact.floor.force"].settled


def test_names_in_contacts_are_checked(engine: str) -> None:
    text = """
rig: 1
name: t
bodies: {seat: {parts: [{lump: 2 kg, at: 0 0 1 m}]}}
contacts:
  one: {point: saet, at: 0 0 0 m, friction: 0.3}
  two: {point: seat, at: 0 0 0 m, friction: 0.3, on: {face: seat, at: 0 0 0 m, normal: z}}
  three: {point: seat, at: 0 0 0 m, friction: wood on woof}
run: {for: 1 s}
"""
    with pytest.raises(RigError) as caught:
        parse_rig(text)
    said = str(caught.value)
    assert "did you mean 'seat'" in said
    assert "can't touch itself" in said
    assert "did you mean 'wood on wood'" in said
