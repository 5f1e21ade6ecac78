"""Tipping, sliding and walking against hand calculations."""

import numpy as np
import pytest

from simprop.rig.load import parse_rig
from simprop.rules import stability
from simprop.run.simulate import simulate

G = 9.80665


def block(mass, base, height, acceleration=0.0, push=0.0, at=0.0):
    """Loads on a block on a truck that accelerates sideways, with a push at a height, and its outline."""
    weight, asked = np.array([[0.0, 0.0, -mass * G]]), np.array([[-mass * acceleration, 0.0, 0.0]])
    pushed = np.array([[push, 0.0, 0.0]])
    arms = (np.zeros((1, 3)), np.array([[0.0, 0.0, height / 2]]), np.array([[0.0, 0.0, at]]))
    corners = np.array([[-base / 2, -0.5], [base / 2, -0.5], [base / 2, 0.5], [-base / 2, 0.5]])
    loads = [(f, np.cross(arm, f)) for arm, f in zip(arms, (weight, asked, pushed), strict=True)]
    return loads, stability.edges(corners)


def test_block_tips_at_the_incline_equivalent_acceleration():
    """a = g b / h: as a block on an incline of slope b/h."""
    mass, base, height = 8.0, 0.3, 1.2
    for share in (0.99, 1.01):
        loads, outline = block(mass, base, height, share * G * base / height)
        righting, overturning = stability.tipping(loads, outline)
        assert float((overturning / righting).max()) == pytest.approx(share, rel=1e-9)


@pytest.mark.parametrize(
    ("mass", "base", "height", "push"), [(12.0, 0.6, 1.5, 23.53596), (9.5, 0.5, 1.7, 13.700467)]
)
def test_push_that_tips_a_prop(mass, base, height, push):
    """Statics, m g (b/2) / h."""
    loads, outline = block(mass, base, 1.0, push=push, at=height)
    righting, overturning = stability.tipping(loads, outline)
    assert float((overturning / righting).max()) == pytest.approx(1.0, rel=1e-4)


def test_centre_of_pressure_is_the_same_thing():
    """righting - overturning = R_z x distance of the centre of pressure inside the edge."""
    rng = np.random.default_rng(3)
    loads = [(rng.normal(0, 5, (50, 3)) - [0, 0, 40], rng.normal(0, 10, (50, 3))) for _ in range(3)]
    outline = stability.edges(np.array([[-0.3, -0.2], [0.3, -0.2], [0.3, 0.2], [-0.3, 0.2]]))
    righting, overturning = stability.tipping(loads, outline)
    assert (righting >= 0).all()
    assert (overturning >= 0).all()
    force, moment = (-sum(load[k] for load in loads) for k in (0, 1))
    pressure = np.stack([-moment[:, 1], moment[:, 0]], axis=1) / force[:, 2:]
    for e in range(4):
        inside = (outline[0][e] - pressure) @ outline[1][e]
        assert righting[:, e] - overturning[:, e] == pytest.approx(force[:, 2] * inside)


TURNING = """
rig: 1
name: an arm that turns steadily on a stand
bodies:
  stand:
    fixed: true
    parts: [{block: 600 x 600 x 20 mm, of: pine, mass: 12 kg, at: 0 0 10 mm}]
  arm: {parts: [{lump: 1.6 kg, at: START, inertia: [0.01 kg*m^2, 0.01 kg*m^2, 0.01 kg*m^2]}]}
joints: {shaft: {pin: [stand, arm], at: 0 0 900 mm, axis: y}}
motors: {turn: {joint: shaft, motor: {synchronous: {speed: 60 rpm, pull_out_torque: 1000 N*m, run_up: 0 s}}}}
stand: {base: 600 x 600 mm}
run: {for: 2 s, start_speeds: {shaft: 60 rpm}}
"""


def test_tipping_of_an_arm_that_turns_steadily_is_the_same_from_any_start_pose():
    """In closed form, the arm at (r cos a, h - r sin a): weight and centrifugal force m w^2 r about each edge."""
    margins = []
    for start in ("500 0 900 mm", "0 0 400 mm", "-500 0 900 mm"):
        checks = simulate(parse_rig(TURNING.replace("START", start)), settle=False).strength.checks
        margins.append(next(c.margin for c in checks if c.name == "tipping"))
    m, r, h, half, spin = 1.6, 0.5, 0.9, 0.3, 2 * np.pi
    a = np.linspace(0, 2 * np.pi, 3601)
    x, z = r * np.cos(a), h - r * np.sin(a)
    worst = np.inf
    for side in (1.0, -1.0):
        arm = m * G * (half - side * x)
        spun = m * spin**2 * (side * x * z - (z - h) * (side * x - half))
        tips = np.maximum(-arm, 0) + np.maximum(spun, 0)
        holds = 12 * G * half + np.maximum(arm, 0) + np.maximum(-spun, 0)
        worst = min(worst, float((holds / np.maximum(tips, 1e-9)).min()) / 1.5)
    assert margins == pytest.approx([worst] * 3, rel=5e-3)


GUST = """
rig: 1
name: a board in the wind on which nothing moves
bodies:
  stand: {fixed: true, parts: [{block: 600 x 600 x 18 mm, of: plywood, at: 0 0 9 mm, mass: 6 kg}]}
  flag: {parts: [{lump: 6 kg, at: 0 0 1000 mm}]}
joints: {j: {fixed: [stand, flag], at: 0 0 1000 mm}}
wind: {speed: SPEED, area: 0.8 m^2, drag: 1.3, at: 0 0 1200 mm}
stand: {base: 600 x 600 mm, friction: 0.5}
run: {for: TIME}
"""


@pytest.mark.parametrize("time", ["0.5 s", "2 s"])
def test_wind_that_pushes_a_still_prop_along_is_no_walking(time):
    """Drag 63.7 N at 10 m/s, friction 0.5 x 12 kg x g = 58.8 N; 40.8 N at 8 m/s."""
    rig = GUST.replace("TIME", time)
    hard = simulate(parse_rig(rig.replace("SPEED", "10 m/s")), settle=False).strength.checks
    words = [c.reason for c in hard if c.verdict == "warning" and c.group == "stability"]
    assert words == [
        "the wind alone pushes it along with 64 N, and friction holds 59 N: it slides for as long as it blows"
    ]
    light = simulate(parse_rig(rig.replace("SPEED", "8 m/s")), settle=False).strength.checks
    assert not [c for c in light if c.verdict == "warning" and c.group == "stability"]


def test_triangle_has_three_edges_with_outward_normals():
    points, normals = stability.edges(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.2, 0.2]]))
    assert len(normals) == 3
    middle = np.array([1 / 3, 1 / 3])
    assert (np.einsum("ei,ei->e", normals, points - middle) > 0).all()
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0)


def test_wind():
    """Drag equation: 0.20 m^2, Cd 1.0, 8 m/s: 7.84 N."""
    assert stability.wind_force(8.0, 0.2) == pytest.approx(7.84, rel=1e-4)


def test_slide_limit_and_lift_off():
    use = stability.slide_use(np.array([[30.0, 40.0, 100.0], [0.0, 1.0, -2.0], [0.0, 0.0, 0.0]]), 0.5)
    assert use.tolist() == [1.0, np.inf, 0.0]


def test_sliding_block_comes_to_rest_after_a_push():
    """A pulse of twice the friction for time T: it slides mu g T^2 (v = mu g T, then brakes as long again)."""
    mass, mu, step, pulse = 10.0, 0.3, 1e-4, 0.5
    n = int(2 * pulse / step)
    need = np.zeros((n, 3))
    need[:, 2] = mass * G
    need[: n // 2, 0] = -2 * mu * mass * G
    assert stability.walk(need, mu, mass, step) == pytest.approx(mu * G * pulse**2, rel=2e-3)
    need[:, 0] *= 0.49
    assert stability.walk(need, mu, mass, step) == 0.0


def test_ballast_and_stakes_make_up_for_a_lacking_moment():
    assert stability.ballast(98.0665, 0.5, G) == pytest.approx(20.0)
    assert stability.ballast(-5.0, 0.5, G) == 0.0
    assert 2 * 0.5 * stability.stake_pull(100.0, 0.5, 2) == pytest.approx(100.0)
