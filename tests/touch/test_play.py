"""Joints with play against equations of motion solved apart, and against statics."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.spatial.transform import Rotation

from simprop.loads.energy import energy
from simprop.loads.joints import joint_loads
from simprop.rig.load import parse_rig
from simprop.run.simulate import first_substeps, simulate
from tests.touch.helpers import GRAVITY, hits, recorded, run

pytestmark = pytest.mark.parametrize("engine", ["bullet", "mujoco", "exudyn"])

PENDULUM = """
bodies:
  post: {fixed: true}
  bob: {parts: [{lump: 1 kg, at: 200 0 0 mm, inertia: 0.004 0.004 0.004 kg*m^2}]}
joints:
  hook: {pin: [post, bob], at: 0 0 0 mm, axis: -y, clearance: 1 mm, diameter: 6 mm, stiffness: 20000 N/m, loss: 0.1}
run: {for: 0.5 s}
"""


def rattling(duration: float) -> tuple[object, np.ndarray, np.ndarray]:
    """The pendulum above as a free flat body that meets a ring; its motion, times and force on the ring."""
    stiffness, gap, mass, inertia, arm = 2e4, 0.5e-3, 1.0, 0.004, 0.2
    damping = (
        2 * 0.1 * np.sqrt(stiffness / (1 / mass + arm**2 / inertia))
    )  # the least mass that meets the ring

    def push(state: np.ndarray) -> tuple[float, float, float, float]:
        x, z, angle, speed_x, speed_z, rate = state
        off_x, off_z = -arm * np.cos(angle), -arm * np.sin(angle)
        out_x, out_z = x + off_x, z + off_z
        out = np.hypot(out_x, out_z)
        if out <= gap:
            return 0.0, 0.0, off_x, off_z
        closing = ((speed_x - rate * off_z) * out_x + (speed_z + rate * off_x) * out_z) / out
        force = max(0.0, stiffness * (out - gap) + damping * closing)
        return -force * out_x / out, -force * out_z / out, off_x, off_z

    def slope(_: float, state: np.ndarray) -> list[float]:
        force_x, force_z, off_x, off_z = push(state)
        turn = (off_x * force_z - off_z * force_x) / inertia
        return [*state[3:], force_x / mass, force_z / mass - GRAVITY, turn]

    start = [arm, 0.0, 0.0, 0.0, 0.0, 0.0]
    found = solve_ivp(slope, (0, duration), start, rtol=1e-9, atol=1e-11, max_step=5e-5, dense_output=True)
    time = np.arange(0, duration, 5e-5)
    return found.sol, time, np.array([np.hypot(*push(s)[:2]) for s in found.sol(time).T])


def test_pendulum_loose_on_its_pin(engine: str) -> None:
    """Motion to a micrometre, the same number of hits, and a peak that converges with the step."""
    exact, _, force = rattling(0.5)
    off = []
    for step in (4e-4, 1e-4):
        assembly, _, track = run(PENDULUM, engine, step, 0.5)
        ours = np.linalg.norm(track.touch_force[:, 0], axis=1)
        assert np.abs(track.position[:, 1][:, [0, 2]].T - exact(track.time)[:2]).max() < (
            5e-6 if engine == "exudyn" else 2e-6  # 3.8e-6 seen at the coarse step
        )
        assert hits(ours) == hits(force) == 3
        off.append(abs(float(ours.max() / force.max()) - 1))
        loads = joint_loads(recorded(assembly, track))
        assert loads.joints[0][0].value == pytest.approx(ours.max(), rel=1e-9)
        assert (energy(recorded(assembly, track)).share or 0) < 0.002
    # Sampling leaves out at most 1 - cos(w h / 2) of a smooth peak: 4e-4 at the coarse step.
    assert off[0] < 4e-4
    assert off[1] < 3e-5


def test_stiffness_from_the_materials_is_settled_like_any_peak(engine: str) -> None:
    """Steel pin in PVC: t / (1/E1 + 1/E2) = 15.2 N/um over 6 mm; the rattle's peak settles and the step starts fine."""
    text = """
rig: 1
name: t
bodies:
  post: {fixed: true, parts: [{block: 20 x 20 x 20 mm, of: steel, at: 0 0 0 mm}]}
  bob:
    parts:
      - {rod: 10 mm, of: PVC, from: 0 0 0 mm, to: 200 0 0 mm}
      - {lump: 1 kg, at: 200 0 0 mm}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: -y, clearance: 0.3 mm, diameter: 6 mm, friction: steel on PVC}}
run: {for: 0.02 s}
"""
    run = simulate(parse_rig(text), engine)
    recording, loads = run.recording, run.loads
    expected = 0.006 / (1 / 200e9 + 1 / (400000 * 6894.757))
    from simprop.engine.acting.actuation import actuate

    laws = actuate(recording.assembly)
    assert laws.touches[0].stiffness == pytest.approx(expected, rel=0.02)
    assert any("walls of" in note for note in laws.notes)
    assert recording.track.step <= 0.2 / np.sqrt(expected)
    assert first_substeps(recording.assembly, laws) > 40
    assert loads.joints[0][0].band is not None
    assert loads.joints[0][0].band.settled
    assert loads.joints[0][0].value > 1.05 * GRAVITY


@pytest.mark.parametrize("kind", ["slider: [stand, mast], along", "cylindrical: [stand, mast], axis"])
def test_loose_tee_cocks_by_statics(kind: str, engine: str) -> None:
    """A mast in a tee 1 mm too wide over 100 mm, pushed 300 mm above: N = F (H/b +- 1/2), tilt (c + N/k) / b."""
    text = """
bodies:
  stand: {fixed: true}
  mast: {parts: [{lump: 0.5 kg, at: 0 0 300 mm, inertia: 0.002 0.002 0.002 kg*m^2}]}
joints:
  tee:
    {KIND: z, at: 0 0 0 mm, bearing: 100 mm, clearance: 1 mm, stiffness: 20000 N/m, loss: 0.9}
run: {for: 2 s, gravity: 3 4 0 m/s^2}
""".replace("KIND", kind)
    assembly, _, track = run(text, engine, 1e-4, 3.0)
    side, height, length = 0.5 * 5.0, 0.3, 0.1
    ends = np.linalg.norm(track.touch_force[-10000:].mean(axis=0), axis=1)  # it still trembles by 1 %
    # The mast stands at the angle itself, which shortens its arm by 1.5e-4.
    assert sorted(ends) == pytest.approx(
        [side * (height / length - 0.5), side * (height / length + 0.5)], rel=3e-3
    )
    tilt = np.linalg.norm(Rotation.from_quat(track.rotation[-10000:, 1]).as_rotvec().mean(axis=0))
    assert tilt == pytest.approx((1e-3 + ends.sum() / 2e4) / length, rel=2e-3)
    wrench = joint_loads(recorded(assembly, track)).wrenches
    assert np.linalg.norm(wrench.force[-10000:, 0].mean(axis=0)) == pytest.approx(side, rel=2e-3)
    assert np.linalg.norm(wrench.moment[-10000:, 0].mean(axis=0)) == pytest.approx(side * height, rel=5e-3)
    assert wrench.unbalanced < 1e-3


def test_what_turns_in_a_loose_tee_is_braked_by_the_friction_circle(engine: str) -> None:
    """A shaft pressed into a bore rides up to the angle of friction, M = F r sin(atan mu): any text on statics."""
    text = """
bodies:
  stand: {fixed: true}
  mast: {parts: [{lump: 0.5 kg, at: 0 0 0 mm, inertia: 0.002 0.002 0.002 kg*m^2}]}
joints:
  tee:
    cylindrical: [stand, mast]
    at: 0 0 0 mm
    axis: z
    bearing: 100 mm
    diameter: 20 mm
    clearance: 0.4 mm
    friction: 0.3
    stiffness: 20000 N/m
    loss: 0.5
run: {for: 2 s, gravity: 3 4 0 m/s^2, start_speeds: {tee: 20 rad/s}}
"""
    _, _, track = run(text, engine, 2e-4, 2.0)
    late = track.time > 0.5
    slowing = np.polyfit(track.time[late], track.spin[late, 1, 2], 1)[0]
    assert -slowing == pytest.approx(0.5 * 5 * 0.010 * np.sin(np.arctan(0.3)) / 0.002, rel=0.02)


SLIDER_CRANK = """
bodies:
  stand: {fixed: true}
  crank: {parts: [{slender: 0.1 kg, from: 0 0 0 mm, to: 0 0 50 mm}]}
  rod: {parts: [{slender: 0.2 kg, from: 0 0 50 mm, to: 193.649167 0 0 mm}]}
  block: {parts: [{lump: 1 kg, at: 193.649167 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}]}
joints:
  shaft: {pin: [stand, crank], at: 0 0 0 mm, axis: y}
  crankpin:
    {pin: [crank, rod], at: 0 0 50 mm, axis: y, clearance: 0.5 mm, diameter: 10 mm, stiffness: 1e5 N/m, loss: 0.1}
  wrist: {pin: [rod, block], at: 193.649167 0 0 mm, axis: y}
  guide: {slider: [stand, block], at: 193.649167 0 0 mm, along: x, bearing: 60 mm}
run: {for: 0.5 s, start_speeds: {shaft: 30 rad/s}}
"""


def loose_crank(duration: float) -> np.ndarray:
    """Force in the loose crankpin of the rig above: crank and rod-with-block as two flat chains, solved apart.

    Coordinates: angle of the crank, angle of the rod, place of the block; Lagrange's equations by hand.
    """
    r, rod, mr, mb, k, gap = 0.05, 0.2, 0.2, 1.0, 1e5, 0.25e-3
    crank = 0.1 * r**2 / 3
    # The least mass that meets there, both bars taken as free: across the crank 4 / m, across and along the rod.
    damping = 2 * 0.1 * np.sqrt(k / (4 / 0.1 + (1 + 3 * (0.05 / rod) ** 2) / mr))

    def push(s: np.ndarray) -> tuple[float, float]:
        """On the rod, x and z."""
        a, b, x, da, db, dx = s
        # Crank from x towards -z about y, so its pin is at r (cos a, -sin a); the rod's end at (x - l cos b, l sin b).
        out = np.array([x - rod * np.cos(b) - r * np.cos(a), rod * np.sin(b) + r * np.sin(a)])
        speed = np.array(
            [dx + rod * np.sin(b) * db + r * np.sin(a) * da, rod * np.cos(b) * db + r * np.cos(a) * da]
        )
        far = float(np.hypot(*out))
        if far <= gap:
            return 0.0, 0.0
        force = max(0.0, k * (far - gap) + damping * float(speed @ out) / far)
        return -force * out[0] / far, -force * out[1] / far

    def slope(_: float, s: np.ndarray) -> list[float]:
        a, b, _, da, db, dx = s
        fx, fz = push(s)
        # Crank: weight at r/2 and the pin's counterforce (-fx, -fz) at (r cos a, -r sin a).
        torque = 0.1 * GRAVITY * (r / 2) * np.cos(a) + fx * r * np.sin(a) + fz * r * np.cos(a)
        # Rod and block: centre of the rod at (x - l/2 cos b, l/2 sin b).
        cross = mr * (rod / 2) * np.sin(b)
        mass = np.array([[mr + mb, cross], [cross, mr * rod**2 / 3]])
        right = np.array(
            [
                fx - mr * (rod / 2) * np.cos(b) * db**2,
                fx * rod * np.sin(b) + fz * rod * np.cos(b) - mr * GRAVITY * (rod / 2) * np.cos(b),
            ]
        )
        ddx, ddb = np.linalg.solve(mass, right)
        return [da, db, dx, torque / crank, ddb, ddx]

    b0 = np.arcsin(0.05 / rod)
    # At the start the crank points up (a = -90 deg) and turns about +y: its pin moves to +x at 1.5 m/s, as the block.
    start = [-np.pi / 2, b0, 0.193649167, 30.0, 0.0, 1.5]
    found = solve_ivp(slope, (0, duration), start, rtol=1e-9, atol=1e-11, max_step=2e-5, dense_output=True)
    return np.array([np.hypot(*push(s)) for s in found.sol(np.arange(0, duration, 1e-5)).T])


def test_slider_crank_with_a_loose_crankpin(engine: str) -> None:
    """Hits in the first tenth of a second and their peak; later the motion depends on the last digit of each hit."""
    force = loose_crank(0.1)
    for step, close in ((8e-5, 2e-3), (2e-5, 2e-4)):
        assembly, _, track = run(SLIDER_CRANK, engine, step, 0.1)
        ours = np.linalg.norm(track.touch_force[:, 0], axis=1)
        assert hits(ours) == hits(force)
        assert ours.max() == pytest.approx(force.max(), rel=close)
    assert assembly.mobility == 3
    assert joint_loads(recorded(assembly, track)).wrenches.unbalanced < 1e-4
