"""The PyBullet engine against equations of motion integrated by scipy: loops, springs, friction, balls, gears."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from bullet_rigs import (
    COUPLER,
    CRANK,
    CRANK_ANGLE,
    GROUND,
    ROCKER,
    axis_of,
    four_bar,
    point,
    run,
    slider_crank,
)
from scipy.integrate import solve_ivp
from scipy.spatial.transform import Rotation

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly, Branch, Closure
from simprop.engine.world import APPLIED
from simprop.rig.load import parse_rig

pytest.importorskip("pybullet")

SPRING, FRICTION = APPLIED.index("spring"), APPLIED.index("friction")
PINS = ("O2", "A", "B", "O4")


# The four-bar as one degree of freedom: d/dt (I w^2 / 2) = (torque - dV/dphi - losses) w.


def closed_form(phi: float) -> tuple[np.ndarray, np.ndarray]:
    """Angles of crank, coupler, rocker and their rates for a crank rate of 1."""
    end = CRANK * np.array([np.cos(phi), np.sin(phi)])
    across = np.array([GROUND, 0.0]) - end
    length = np.hypot(*across)
    corner = np.arccos((COUPLER**2 + length**2 - ROCKER**2) / (2 * COUPLER * length))
    coupler = np.arctan2(across[1], across[0]) + corner
    tip = end + COUPLER * np.array([np.cos(coupler), np.sin(coupler)])
    rocker = np.arctan2(tip[1], tip[0] - GROUND)
    matrix = np.array(
        [
            [COUPLER * -np.sin(coupler), ROCKER * np.sin(rocker)],
            [COUPLER * np.cos(coupler), ROCKER * -np.cos(rocker)],
        ]
    )
    rates = np.linalg.solve(matrix, [CRANK * np.sin(phi), -CRANK * np.cos(phi)])
    return np.array([phi, coupler, rocker]), np.array([1.0, *rates])


def inertia_and_weight(phi: float) -> tuple[float, float]:
    """Inertia seen at the crank and slope of the potential energy."""
    (_, coupler, rocker), (_, w3, w4) = closed_form(phi)
    vx = -CRANK * np.sin(phi) - COUPLER / 2 * w3 * np.sin(coupler)
    vy = CRANK * np.cos(phi) + COUPLER / 2 * w3 * np.cos(coupler)
    inertia = (
        0.04 * CRANK**2 / 3 + 0.12 * (vx**2 + vy**2 + COUPLER**2 / 12 * w3**2) + 0.08 * ROCKER**2 / 3 * w4**2
    )
    weight = 9.81 * (0.04 * CRANK / 2 * np.cos(phi) + 0.12 * vy + 0.08 * ROCKER / 2 * w4 * np.cos(rocker))
    return inertia, weight


def four_bar_motion(torque: float, friction: Sequence[float], rates: Sequence[float], duration: float):
    start, _ = closed_form(CRANK_ANGLE)

    def slope(_: float, state: np.ndarray) -> list[float]:
        phi, w = state
        inertia, weight = inertia_and_weight(phi)
        gain = (inertia_and_weight(phi + 1e-5)[0] - inertia_and_weight(phi - 1e-5)[0]) / 2e-5
        angles, (_, w3, w4) = closed_form(phi)
        turned = angles - start
        pins = np.array([turned[0], turned[1] - turned[0], turned[2] - turned[1], turned[2]])
        each = np.array([1.0, w3 - 1.0, w4 - w3, w4])
        load = torque - weight - np.sign(w) * np.dot(friction, np.abs(each)) - np.dot(rates, pins * each)
        return [w, (load - 0.5 * gain * w * w) / inertia]

    return solve_ivp(slope, (0, duration), [CRANK_ANGLE, 1e-9], rtol=1e-9, atol=1e-10, dense_output=True).sol


def four_bar_error(prop: str, exact, step: float, duration: float) -> float:
    assembly, _, track = run(prop, step, duration)
    angle = CRANK_ANGLE + track.coordinate[:, axis_of(assembly, "O2")]
    return float(np.degrees(np.abs(angle - exact(track.time)[0]).max()))


def test_reference_motion_is_the_published_one() -> None:
    # Angles of the published run (see test_bullet_reference).
    exact = four_bar_motion(0.05, np.zeros(4), np.zeros(4), 0.2)
    assert np.degrees(exact([0.1, 0.2])[0]) == pytest.approx([62.31540198, 139.88898887], abs=1e-6)


def test_dry_friction_on_every_pin_the_closing_one_too() -> None:
    friction = (0.001, 0.002, 0.003, 0.004)
    exact = four_bar_motion(0.06, friction, np.zeros(4), 0.2)
    prop = four_bar(torque=0.06, friction=dict(zip(PINS, friction, strict=True)))
    coarse, fine = (four_bar_error(prop, exact, h, 0.2) for h in (1e-3, 2.5e-4))
    assert coarse < 0.02
    assert fine < 0.12 * coarse


def test_four_bar_held_by_friction_alone_stays() -> None:
    """No pin can hold it alone: 0.036 N*m of weight at the crank, 0.023 at most from one pin, 0.058 from all."""
    prop = four_bar(torque=0.0, friction=dict.fromkeys(PINS, 0.02))
    assembly, _, track = run(prop, 1e-3, 1.0)
    assert assembly.closures
    assert np.abs(np.degrees(track.coordinate)).max() < 1e-6
    assert np.abs(track.applied[-1, FRICTION]).max() <= 0.02 * (1 + 1e-9)


@pytest.mark.parametrize("about", [(0.0, 0.0, 0.0), (0.3, 0.5, -0.4)])
def test_torsion_springs_on_every_pin(about: tuple[float, float, float]) -> None:
    rates = (0.02, 0.03, 0.05, 0.04)
    coils = ", ".join(f"s{p}: {{torsion: {p}, rate: {k} N*m/rad}}" for p, k in zip(PINS, rates, strict=True))
    exact = four_bar_motion(0.05, np.zeros(4), rates, 0.3)
    prop = four_bar(Rotation.from_rotvec(about), extra=f"springs: {{{coils}}}")
    assert four_bar_error(prop, exact, 1e-3, 0.3) < 2e-3


HANGER = """
rig: 1
name: Two masses on a spring
bodies:
  post: {fixed: true}
  upper: {parts: [{lump: 0.25 kg, at: 0 0 0 mm, inertia: [1e-4 kg*m^2, 1e-4 kg*m^2, 1e-4 kg*m^2]}]}
  lower: {parts: [{lump: 0.5 kg, at: 0 0 -200 mm, inertia: [1e-4 kg*m^2, 1e-4 kg*m^2, 1e-4 kg*m^2]}]}
springs:
  coil: {two_way: [upper, lower], from: 0 0 0 mm, to: 0 0 -200 mm, rate: 100 N/m, free_length: 150 mm,
    damping: 1 N*s/m}
run: {for: 1 s}
"""


def test_spring_between_two_falling_bodies() -> None:
    """Their middle falls freely, their distance is that of a damped oscillator of the reduced mass."""
    assembly, _, track = run(HANGER, 1e-3, 0.6)
    up, low = track.position[:, 1], track.position[:, 2]
    fall = -0.4 / 3 - 0.5 * 9.80665 * track.time**2
    assert np.abs((0.25 * up + 0.5 * low)[:, 2] / 0.75 - fall).max() < 5e-6
    reduced = 0.25 * 0.5 / 0.75
    decay = 1.0 / (2 * reduced)
    ring = np.sqrt(100.0 / reduced - decay**2)
    t = track.time
    exact = 0.15 + 0.05 * np.exp(-decay * t) * (np.cos(ring * t) + decay / ring * np.sin(ring * t))
    length = np.linalg.norm(up - low, axis=1)
    assert np.abs(length - exact).max() < 2e-5
    assert np.allclose(np.linalg.norm(track.line_end - track.line_start, axis=2)[:, 0], length, atol=1e-12)
    # Each row's force belongs to the row's pose and accelerates the masses as recorded.
    assert np.allclose(0.25 * (track.acceleration[:, 1, 2] + 9.80665), -track.line_force[:, 0], atol=1e-8)
    assert assembly.axes == ()


def turning_body(inertia: np.ndarray, weight, spin: Sequence[float], duration: float):
    """Orientation and body spin of a rigid body about a fixed point, moment `weight(q)` in body axes."""

    def slope(_: float, y: np.ndarray) -> np.ndarray:
        x, yy, z, w = y[:4]
        s = y[4:]
        rate = 0.5 * np.array(
            [
                w * s[0] + yy * s[2] - z * s[1],
                w * s[1] + z * s[0] - x * s[2],
                w * s[2] + x * s[1] - yy * s[0],
                -(x * s[0] + yy * s[1] + z * s[2]),
            ]
        )
        return np.concatenate([rate, np.linalg.solve(inertia, weight(y[:4]) - np.cross(s, inertia @ s))])

    return solve_ivp(slope, (0, duration), [0, 0, 0, 1, *spin], rtol=1e-11, atol=1e-12, dense_output=True).sol


def rotation_error(found: np.ndarray, exact: np.ndarray) -> float:
    return float((Rotation.from_quat(found) * Rotation.from_quat(exact).inv()).magnitude().max())


def test_thrown_body_falls_and_tumbles() -> None:
    stone = assemble(
        parse_rig("""
rig: 1
name: Stone
bodies: {stone: {parts: [{lump: 2 kg, at: 0 0 1 m, inertia: [0.01 kg*m^2, 0.02 kg*m^2, 0.025 kg*m^2]}]}}
run: {for: 1 s}
""")
    )
    spin = np.array([5.0, 0.3, 4.0])
    stone = replace(stone, velocity=np.array([[1.0, 2.0, 3.0]]), spin=spin[None])
    _, _, track = run(stone, 1e-3, 1.0)
    exact = turning_body(np.diag([0.01, 0.02, 0.025]), lambda q: np.zeros(3), spin, 1.0)(track.time).T
    assert rotation_error(track.rotation[:, 0], exact[:, :4]) < 1e-4
    assert np.abs(track.spin[:, 0] - Rotation.from_quat(exact[:, :4]).apply(exact[:, 4:])).max() < 1e-4
    t = track.time[:, None]
    path = np.array([0, 0, 1]) + t * [1, 2, 3] + 0.5 * t**2 * [0, 0, -9.80665]
    assert np.abs(track.position[:, 0] - path).max() < 5e-6
    assert np.allclose(track.acceleration[:, 0], [0, 0, -9.80665], atol=1e-7)


BALL = """
rig: 1
name: Spherical pendulum
bodies:
  post: {fixed: true}
  bob: {parts: [{slender: 0.5 kg, from: 0 0 0 mm, to: 300 0 -200 mm}, {lump: 0.3 kg, at: 300 50 -200 mm}]}
joints: {hook: {ball: [%s], at: 0 0 0 mm}}
run: {for: 1 s}
"""


@pytest.mark.parametrize("pair", ["post, bob", "bob, post"])
def test_spherical_pendulum(pair: str) -> None:
    assembly = assemble(parse_rig(BALL % pair))
    bob, spin = assembly.bodies[1], np.array([0.5, -2.0, 3.0])
    assembly = replace(
        assembly, velocity=np.array([[0, 0, 0], np.cross(spin, bob.com)]), spin=np.array([[0, 0, 0], spin])
    )
    about = bob.inertia + bob.mass * (bob.com @ bob.com * np.eye(3) - np.outer(bob.com, bob.com))

    def weight(q: np.ndarray) -> np.ndarray:
        return np.cross(bob.com, bob.mass * Rotation.from_quat(q).apply([0, 0, -9.80665], inverse=True))

    exact = turning_body(about, weight, spin, 1.0)
    errors = []
    for step in (2e-3, 1e-3):
        _, _, track = run(assembly, step, 1.0)
        errors.append(rotation_error(track.rotation[:, 1], exact(track.time)[:4].T))
        assert np.abs(np.linalg.norm(track.position[:, 1], axis=1) - np.linalg.norm(bob.com)).max() < 1e-12
    assert errors[1] < 2e-3
    assert errors[0] / errors[1] > 3.5


LEG = """
rig: 1
name: Leg with a motor on its upper part
bodies:
  stand: {{fixed: true}}
  upper: {{parts: [{{slender: 0.4 kg, from: 0 0 0 mm, to: 300 0 0 mm}}]}}
  lower: {{parts: [{{slender: 0.2 kg, from: 300 0 0 mm, to: 500 0 0 mm}}]}}
joints:
  hip: {{pin: [stand, upper], at: 0 0 0 mm, axis: -y}}
  knee: {{pin: [upper, lower], at: 300 0 0 mm, axis: -y}}
motors:
  drive:
    joint: knee
    supply: 12 V
    motor: {{dc: {{rated_voltage: 12 V, no_load_speed: 60 rpm, stall_torque: 2 N*m, no_load_current: 0 A,
      stall_current: 4 A, rotor_inertia: {rotor} kg*m^2, gear_ratio: {ratio}}}}}
run: {{for: 1 s, gravity: 9.81 m/s^2}}
"""


@pytest.mark.parametrize(("ratio", "rotor"), [(1.0, 2e-3), (50.0, 2e-5)])
def test_rotor_on_a_moving_parent(ratio: float, rotor: float) -> None:
    """Lagrange's equations with the rotor's energy J (a' + N b')^2 / 2, cross term included."""
    m1, l1, m2, c, g = 0.4, 0.3, 0.2, 0.1, 9.81

    def slope(_: float, y: np.ndarray) -> list[float]:
        a, b, da, db = y
        across = m2 * l1 * c * np.cos(b)
        m22 = m2 * c * c + m2 * 0.2**2 / 12
        matrix = [
            [m1 * l1 * l1 / 3 + m2 * l1 * l1 + m22 + 2 * across + rotor, m22 + across + rotor * ratio],
            [m22 + across + rotor * ratio, m22 + rotor * ratio**2],
        ]
        swing = m2 * l1 * c * np.sin(b)
        low = m2 * c * g * np.cos(a + b)
        torque = 0.5 * (12.0 - 12.0 / (2 * np.pi) * db) / 3.0
        right = [
            swing * (2 * da * db + db * db) - (m1 * l1 / 2 + m2 * l1) * g * np.cos(a) - low,
            torque - swing * da * da - low,
        ]
        return [da, db, *np.linalg.solve(matrix, right)]

    exact = solve_ivp(slope, (0, 1), [0, 0, 0, 0], rtol=1e-10, atol=1e-11, dense_output=True).sol
    _, _, track = run(LEG.format(ratio=ratio, rotor=rotor), 1e-3, 1.0)
    # Without the rotor's inertia the motion is off by more than 4 deg, without its cross term by more than 0.3 deg.
    assert np.degrees(np.abs(track.coordinate - exact(track.time)[:2].T)).max() < 0.01


SPATIAL = """
rig: 1
name: Crank, rod with ball ends, rocker on a square axis
bodies:
  stand: {fixed: true}
  crank: {parts: [{slender: 0.1 kg, from: 0 0 0 mm, to: 50 0 0 mm}]}
  rod: {parts: [{bar: 10 x 5 mm, of: aluminium, from: 50 0 0 mm, to: 100 150 100 mm}]}
  rocker: {parts: [{slender: 0.2 kg, from: 100 150 100 mm, to: 100 150 -20 mm}, {lump: 0.1 kg, at: 100 180 60 mm}]}
joints:
  shaft: {pin: [stand, crank], at: 0 0 0 mm, axis: y}
  near: {ball: [crank, rod], at: 50 0 0 mm}
  far: {ball: [rod, rocker], at: 100 150 100 mm}
  hinge: {pin: [stand, rocker], at: 100 150 -20 mm, axis: x}
motors: {drive: {joint: shaft, motor: {steady: {torque: 0.02 N*m}}}}
run: {for: 1 s}
"""


def closed_at_the_hinge(assembly: Assembly) -> Assembly:
    """The same mechanism with its loop closed at a pin that must hold two moments."""
    joint = {j.name: i for i, j in enumerate(assembly.joints)}
    body = {b.name: i for i, b in enumerate(assembly.bodies)}
    tree = (
        Branch(body["crank"], -1, joint["shaft"], True),
        Branch(body["rod"], body["crank"], joint["near"], True),
        Branch(body["rocker"], body["rod"], joint["far"], True),
    )
    rows = np.eye(6)[[0, 1, 2, 4, 5]]
    return replace(assembly, tree=tree, closures=(Closure(joint["hinge"], rows, np.zeros((0, 6))),))


def test_spatial_loop_is_the_same_wherever_it_is_closed() -> None:
    here = assemble(parse_rig(SPATIAL))
    there = closed_at_the_hinge(here)
    ends = []
    for assembly in (here, there):
        for step in (1e-3, 5e-4):
            _, _, track = run(assembly, step, 0.4)
            ends.append([np.interp(0.39, track.time, track.coordinate[:, a]) for a in range(2)])
    best = (4 * np.array(ends[1]) - np.array(ends[0])) / 3
    assert np.abs(np.array(ends) - best).max() < 0.02
    assert np.abs(np.array(ends[1::2]) - best).max() < 0.006


def test_loop_closed_by_a_slide() -> None:
    """The slider-crank at 1200 rpm with its guide as the closing joint: it must hold a force and a moment."""
    assembly = assemble(parse_rig(slider_crank()))
    joint = {j.name: i for i, j in enumerate(assembly.joints)}
    tree = tuple(
        Branch(k + 1, (-1, 1, 2)[k], joint[name], True)
        for k, name in enumerate(("shaft", "crankpin", "wrist"))
    )
    rows = np.eye(6)[[2, 4]]
    assembly = replace(assembly, tree=tree, closures=(Closure(joint["guide"], rows, np.eye(6)[[1, 3, 5]]),))
    _, _, track = run(assembly, 1e-4, 0.02)
    angle = np.degrees(track.coordinate[:, axis_of(assembly, "shaft")])
    torque = track.applied[:, APPLIED.index("motor"), axis_of(assembly, "shaft")]
    # Norton, Design of Machinery, ch. 11 (numbers recomputed).
    assert np.interp([30, 60, 90], angle, torque) == pytest.approx(
        [8.650010964, 5.357421777, -3.567649258], rel=2e-3
    )
    assert np.abs(track.rotation[:, 3, :3]).max() < 1e-4
    slid = track.coordinate[:, axis_of(assembly, "guide", "slide")]
    exact = 0.05 * np.cos(np.radians(angle)) + np.sqrt(0.04 - (0.05 * np.sin(np.radians(angle))) ** 2) - 0.25
    assert np.abs(slid - exact).max() < 2e-5


def test_mechanical_energy_is_kept_in_a_spatial_loop() -> None:
    assembly, _, track = run(SPATIAL.replace("0.02 N*m", "0 N*m"), 5e-4, 1.0)
    energy = np.zeros(len(track.time))
    for i, body in enumerate(assembly.bodies):
        if not body.fixed:
            inside = Rotation.from_quat(track.rotation[:, i]).apply(track.spin[:, i], inverse=True)
            energy += 0.5 * body.mass * np.sum(track.velocity[:, i] ** 2, axis=1)
            energy += 0.5 * np.sum(inside * (inside @ body.inertia), axis=1)
            energy += 9.80665 * body.mass * track.position[:, i, 2]
    kinetic = energy - sum(
        9.80665 * b.mass * track.position[:, i, 2] for i, b in enumerate(assembly.bodies) if not b.fixed
    )
    assert np.abs(energy - energy[0]).max() < 1e-3 * kinetic.max()


def test_two_loops_on_one_crank() -> None:
    """A parallel linkage on either side of a crank: both rockers turn as the crank does."""
    bars = ""
    joints = ""
    for side, x in (("left", -200), ("right", 200)):
        bars += f"  rod_{side}: {{parts: [{{slender: 50 g, from: 0 0 60 mm, to: {x} 0 60 mm}}]}}\n"
        bars += f"  rocker_{side}: {{parts: [{{slender: 80 g, from: {x} 0 0 mm, to: {x} 0 60 mm}}]}}\n"
        joints += f"  a_{side}: {{pin: [crank, rod_{side}], at: 0 20 60 mm, axis: y}}\n"
        joints += f"  b_{side}: {{pin: [rod_{side}, rocker_{side}], at: {x} -10 60 mm, axis: y}}\n"
        joints += f"  c_{side}: {{pin: [stand, rocker_{side}], at: {x} 0 0 mm, axis: y}}\n"
    prop = f"""
rig: 1
name: Two rockers
bodies:
  stand: {{fixed: true}}
  crank: {{parts: [{{slender: 50 g, from: 0 0 0 mm, to: 0 0 60 mm}}]}}
{bars}
joints:
  shaft: {{pin: [stand, crank], at: 0 0 0 mm, axis: y}}
{joints}
motors: {{drive: {{joint: shaft, motor: {{synchronous: {{speed: 20 rpm, pull_out_torque: 2 N*m, run_up: 0 s}}}}}}}}
run: {{for: 4 s}}
"""
    assembly, _, track = run(prop, 1e-3, 4.0)
    assert len(assembly.closures) == 2
    crank = track.coordinate[:, axis_of(assembly, "shaft")]
    assert crank[-1] == pytest.approx(20 * np.pi / 30 * (4.0 - 1e-3), abs=1e-6)
    for side in ("left", "right"):
        # It passes its dead points, where a loop can hardly be held, twice a turn.
        assert np.abs(track.coordinate[:, axis_of(assembly, f"c_{side}")] - crank).max() < 1e-3
    assert np.abs(track.position[:, :, 1]).max() < 1e-6


def test_order_of_bodies_and_joints_does_not_matter() -> None:
    lines = SPATIAL.splitlines()
    first, last = lines.index("joints:") + 1, lines.index("joints:") + 5
    swapped = "\n".join([*lines[:first], *reversed(lines[first:last]), *lines[last:]])
    ends = []
    for prop in (SPATIAL, swapped):
        assembly, _, track = run(prop, 5e-4, 0.3)
        ends.append([track.coordinate[-1, axis_of(assembly, name)] for name in ("shaft", "hinge")])
    assert ends[0] == pytest.approx(ends[1], abs=1e-6)


def test_where_a_point_is_written_does_not_matter() -> None:
    """A pin written from the moved body to the fixed one counts the other way round, and so does its friction."""
    prop = f"""
rig: 1
name: Pendulum
bodies:
  post: {{fixed: true}}
  bob: {{parts: [{{slender: 1 kg, from: 0 0 0 mm, to: {point([0.3, 0, 0])}}}]}}
joints: {{hook: {{pin: [PAIR], at: 0 0 0 mm, axis: y, friction: 0.1 N*m, viscous: 0.05 N*m*s/rad}}}}
run: {{for: 1 s}}
"""
    _, _, one = run(prop.replace("PAIR", "post, bob"), 1e-3, 0.5)
    _, _, two = run(prop.replace("PAIR", "bob, post"), 1e-3, 0.5)
    assert np.allclose(one.coordinate, -two.coordinate, atol=1e-12)
    assert np.allclose(one.applied, -two.applied, atol=1e-12)
    assert np.allclose(one.position, two.position, atol=1e-12)
