"""The band of a peak holds the exact value: random blows against an independent integration of the same equations."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G = 9.81
ENGINES = pytest.mark.parametrize("engine", ["mujoco", "bullet"])


def _arm(seed: int) -> tuple[str, float]:
    """An arm that falls on a stop with a random place, stiffness and loss, and the greatest moment of the stop."""
    draw = np.random.default_rng(seed)
    mass, length, start = draw.uniform(0.3, 3), draw.uniform(0.15, 0.5), math.radians(draw.uniform(30, 90))
    stiffness, loss, end = draw.uniform(50, 400), draw.uniform(0, 0.6), draw.uniform(0.5, 1.5)
    inertia = mass * length**2 / 3
    damping = loss * math.sqrt(stiffness * inertia)
    text = f"""
    rig: 1
    name: Falling arm
    bodies:
      post: {{fixed: true}}
      arm: {{parts: [{{slender: {mass!r} kg, from: 0 0 0 m, to: [{length * math.cos(start)!r} m, 0 m,
        {length * math.sin(start)!r} m]}}]}}
    joints: {{hook: {{pin: [post, arm], at: 0 0 0 m, axis: y}}}}
    stops: {{end: {{pin_stop: hook, above: {end!r} rad, stiffness: {stiffness!r} N*m/rad,
      damping: {damping!r} N*m*s/rad}}}}
    run: {{for: 0.8 s, gravity: {G} m/s^2}}
    """

    def moment(angle: float, rate: float) -> float:
        return max(0.0, stiffness * (angle - end) + damping * rate) if angle > end else 0.0

    def motion(_: float, y: list[float]) -> list[float]:
        turning = mass * G * length / 2 * math.cos(start - y[0]) - moment(y[0], y[1])
        return [y[1], turning / inertia]

    exact = solve_ivp(motion, (0, 0.8), [0, 0], rtol=1e-9, atol=1e-11, max_step=2e-4, method="LSODA")
    return text, max(moment(a, r) for a, r in exact.y.T)


def _rope(seed: int) -> tuple[str, float]:
    """A mass that falls into a rope with loss, and the rope's greatest pull."""
    draw = np.random.default_rng(seed)
    mass, stiffness, slack = draw.uniform(0.5, 4), draw.uniform(2000, 20000), draw.uniform(0.05, 0.3)
    damping = 2 * draw.uniform(0, 0.5) * math.sqrt(stiffness * mass)
    text = f"""
    rig: 1
    name: Mass on a rope
    bodies: {{frame: {{fixed: true}}, load: {{parts: [{{lump: {mass!r} kg, at: 0 0 -100 mm}}]}}}}
    joints: {{guide: {{slider: [frame, load], at: 0 0 0 mm, along: z}}}}
    springs: {{rope: {{extension: [frame, load], from: 0 0 0 mm, to: 0 0 -100 mm, rate: {stiffness!r} N/m,
      free_length: 100 mm, slack: {slack!r} m, damping: {damping!r} N*s/m}}}}
    run: {{for: 0.4 s, gravity: {G} m/s^2}}
    """

    def pull(drop: float, rate: float) -> float:
        return max(0.0, stiffness * (drop - slack) + damping * rate) if drop > slack else 0.0

    exact = solve_ivp(
        lambda _, y: [y[1], G - pull(y[0], y[1]) / mass],
        (0, 0.4),
        [0, 0],
        rtol=1e-9,
        atol=1e-11,
        max_step=1e-4,
        method="LSODA",
    )
    return text, max(pull(d, r) for d, r in exact.y.T)


@ENGINES
@pytest.mark.parametrize("seed", range(8))
def test_the_band_of_a_blow_holds_its_exact_peak(engine: str, seed: int) -> None:
    if engine == "bullet":
        pytest.importorskip("pybullet")
    text, exact = (_arm if seed < 5 else _rope)(seed)
    loads = simulate(parse_rig(text), engine).loads
    (peak,) = (*loads.stops, *loads.lines)
    assert peak.band is not None
    assert abs(peak.value - exact) <= peak.band.change + 1e-5 * exact
    assert peak.band.change < 0.01 * exact


RUBBING = """
rig: 1
name: Sledge thrown on a rail
bodies: {rail: {fixed: true}, sledge: {parts: [{lump: 3 kg, at: 0 0 80 mm}]}}
joints: {way: {slider: [rail, sledge], at: 0 0 0 mm, along: x, bearing: 200 mm, friction: 0.3}}
springs: {back: {two_way: [rail, sledge], from: -500 0 0 mm, to: 0 0 0 mm, rate: 300 N/m, free_length: 500 mm}}
run: {for: 0.5 s, gravity: 9.81 m/s^2, start_speeds: {way: 1 m/s}}
"""


@ENGINES
def test_friction_that_goes_with_the_load_doubles_the_band(engine: str) -> None:
    if engine == "bullet":
        pytest.importorskip("pybullet")
    rubbing = simulate(parse_rig(RUBBING), engine)
    (spring,) = rubbing.loads.lines
    assert spring.band is not None
    coarse = simulate(parse_rig(RUBBING), engine, settle=False, step=2 * rubbing.track.step)
    assert spring.band.change >= 1.99 * abs(spring.value - coarse.loads.lines[0].value)
