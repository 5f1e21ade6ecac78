"""Steppers against the equation of their rotor, solved by scipy, and its closed forms (Acarnley, stepping motors)."""

from __future__ import annotations

from math import asin, pi, sin, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simprop.drives.kinds import figures_of
from simprop.errors import RigError
from simprop.laws.cues import Signal
from simprop.laws.stepping import ramped
from simprop.loads.verdicts import verdicts
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

HOLDS, TEETH, ROTOR, WHEEL = 0.4, 50, 5.4e-6, 2e-5
STEP = 2 * pi / 200
SPINNER = """
rig: 1
name: Spinner
bodies:
  frame: {fixed: true}
  wheel: {parts: [{lump: 0.1 kg, at: 0 0 0 mm, inertia: 2e-5 2e-5 2e-5 kg*m^2}]}
joints: {shaft: {pin: [frame, wheel], at: 0 0 0 mm, axis: y}}
motors:
  turn:
    joint: shaft
    motor:
      stepper: {holding_torque: 0.4 N*m, rotor_inertia: 5.4e-6 kg*m^2, microsteps: 256, CURVE}
  brake: {joint: shaft, motor: {steady: {torque: LOAD N*m}}}
run: {for: 0.4 s, gravity: 0 m/s^2}
"""


def spinner(curve, load):
    return parse_rig(SPINNER.replace("CURVE", curve).replace("LOAD", str(load)))


def run_of(rig, engine="mujoco", step=5e-5):
    return simulate(rig, engine, settle=False, step=step)


def solved(course, load, until):
    """Place of the rotor by its equation, at the end."""
    damping = 2 * 0.1 * sqrt(HOLDS * TEETH * ROTOR)

    def slope(time, state):
        place, speed = course.at(time)
        pull = -HOLDS * sin(TEETH * (state[0] - place)) - damping * (state[1] - speed)
        return [state[1], (pull + load) / (ROTOR + WHEEL)]

    return solve_ivp(slope, (0.0, until), [0.0, 0.0], rtol=1e-9, atol=1e-9, max_step=2e-4, dense_output=True)


def test_it_hangs_back_by_its_load(engine):
    """Standing or stepped slowly, sin(z lag) = load / holding torque."""
    run = run_of(spinner("pace: 100, ramp: 400", -0.2), engine)
    track = run.track
    lag = asin(0.2 / HOLDS) / TEETH
    late = track.time > 0.35
    asked = np.array([run.recording.laws.motors[0].law.course.at(t)[0] for t in track.time[late]])
    assert asked - track.coordinate[late, 0] == pytest.approx(np.full(late.sum(), lag), abs=0.05 * lag)
    assert not verdicts(run.loads)
    assert run.loads.energy.share < 5e-3


@pytest.mark.parametrize(
    ("pace", "ramp", "load"), [(1300, None, -0.05), (1500, 12000, -0.1), (1200, None, -0.1)]
)
def test_lost_steps_are_those_of_its_equation(pace, ramp, load):
    """Started too hard it falls behind by whole cycles of four steps: as many as the equation says, from then on."""
    words = f"pace: {pace}" + ("" if ramp is None else f", ramp: {ramp}")
    run = run_of(spinner(words, load))
    law = run.recording.laws.motors[0].law
    track = run.track
    truth = solved(law.course, load, float(track.time[-1]))
    wanted = law.behind(track.time, truth.sol(track.time)[0])
    lost = law.behind(track.time, track.coordinate[:, 0])
    assert np.all(lost % 4 == 0)
    assert lost[-1] == wanted[-1]
    assert np.mean(lost == wanted) > 0.97
    assert (lost[-1] > 0) == (ramp is None)
    told = verdicts(run.loads)
    assert bool(told) == bool(lost.any())
    if told:
        assert told[0].startswith("Motor turn loses its place at 0.0")


def test_two_engines_lose_the_same():
    runs = [run_of(spinner("pace: 1300", -0.05), name) for name in ("mujoco", "exudyn")]
    lost = [r.recording.laws.motors[0].law.behind(r.track.time, r.track.coordinate[:, 0])[-1] for r in runs]
    assert lost[0] == lost[1] > 0


def test_the_course_is_a_trapezoid():
    course = ramped(Signal((0.0, 1.0, 2.0), (1.0, -1.0, 0.0)), pace=10.0, ramp=40.0)
    # up in 0.25 s, back through 0 in 0.5 s, to rest in 0.25 s
    assert course.at(0.25) == pytest.approx((1.25, 10.0))
    assert course.at(1.25)[1] == pytest.approx(0.0)
    assert course.at(3.0) == pytest.approx((1.25 + 7.5 + 1.25 - 1.25 - 5.0 - 1.25, 0.0))


def test_what_it_can_do_at_its_pace():
    able = figures_of("stepper").able()
    assert able.speed == pytest.approx(400 * STEP)
    assert able.stall == pytest.approx(0.34)


@pytest.mark.parametrize(
    ("curve", "said"),
    [
        ("pull_out: [400 /s 0.5 N*m]", "pulls no more than it holds"),
        ("pull_out: [400 /s 0.2 N*m, 300 /s 0.1 N*m]", "goes on in pace"),
        ("pull_out: [400 0.2 N*m]", "a pace and a torque"),
        ("steps: 201", "steps"),
        ("pace: 0", "pace"),
    ],
)
def test_what_can_t_be_a_stepper(curve, said):
    with pytest.raises(RigError) as caught:
        spinner(curve, 0)
    assert said in str(caught.value)
    assert "motors.turn" in str(caught.value)
