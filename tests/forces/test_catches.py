"""Ratchets and one-way clutches against the mechanics of rigid bodies."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import RigError
from simprop.picture.render.fittings import hardware
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G = 9.80665
HOIST = """
rig: 1
name: Hoist
bodies:
  frame: {fixed: true}
  drum: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 2e-3 2e-3 2e-3 kg*m^2}, {lump: 0.5 kg, at: 0 0 -80 mm}]}
joints: {shaft: {pin: [frame, drum], at: 0 0 0 mm, axis: y, viscous: 0.05 N*m*s/rad}}
stops: {pawl: {CATCH}}
motors: {wind: {joint: shaft, on: [0 s to 1 s], motor: {steady: {torque: 0.33 N*m}}}}
run: {for: 1.6 s}
"""
FREE = """
rig: 1
name: Free
bodies:
  frame: {fixed: true}
  shaft: {parts: [{lump: 0.2 kg, at: 0 0 0 mm, inertia: 1e-4 1e-4 1e-4 kg*m^2}]}
  wheel: {parts: [{lump: 2 kg, at: 0 100 0 mm, inertia: 4e-3 4e-3 4e-3 kg*m^2}]}
joints:
  bearing: {pin: [frame, shaft], at: 0 0 0 mm, axis: y, friction: 0.1 N*m}
  hub: {pin: [shaft, wheel], at: 0 100 0 mm, axis: y}
stops: {clutch: {one_way: hub, turns: with, stiffness: 100 N*m/rad, damping: 0.1 N*m*s/rad}}
motors: {push: {joint: bearing, on: [0 s to 0.5 s], motor: {steady: {torque: 0.5 N*m}}}}
run: {for: 1 s, gravity: 0 m/s^2}
"""


def run_of(text, engine="mujoco", step=5e-4):
    return simulate(parse_rig(text), engine, settle=False, step=step)


def test_a_free_wheel_takes_along_and_runs_on(engine):
    """Driven they speed up as one, (T - f) / (J1 + J2); let go, the shaft stops and the wheel keeps its speed."""
    run = run_of(FREE, engine, step=2e-4)
    track = run.track
    gain = (0.5 - 0.1) / (1e-4 + 4e-3)
    driven = (track.time > 0.2) & (track.time < 0.45)
    mean = np.polyfit(track.time[driven], track.spin[driven, 2, 1], 1)[0]
    assert mean == pytest.approx(gain, rel=1e-3)
    assert track.spin[driven, 1, 1] == pytest.approx(track.spin[driven, 2, 1], rel=5e-3)
    last = track.spin[-1]
    assert abs(last[1, 1]) < 0.02
    assert last[2, 1] == pytest.approx(0.5 * gain, rel=5e-3)
    (clutch,) = run.loads.stops
    assert clutch.key == "stop.clutch.load"
    wanted = 4e-3 * gain
    ringing = np.abs(track.applied[driven, 2, 1])
    assert ringing.mean() == pytest.approx(wanted, rel=5e-3)
    assert run.loads.energy.share < 5e-3


@pytest.mark.parametrize("teeth", [8, 36])
def test_a_ratchet_falls_back_to_its_last_tooth(engine, teeth):
    """Wound up and let go, it comes to rest within a tooth below where it was, on a tooth; the pawl bears m g a sin."""
    text = HOIST.replace("CATCH", f"ratchet: shaft, teeth: {teeth}, turns: with, damping: 5 N*m*s/rad")
    run = run_of(text, engine)
    track = run.track
    at, tooth = track.coordinate[:, 0], 2 * pi / teeth
    reached = float(at.max())
    assert reached > 2 * pi / 8
    rest = float(at[-1])
    assert rest == pytest.approx(tooth * np.floor(reached / tooth), abs=3e-3)
    assert abs(track.rate[-1, 0]) < 1e-2
    held = abs(float(track.applied[-1, 2, 0]))
    assert held == pytest.approx(abs(0.5 * G * 0.08 * np.sin(rest)), rel=0.01)


def test_a_clutch_holds_where_it_is(engine):
    run = run_of(HOIST.replace("CATCH", "one_way: shaft, turns: with, damping: 5 N*m*s/rad"), engine)
    at = run.track.coordinate[:, 0]
    assert at[-1] == pytest.approx(at.max(), abs=4e-3)
    assert at.max() > 0.5


def test_the_other_way():
    text = HOIST.replace("torque: 0.33 N*m", "torque: -0.33 N*m")
    turned = run_of(text.replace("CATCH", "one_way: shaft, turns: against, damping: 5 N*m*s/rad"))
    straight = run_of(HOIST.replace("CATCH", "one_way: shaft, turns: with, damping: 5 N*m*s/rad"))
    assert turned.track.coordinate[:, 0] == pytest.approx(-straight.track.coordinate[:, 0], abs=1e-5)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("ratchet: shaft, teeth: 2", "teeth"),
        ("one_way: shaft, turns: left", "turns"),
        ("ratchet: shat, teeth: 12", "shaft"),
        ("one_way: shaft, of: cheese", "of"),
    ],
)
def test_what_can_t_catch(words, said):
    with pytest.raises(RigError) as caught:
        parse_rig(HOIST.replace("CATCH", words))
    assert said in str(caught.value)
    assert "stops.pawl" in str(caught.value)


def test_a_ratchet_is_drawn():
    text = HOIST.replace("CATCH", "ratchet: shaft, teeth: 12, turns: with, arm: 30 mm")
    made = hardware(assemble(parse_rig(text)))
    wheel = max(made[1], key=lambda s: len(s.faces))
    across = np.linalg.norm(wheel.vertices[:, [0, 2]], axis=1)
    assert across.max() > 0.03
    assert made[0]
