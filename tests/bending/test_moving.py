"""Members that bend in mechanisms: on a moving base, in a closed loop, spun up, turned any way."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.catalog.load import material
from simprop.engine.acting.actuation import MotorData, actuate
from simprop.engine.choose import engine
from simprop.geometry.turning import matrices, of_vector, rotate
from simprop.laws.forms import HeldSpeed
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.bending.rigs import LENGTH, PIPE, STIFF
from tests.bending.test_beams import place, ran

pytest.importorskip("exudyn")


@dataclass(frozen=True)
class Ramp(HeldSpeed):
    """A rate that rises to `full` in a time `over` without a jolt, and stays."""

    full: float
    over: float

    def start(self, count: int = 0) -> Any:
        return 0.0

    def advance(self, state: Any, time: float, speed: float) -> Any:
        return time

    def goal(self, state: Any) -> tuple[float, float]:
        t, w, whole = state, self.full, self.over
        slow = w / whole * (t - whole / (2 * math.pi) * math.sin(2 * math.pi * t / whole))
        return (slow if t < whole else w), 1e7


def test_spin_up_stiffens() -> None:
    # 10 m, E I 1.4e4 N m2, 1.2 kg/m, to 6 rad/s in 15 s: the tip lags 0.574 m at 6.76 s, then a swing of millimetres
    # (Galerkin with the stiffening of the spin, 5 modes, recomputed); a theory without the stiffening runs away.
    steel = material("steel").modulus or 0.0
    across = 1e3 * (1.4e4 / steel * 64 / math.pi) ** 0.25
    rig = parse_rig(f"""
rig: 1
name: Spin
bodies:
  post: {{fixed: true}}
  hub: {{parts: [{{ball: 100 mm, mass: 1 kg, at: 0 0 0 mm}}]}}
  blade:
    bends: {{damping: 0, pieces: 12}}
    parts: [{{rod: {across:.6f} mm, of: steel, mass: 12 kg, from: 0 0 0 mm, to: 10000 0 0 mm}}]
joints:
  shaft: {{pin: [post, hub], at: 0 0 0 mm, axis: z}}
  root: {{fixed: [hub, blade], at: 0 0 0 mm}}
run: {{for: 20 s, gravity: 0 m/s^2}}
""")
    prop = assemble(rig)
    spin = MotorData("spin", 0, Ramp(6.0, 15.0), math.nan, math.inf, 1.0, None, 0.0, 1.0)
    track = engine("exudyn").run(prop, replace(actuate(prop), motors=(spin,)), 0.01, 2000)
    i = prop.carrier("blade", (10.0, 0.0, 0.0))
    tip = track.position[:, i] + rotate(track.rotation[:, i], np.array([10.0, 0, 0]) - prop.bodies[i].com)
    angle = track.coordinate[:, 0]
    lag = np.sin(angle) * tip[:, 0] - np.cos(angle) * tip[:, 1]
    assert lag.max() == pytest.approx(0.574, rel=0.02)
    assert track.time[int(lag.argmax())] == pytest.approx(6.76, abs=0.15)
    assert np.abs(lag[track.time > 15.5]).max() < 0.02


def test_an_arm_on_a_moving_base() -> None:
    # A light mast with a weight on a sprung cart, without gravity: two masses on two springs, in closed form. It begins
    # bent as one that is drawn away at an even pace: the weight's inertia on the mast, the middle of mass as drawn.
    cart, tip, spring = 2.0, 0.5, 800.0
    light = PIPE.replace("of: PVC}", "of: PVC}, mass: 0.1 g")
    run = ran(f"""
rig: 1
name: Cart
bodies:
  ground: {{fixed: true}}
  cart: {{parts: [{{lump: {cart} kg, at: 0 0 0 mm}}]}}
  mast:
    bends: {{damping: 0, pieces: 4}}
    parts: [{{{light}, from: 0 0 0 mm, to: 0 0 600 mm}}, {{lump: {tip} kg, at: 0 0 600 mm}}]
joints:
  rail: {{slider: [ground, cart], at: 0 0 0 mm, along: x}}
  foot: {{fixed: [cart, mast], at: 0 0 0 mm}}
springs:
  pull: {{two_way: [ground, cart], from: -500 0 0 mm, to: 0 0 0 mm, rate: {spring} N/m, free_length: 510 mm}}
run: {{for: 3 s, step: 1 ms, gravity: 0 m/s^2}}
""")
    stiff = 3 * STIFF / LENGTH**3
    k = np.array([[spring + stiff, -stiff], [-stiff, stiff]])
    m = np.diag([cart, tip])
    root = np.diag(1 / np.sqrt(np.diag(m)))
    values, modes = np.linalg.eigh(root @ k @ root)
    bent = tip * (spring * 0.01 / (cart + tip)) / stiff
    first = np.array([bent * tip / (cart + tip), -bent * cart / (cart + tip)])
    start = modes.T @ np.diag(np.sqrt(np.diag(m))) @ (first - 0.01)
    time = run.track.time
    exact = 0.01 + root @ modes @ (start[:, None] * np.cos(np.sqrt(values)[:, None] * time))
    assert place(run, "cart", (0.0, 0.0, 0.0))[:, 0] == pytest.approx(exact[0], abs=2e-4)
    assert place(run, "mast", (0.0, 0.0, 0.6))[:, 0] == pytest.approx(exact[1], abs=5e-4)


LOOP = """
rig: 1
name: Slider crank
bodies:
  ground: {{fixed: true}}
  crank: {{parts: [{{bar: 25 x 6 mm, of: steel, thin: {thin}, from: {o}, to: {a}}}]}}
  rod:
    bends: {{damping: 0.02, pieces: 6}}
    parts: [{{{pipe}, from: {a}, to: {b}}}]
  head: {{parts: [{{ball: 60 mm, mass: 1.5 kg, at: {b}}}]}}
joints:
  shaft: {{pin: [ground, crank], at: {o}, axis: {axis}}}
  crankpin: {{pin: [crank, rod], at: {a}, axis: {axis}}}
  wrist: {{pin: [rod, head], at: {b}, axis: {axis}}}
  rail: {{slider: [ground, head], at: {b}, along: {along}}}
motors:
  drive: {{joint: shaft, motor: {{steady: {{torque: 0.4 N*m}}}}}}
run: {{for: 0.4 s, step: 0.2 ms, gravity: [{g}]}}
"""


def loop(turn: np.ndarray) -> str:
    """A crank that drives a weight through a bending rod, turned as a whole."""

    def at(*p: float) -> str:
        return "{:.9f} {:.9f} {:.9f} mm".format(*(turn @ np.array(p)))

    def way(*p: float) -> str:
        return "{:.12f} {:.12f} {:.12f}".format(*(turn @ np.array(p)))

    g = turn @ np.array([0.0, 0.0, -9.80665])
    return LOOP.format(
        pipe=PIPE, o=at(0, 0, 0), a=at(0, 0, 80), b=at(500, 0, 0), axis=way(0, 1, 0), along=way(1, 0, 0),
        thin=way(0, 1, 0), g=", ".join(f"{v:.12f} m/s^2" for v in g),
    )  # fmt: skip


def peaks(text: str) -> dict[str, float]:
    run = simulate(parse_rig(text), settle=False)
    assert (run.loads.energy.share or 0.0) < 0.01
    found = {p.key: p.value for pair in run.loads.joints for p in pair if p.value > 0.05}
    return found | {p.key: p.value for p in run.loads.members}


def test_a_bending_rod_in_a_loop_is_the_same_however_it_lies() -> None:
    plain = peaks(loop(np.eye(3)))
    assert plain["member.rod.moment"] > 0.3
    rng = np.random.default_rng(5)
    for _ in range(2):
        turn = matrices(of_vector(rng.normal(size=3)))
        turned = peaks(loop(turn))
        assert turned == pytest.approx({k: plain[k] for k in turned}, rel=0.005)


def test_the_order_of_listing_changes_nothing() -> None:
    text = loop(np.eye(3))
    head, rest = text.split("joints:\n")
    joints, end = rest.split("motors:\n")
    lines = joints.splitlines(keepends=True)
    other = head + "joints:\n" + "".join(reversed(lines)) + "motors:\n" + end
    assert peaks(other) == pytest.approx(peaks(text), rel=0.005)
