"""The direct solution of one step against PyBullet's own inverse dynamics and against its definition."""

from __future__ import annotations

import numpy as np
import pytest
from bullet_rigs import four_bar

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.engine.bullet.direct import Direct
from simprop.engine.bullet.engine import World
from simprop.engine.bullet.holds import Hold, rate_indices
from simprop.engine.bullet.links import chain, gaps, ties
from simprop.rig.load import parse_rig

pybullet = pytest.importorskip("pybullet")

ARM = """
rig: 1
name: Arm of three square joints
bodies:
  post: {fixed: true}
  shoulder: {parts: [{slender: 0.4 kg, from: 0 0 0 mm, to: 100 0 0 mm}, {lump: 0.1 kg, at: 50 30 10 mm}]}
  slide: {parts: [{slender: 0.3 kg, from: 100 0 0 mm, to: 200 0 50 mm}]}
  hand: {parts: [{slender: 0.2 kg, from: 200 0 50 mm, to: 250 80 50 mm}, {lump: 0.05 kg, at: 260 0 90 mm}]}
joints:
  one: {pin: [post, shoulder], at: 0 0 0 mm, axis: z}
  two: {slider: [shoulder, slide], at: 100 0 0 mm, along: 0.6 0 0.8}
  three: {pin: [slide, hand], at: 200 0 50 mm, axis: 0 0.6 0.8}
run: {for: 1 s}
"""
NO_BALLS = np.zeros((0, 4))


def solver(world: World, **more) -> Direct:
    options = {"tied": (), "gears": (), "holds": (), "pushes": (), "twists": ()} | more
    weights = [(m.mass, m.centre, m.tensor()) for m in world.inertials]
    return Direct(world.links, weights, world.assembly.rig.run.gravity, step=1e-3, correction=0.8, **options)


@pytest.fixture
def arm():
    assembly = assemble(parse_rig(ARM))
    world = World(pybullet, assembly, actuate(assembly), 1e-3)
    yield world
    world.close()


def inverse_dynamics(world: World, q, v, a) -> np.ndarray:
    return np.array(
        pybullet.calculateInverseDynamics(world.prop, list(q), list(v), list(a), physicsClientId=world.client)
    )


def test_centrifugal_loads_are_moved_to_the_middle_of_the_step(arm: World) -> None:
    q, v, before = np.array([0.3, 0.02, 0.7]), np.array([3.0, -0.4, -2.0]), np.array([2.5, -0.1, -1.0])
    lag = solver(arm).loads(q, NO_BALLS, v, before, np.zeros(3))
    middle, still = 1.5 * v - 0.5 * before, np.zeros(3)
    assert lag == pytest.approx(
        inverse_dynamics(arm, q, v, still) - inverse_dynamics(arm, q, middle, still), abs=1e-12
    )


def test_held_speeds_take_the_load_that_inverse_dynamics_asks(arm: World) -> None:
    q, v, aim = np.array([0.3, 0.02, 0.7]), np.array([3.0, -0.4, -2.0]), np.array([2.9, -0.35, -2.2])
    direct = solver(arm, holds=[Hold(k, -1, -1, np.zeros(3)) for k in range(3)])
    direct.target[:], direct.limit[:] = aim, np.inf
    direct.loads(q, NO_BALLS, v, v, np.zeros(3))
    assert direct.held == pytest.approx(inverse_dynamics(arm, q, v, (aim - v) / 1e-3), rel=1e-9)


def test_limits_hold_and_the_rest_gives_way(arm: World) -> None:
    q, v = np.array([0.3, 0.02, 0.7]), np.zeros(3)
    direct = solver(arm, holds=[Hold(k, -1, -1, np.zeros(3)) for k in range(3)])
    direct.limit[:] = [0.5, 2.0, 0.05]
    loads = direct.loads(q, NO_BALLS, v, v, np.array([3.0, 0.0, 0.0]))
    assert np.all(np.abs(direct.held) <= direct.limit * (1 + 1e-12))
    # Forward dynamics by hand: mass matrix from inverse dynamics with unit accelerations.
    weight = inverse_dynamics(arm, q, v, np.zeros(3))
    mass = np.array([inverse_dynamics(arm, q, v, unit) - weight for unit in np.eye(3)]).T
    gained = np.linalg.solve(mass, loads - weight)
    for k in range(3):
        if abs(direct.held[k]) < direct.limit[k] * (1 - 1e-9):
            assert abs(gained[k]) < 1e-6
        else:
            assert gained[k] * direct.held[k] < 0.0


def test_forces_on_links_count_as_their_joint_loads(arm: World) -> None:
    """Virtual work: the load on a rate is the force times the speed of its point for that rate."""
    q, v = np.array([0.3, 0.02, 0.7]), np.zeros(3)
    hand = arm.of_body[3]
    direct = solver(arm, pushes=[hand], twists=[hand])
    force, moment = np.array([1.0, -2.0, 0.5]), np.array([0.1, 0.2, -0.3])
    place = np.array([0.2, 0.1, 0.05])
    direct.push[0, :3], direct.push[0, 3:], direct.twist[0] = place, force, moment
    loads = direct.loads(q, NO_BALLS, v, v, np.zeros(3))
    spin = np.array([0.0, 0.0, 1.0])
    assert loads[0] == pytest.approx(np.cross(spin, place) @ force + spin @ moment)
    turned = np.array([[np.cos(0.3), -np.sin(0.3), 0], [np.sin(0.3), np.cos(0.3), 0], [0, 0, 1]])
    assert loads[1] == pytest.approx(turned @ [0.6, 0, 0.8] @ force)


def test_ties_stop_a_loop_from_opening() -> None:
    assembly = assemble(parse_rig(four_bar()))
    world = World(pybullet, assembly, actuate(assembly), 1e-3)
    tied = ties(assembly, world.links)
    direct = solver(world, tied=tied)
    start = np.zeros(3)
    loads = direct.loads(start, NO_BALLS, start, start, np.array([0.05, 0.0, 0.0]))
    weight = inverse_dynamics(world, start, start, start)
    mass = np.array([inverse_dynamics(world, start, start, unit) - weight for unit in np.eye(3)]).T
    rates = 1e-3 * np.linalg.solve(mass, loads - weight)
    assert abs(rates[0]) > 0.01
    opening = gaps(world.links, tied, 1e-4 * rates[None], {}) / 1e-4
    assert np.abs(opening).max() < 1e-6 * abs(rates[0])
    world.close()


def test_rates_are_numbered_in_depth_first_order() -> None:
    links = chain(assemble(parse_rig(four_bar())))
    assert [k.parent for k in links] == [-1, 0, 1]
    assert rate_indices(links) == [0, 1, 2]
