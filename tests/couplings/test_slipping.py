"""Friction wheels and belts that slip, against closed forms of texts on machine design (Eytelwein; Shigley)."""

from __future__ import annotations

from math import asin, exp, pi, radians, sin

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import EngineError, RigError
from simprop.loads.verdicts import verdicts
from simprop.picture.render.fittings import hardware
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

SMALL, LARGE = 2e-4, 4e-3
TRAIN = """
rig: 1
name: Train
bodies:
  frame: {fixed: true}
  one: {parts: [{lump: 0.2 kg, at: 0 0 0 mm, inertia: 1e-4 2e-4 1e-4 kg*m^2}]}
  two: {parts: [{lump: 1 kg, at: FAR 0 0 mm, inertia: 2e-3 4e-3 2e-3 kg*m^2}]}
joints:
  one: {pin: [frame, one], at: 0 0 0 mm, axis: y}
  two: {pin: [frame, two], at: FAR 0 0 mm, axis: y}
couplings: {tie: {TIE}}
motors: {push: {joint: one, motor: {steady: {torque: TORQUE N*m}}}}
run: {for: 0.2 s, gravity: 0 m/s^2}
"""
WHEEL = "friction_wheel: [one, two], diameter: 30 mm, press: 40 N, friction: 0.6"
BELT = "belt: [one, two], diameters: [40 mm, 120 mm], tension: 20 N, friction: 0.5, groove: 38 deg"
GIVES = 40 * 0.6


def train(tie, torque, far="60"):
    return parse_rig(TRAIN.replace("FAR", far).replace("TIE", tie).replace("TORQUE", f"{torque:.9f}"))


@pytest.fixture(params=["mujoco", "exudyn"])
def engine(request):
    pytest.importorskip(request.param)
    return request.param


def run_of(rig, engine="mujoco", step=5e-4):
    return simulate(rig, engine, settle=False, step=step)


def test_a_friction_wheel_holds_like_a_gear(engine):
    """(J1 + J2 / n^2) a = T, n = 45 / 15; both shafts are parted by the press and pushed by F = J2 a2 / r2."""
    run = run_of(train(WHEEL, 0.3), engine)
    gain = 0.3 / (SMALL + LARGE / 9)
    force = LARGE * gain / 3 / 0.045
    assert force < GIVES
    row = 200
    near = 2e-3 if engine == "exudyn" else 1e-4
    assert run.track.spin_acceleration[row, 1, 1] == pytest.approx(gain, rel=near)
    assert abs(run.track.slip_force[row, 0]) == pytest.approx(force, rel=near)
    bearing = run.loads.wrenches.force[row]
    assert abs(bearing[0, 2]) == pytest.approx(force, rel=near)
    assert bearing[0, 0] == pytest.approx(40.0, rel=1e-6)
    assert bearing[1] == pytest.approx(-bearing[0], rel=1e-6)
    assert run.loads.energy.share < 2e-3
    assert not verdicts(run.loads)
    assert run.assembly.mobility == 2


def test_a_friction_wheel_slips_at_mu_n(engine):
    """Beyond mu N each goes its own way: J1 a1 = T - mu N r1, J2 a2 = mu N r2; what slips turns to heat."""
    torque = 1.0
    run = run_of(train(WHEEL, torque), engine, step=2e-4)  # it comes to 100 turns a second
    row = 500
    track = run.track
    assert abs(track.slip_force[row, 0]) == pytest.approx(GIVES, rel=1e-6)
    assert track.spin_acceleration[row, 1, 1] == pytest.approx((torque - GIVES * 0.015) / SMALL, rel=2e-3)
    assert abs(track.spin_acceleration[row, 2, 1]) == pytest.approx(GIVES * 0.045 / LARGE, rel=1e-3)
    slid = 0.015 * track.coordinate[-1, 0] + 0.045 * track.coordinate[-1, 1]
    assert run.loads.energy.friction == pytest.approx(-GIVES * slid, rel=5e-3)
    assert run.loads.energy.share < 2e-3
    (told,) = verdicts(run.loads)
    assert told.startswith("Coupling tie slips from 0.0")


def test_a_v_belt_slips_by_wrap_and_groove(engine):
    """F = 2 T0 tanh(mu w / (2 sin 19 deg)), w = pi - 2 asin((r2 - r1) / far) of the small pulley."""
    wrap = pi - 2 * asin(40 / 200)
    grown = exp(0.5 / sin(radians(19)) * wrap)
    most = 2 * 20 * (grown - 1) / (grown + 1)
    assert 35.0 < most < 40.0
    for share in (0.98, 1.02):
        # the small pulley turns the large one: F = J2 a2 / r2, a1 = 3 a2
        force = share * most
        torque = (SMALL + LARGE / 9) * 3 * force * 0.060 / LARGE
        run = run_of(train(BELT, torque, far="200"), engine)
        row = 300
        seen = abs(float(run.track.slip_force[row, 0]))
        assert seen == pytest.approx(min(force, most), rel=2e-3)
        slipped = abs(run.track.rate[-1, 0] - 3 * run.track.rate[-1, 1])
        assert (slipped > 1.0) == (share > 1.0)
        # both strands pull the shafts together with twice the tension, whatever goes through
        assert run.loads.wrenches.force[row, 0, 0] == pytest.approx(-2 * 20 * np.sqrt(1 - 0.2**2), rel=0.1)
        (tight,) = run.loads.couplings
        # exudyn's first steps overshoot a little
        assert tight.value == pytest.approx(20 + seen / 2, rel=0.02 if engine == "exudyn" else 2e-3)


def test_it_sticks_again(engine):
    """Pushed too hard for 50 ms and then let go, both turn as one again, with the angular momentum that they had."""
    text = TRAIN.replace("FAR", "60").replace("TIE", WHEEL).replace("TORQUE", "1.0")
    rig = parse_rig(text.replace("{joint: one, ", "{joint: one, on: [0 s to 0.05 s], "))
    run = run_of(rig, engine)
    late = run.track.time > 0.15
    assert run.track.rate[late, 0] == pytest.approx(-3 * run.track.rate[late, 1], rel=1e-3)
    # momentum about the two shafts, weighed by the radii: (T - F r1) and F r2 leave J1 w1 / r1 + J2 w2 / r2 = T t / r1
    spin = run.track.rate[-1]
    whole = SMALL * spin[0] / 0.015 + LARGE * abs(spin[1]) / 0.045
    assert whole == pytest.approx(1.0 * 0.05 / 0.015, rel=0.01)


def test_bullet_says_that_it_can_t():
    pytest.importorskip("pybullet")
    with pytest.raises(EngineError, match="slip"):
        run_of(train(WHEEL, 0.3), "bullet")


@pytest.mark.parametrize(
    ("tie", "said"),
    [
        (WHEEL.replace("30 mm", "130 mm"), "takes 65.0 mm"),
        (WHEEL.replace("40 N", "0 N"), "press"),
        (BELT.replace("120 mm", "220 mm"), "the wheels need more"),
        (BELT.replace("tension: 20 N, ", ""), "tension"),
    ],
)
def test_what_can_t_hold(tie, said):
    with pytest.raises(RigError) as caught:
        assemble(train(tie, 0.1))
    assert said in str(caught.value)
    assert "couplings.tie" in str(caught.value)


def test_they_are_drawn():
    for tie, far in ((WHEEL, "60"), (BELT, "200")):
        made = hardware(assemble(train(tie, 0.1, far)))
        assert {1, 2} <= made.keys()
