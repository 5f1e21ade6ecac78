"""Friction that goes with the load: pins, guides that bind, a pendulum in a dry journal."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simprop.errors import RigError
from simprop.loads.energy import energy
from simprop.loads.joints import joint_loads
from simprop.rig.load import parse_rig
from tests.touch.helpers import FRICTION, GRAVITY, recorded, run

pytestmark = pytest.mark.parametrize("engine", ["bullet", "mujoco", "exudyn"])


def test_pin_under_80_n(engine: str) -> None:
    """A 6 mm pin with mu 0.35 under 80 N holds 0.084 N*m (mu F r, any text on machines): wheel, driven beyond that.

    The wheel's centre is on the axis, so that the pin's load is its weight.
    """
    text = f"""
bodies:
  post: {{fixed: true}}
  wheel: {{parts: [{{lump: {80 / GRAVITY} kg, at: 0 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}}]}}
joints: {{hub: {{pin: [post, wheel], at: 0 0 0 mm, axis: y, friction: 0.35, diameter: 6 mm}}}}
motors: {{drive: {{joint: hub, motor: {{steady: {{torque: %s N*m}}}}}}}}
run: {{for: 1 s}}
"""
    _, _, track = run(text % 0.1, engine, 1e-3, 0.5)
    assert track.applied[5:, FRICTION, 0] == pytest.approx(-0.084, rel=1e-9)
    assert track.rate[-1, 0] == pytest.approx((0.1 - 0.084) / 0.01 * track.time[-1], rel=0.01)
    _, _, track = run(text % 0.0835, engine, 1e-3, 0.5)
    assert abs(track.coordinate[-1, 0]) < 1e-7


@pytest.mark.parametrize("push", [15.0, 5000.0])
def test_drawer_binds_however_hard_it_is_pushed(engine: str, push: float) -> None:
    """Bearing 40 mm, pushed 80 mm beside its guide: binds at mu = b / (2 e) = 0.25 (any text on machines)."""
    limit = 0.25

    def slid(mu: float) -> float:
        text = f"""
bodies:
  chest: {{fixed: true}}
  drawer: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}}]}}
joints: {{guide: {{slider: [chest, drawer], at: 0 0 0 mm, along: x, bearing: 40 mm, friction: {mu}}}}}
springs:
  pull: {{extension: [chest, drawer], from: 1000 0 0.08 m, to: 0 0 0.08 m, rate: 0.001 N/m, free_length: 1 m,
    preload: {push - 0.999} N}}
run: {{for: 1 s, gravity: 0 m/s^2}}
"""
        _, _, track = run(text, engine, 2.5e-4, 0.1)
        return float(track.coordinate[-1, 0])

    seconds = 0.1 - 2e-4
    free = 0.5 * push * seconds**2
    for mu in (0.2, 0.247):
        # To the lag of a step at the start, and the line of the pull that tips by a little.
        assert slid(mu) == pytest.approx(free * (1 - mu / limit), rel=0.02)
    for mu in (0.253, 0.6):
        assert abs(slid(mu)) < 1e-6 * free


def journal(duration: float) -> object:
    """The equation of motion of the pendulum below, friction torque by the force on its pin; solved apart."""
    mass, arm, inertia, grip = 2.0, 0.5, 0.01 + 2.0 * 0.25, 0.3 * 0.015

    def slope(_: float, state: np.ndarray) -> list[float]:
        angle, rate = state
        torque = 0.0
        for _ in range(60):  # the torque depends on the acceleration, which depends on the torque
            accel = (-mass * GRAVITY * arm * np.cos(angle) + torque) / inertia
            x = arm * (-np.sin(angle) * accel - np.cos(angle) * rate**2)
            z = arm * (np.cos(angle) * accel - np.sin(angle) * rate**2)
            torque = -np.sign(rate) * grip * mass * np.hypot(x, z + GRAVITY)
        return [rate, accel]

    # Started a hair on its way, so that friction has a sense.
    return solve_ivp(
        slope, (0, duration), [0.0, -1e-9], rtol=1e-9, atol=1e-10, max_step=2e-3, dense_output=True
    ).sol


def test_pendulum_in_a_dry_journal_decays_as_its_equation_of_motion(engine: str) -> None:
    """A 2 kg pendulum let go level, pin of 30 mm with mu 0.3. First order in the step, by the lag."""
    text = """
bodies:
  post: {fixed: true}
  bob: {parts: [{lump: 2 kg, at: 500 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: -y, friction: 0.3, diameter: 30 mm}}
run: {for: 3 s}
"""
    exact = journal(3.0)
    errors = []
    for step in (2e-3, 5e-4):
        assembly, _, track = run(text, engine, step, 3.0)
        angle = exact(track.time)[0]
        errors.append(float(np.abs(track.coordinate[:, 0] - angle).max()))
        # Turning points: the decay of each half swing.
        for start, end in ((0.4, 1.2), (1.4, 2.4)):
            part = (track.time > start) & (track.time < end)
            for extreme in (np.min, np.max):
                assert extreme(track.coordinate[part, 0]) == pytest.approx(extreme(angle[part]), abs=2 * step)
        assert (energy(recorded(assembly, track)).share or 0) < 0.01
    assert errors[1] < 1e-3
    assert errors[0] / errors[1] > 3.0


def test_friction_follows_the_recorded_loads_in_a_loop(engine: str) -> None:
    """All joints of a slider-crank rub: friction is mu F r and mu (N1 + N2) of the wrenches worked out afterwards."""
    text = """
bodies:
  stand: {fixed: true}
  crank: {parts: [{slender: 0.1 kg, from: 0 0 0 mm, to: 0 0 50 mm}]}
  rod: {parts: [{slender: 0.2 kg, from: 0 0 50 mm, to: 193.649167 0 0 mm}]}
  block: {parts: [{lump: 1 kg, at: 193.649167 0 10 mm, inertia: 0.001 0.001 0.001 kg*m^2}]}
joints:
  shaft: {pin: [stand, crank], at: 0 0 0 mm, axis: y, friction: 0.2, diameter: 10 mm}
  crankpin: {pin: [crank, rod], at: 0 0 50 mm, axis: y, friction: 0.2, diameter: 10 mm}
  wrist: {pin: [rod, block], at: 193.649167 0 0 mm, axis: y, friction: 0.2, diameter: 10 mm}
  guide: {slider: [stand, block], at: 193.649167 0 0 mm, along: x, bearing: 60 mm, friction: 0.2}
motors: {drive: {joint: shaft, motor: {steady: {torque: 0.3 N*m}}}}
run: {for: 1 s}
"""
    spread = []
    for step in (4e-4, 1e-4):
        assembly, laws, track = run(text, engine, step, 0.4)
        found = joint_loads(recorded(assembly, track)).wrenches
        for grip in laws.grips:
            axis = assembly.joints[grip.joint].axis  # carried by the ground or square to the plane: it stays
            force = found.force[:, grip.joint]
            side = force - np.outer(force @ axis, axis)
            if not grip.law.length:
                most = 0.2 * 0.005 * np.linalg.norm(side, axis=1)
            else:
                twist = np.cross(axis, found.moment[:, grip.joint]) / 0.06
                ends = np.linalg.norm(side / 2 - twist, axis=1) + np.linalg.norm(side / 2 + twist, axis=1)
                most = 0.2 * ends
            wrong = np.abs(track.applied[:, FRICTION, grip.axis]) - most
            moving = np.abs(track.rate[:, grip.axis]) > 0.05 * np.abs(track.rate[:, grip.axis]).max()
            spread.append(float(np.sqrt(np.mean(wrong[moving] ** 2)) / most.max()))
    coarse, fine = spread[:4], spread[4:]
    assert max(fine) < 0.02
    assert all(c / f > 2.5 for c, f in zip(coarse, fine, strict=True))


def test_rod_in_a_bush_rubs_both_ways(engine: str) -> None:
    """A 2 kg rod of 20 mm in a level bush: slides against mu m g while its middle is inside, turns against mu m g r."""
    mu, weight = 0.3, 2 * GRAVITY
    text = """
bodies:
  stand: {{fixed: true}}
  rod: {{parts: [{{lump: 2 kg, at: 0 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}}]}}
joints:
  bush: {{cylindrical: [stand, rod], at: 0 0 0 mm, axis: x, bearing: 80 mm, diameter: 20 mm, friction: 0.3}}
springs:
  pull: {{extension: [stand, rod], from: 1000 0 0 m, to: 0 0 0 m, rate: 0.001 N/m, free_length: 1 m, preload: {pull} N}}
run: {{for: 1 s{start}}}
"""
    assembly, laws, track = run(text.format(pull=8 - 0.999, start=""), engine, 5e-4, 0.2)
    assert [(g.law.arm, g.law.length) for g in laws.grips] == [(1.0, 0.08), (0.01, 0.08)]
    assert track.acceleration[-100:, 1, 0].mean() == pytest.approx((8 - mu * weight) / 2, rel=1e-3)
    _, _, track = run(text.format(pull=5.5 - 0.999, start=""), engine, 5e-4, 0.3)
    assert abs(track.coordinate[-1, 0]) < 1e-6
    start = ", start_speeds: {bush: 20 rad/s}"
    assembly, _, track = run(text.format(pull=0.001, start=start), engine, 5e-4, 0.2)
    slowing = (track.rate[-1, 1] - track.rate[20, 1]) / (track.time[-1] - track.time[20])
    assert slowing == pytest.approx(-mu * weight * 0.01 / 0.01, rel=5e-3)
    assert (energy(recorded(assembly, track)).share or 0) < 0.01


def test_what_a_coefficient_needs(engine: str) -> None:
    text = "bodies: {a: {fixed: true}, b: {parts: [{lump: 1 kg, at: 0 0 1 m}]}}\nrun: {for: 1 s}\n"
    for joint, wanted in (
        ("{pin: [a, b], at: 0 0 0 m, axis: y, friction: steel on PVC}", "diameter"),
        ("{slider: [a, b], at: 0 0 0 m, along: x, friction: 0.3}", "bearing"),
    ):
        with pytest.raises(RigError, match=wanted):
            parse_rig("rig: 1\nname: t\n" + text + f"joints: {{j: {joint}}}")
