"""The wind on all that stands in it: through members and joints, against statics."""

import numpy as np
import pytest

from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from simprop.strength.checks.wind import in_the_wind

AIR = 0.5 * 1.225 * 1.2 * 10.0**2
"""Pressure of 10 m/s at a drag of 1.2, N/m^2: drag equation, air at 15 degC."""


def run_of(text):
    return simulate(parse_rig(text), settle=False)


MAST = """
rig: 1
name: a mast that bears a cloth
bodies:
  stand:
    fixed: true
    parts:
      - {block: 600 x 600 x 20 mm, of: plywood, at: 0 0 10 mm}
      - {rod: 20 mm, of: steel, from: 0 0 20 mm, to: 0 0 1520 mm, name: mast}
  cloth: {parts: [CLOTH]}
joints: {hook: {fixed: [stand, cloth], at: 0 0 1520 mm}}
WIND
run: {for: 0.1 s}
"""
BOARD = "{block: 400 x 10 x 500 mm, of: pine, at: 0 0 1520 mm}"


def bending(cloth, wind):
    """Bending moment at the foot of the mast by its check, N*m."""
    checks = run_of(MAST.replace("CLOTH", cloth).replace("WIND", wind)).strength.checks
    (check,) = [c for c in checks if c.name == "bending, pull and twist" and "mast" in c.place]
    return check.demand * np.pi / 32 * 0.02**3, check


def test_the_wind_on_a_board_bends_the_mast_that_bears_it():
    """0.4 x 0.5 m at 1.5 m over the foot, and the mast's own 20 x 1500 mm at half of that."""
    moment, check = bending(BOARD, "wind: {speed: 10 m/s, toward: y}")
    assert moment == pytest.approx(
        AIR * (0.2 * 1.5 + 0.02 * 1.5 * 0.75), rel=0.01
    )  # 1 % is the weight's push
    assert any("steady wind of 10 m/s" in text for text in check.assumed)
    calm, _ = bending(BOARD, "")
    assert calm < 0.05 * moment


def test_the_wind_on_a_stated_area_bends_what_is_nearest_to_it():
    """1.225 / 2 x 1.3 x 0.8 m2 x (10 m/s)2 = 63.7 N, 1.2 m over the ground: 75.2 N*m at the foot of the mast."""
    wind = "wind: {speed: 10 m/s, area: 0.8 m^2, drag: 1.3, at: 0 0 1200 mm}"
    moment, _ = bending("{lump: 0.1 kg, at: 0 0 1520 mm}", wind)
    assert moment == pytest.approx(0.5 * 1.225 * 1.3 * 0.8 * 100 * 1.18, rel=0.01)


def test_a_hung_cloth_stands_in_the_wind_with_all_of_its_size():
    moment, _ = bending("{lump: 0.1 kg, at: 0 0 1520 mm, looks: cloth}", "wind: {speed: 10 m/s, toward: y}")
    bare, _ = bending("{lump: 0.1 kg, at: 0 0 1520 mm}", "wind: {speed: 10 m/s, toward: y}")
    assert moment - bare > AIR * 0.1 * 1.5


def test_life_is_judged_without_the_wind():
    first = None
    for wind in ("", "wind: {speed: 10 m/s}"):
        checks = run_of(MAST.replace("CLOTH", BOARD).replace("WIND", wind)).strength.checks
        lives = [(c.place, c.capacity) for c in checks if c.group == "fatigue"]
        assert lives
        first = first or lives
        assert lives == first


FLAP = """
rig: 1
name: a flap on a hinge in the wind
bodies:
  post: {fixed: true, parts: [{block: 20 x 20 x 900 mm, of: pine, at: -10 0 450 mm}]}
  flap: {parts: [{bar: 300 x 10 mm, of: pine, from: 0 0 500 mm, to: 400 0 500 mm, thin: y}]}
joints: {hinge: {pin: [post, flap], at: 0 0 500 mm, axis: z}}
DRIVE
run: {for: 0.02 s, gravity: 0 m/s^2}
"""
PUSH = AIR * 0.3 * 0.4


def blown(drive):
    """The run's loads with a wind of 10 m/s away from the viewer, and the part that is its own."""
    run = run_of(FLAP.replace("DRIVE", drive + "\nwind: {speed: 10 m/s, toward: y}"))
    (windy,) = in_the_wind(run.loads, run.rig.wind)
    return windy, windy.wrenches.force[0, 0] - run.loads.wrenches.force[0, 0], windy.wrenches.moment[0, 0]


def test_a_flap_that_nothing_holds_gives_way():
    """F at half the length of a thin board turns it with 3 F / (2 m L): a quarter of F is left for the hinge."""
    _, force, moment = blown("")
    assert force == pytest.approx([0.0, -PUSH / 4, 0.0], abs=0.002 * PUSH)
    assert moment == pytest.approx([0.0, 0.0, 0.0], abs=1e-3 * PUSH)


def test_a_motor_holds_a_flap_against_the_wind():
    """The hinge bears F, and its motor F x 200 mm."""
    _, force, moment = blown("motors: {turn: {joint: hinge, motor: wiper, on: [1 s to 2 s]}}")
    assert force == pytest.approx([0.0, -PUSH, 0.0], abs=0.002 * PUSH)
    assert moment[2] == pytest.approx(-PUSH * 0.2, rel=1e-3)


def test_a_pusher_holds_a_flap_against_the_wind():
    """An actuator square to the flap at 100 mm from its hinge bears 2 F, the hinge F the other way."""
    drive = (
        "pushers: {lift: {between: [post, flap], from: 100 -500 500 mm, to: 100 0 500 mm, motor: linear 330, "
        "on: [1 s to 2 s]}}"
    )
    windy, force, _ = blown(drive)
    assert force == pytest.approx([0.0, PUSH, 0.0], abs=0.002 * PUSH)
    assert windy.recording.track.line_force[0, 0] == pytest.approx(2 * PUSH, rel=1e-3)


def test_the_wind_pushes_a_turned_part_on_the_face_that_it_then_shows():
    """A flap that has turned by a right angle shows its edge."""
    turned = FLAP.replace("0.02 s, g", "1 s, start_speeds: {hinge: 15 rpm}, g")
    run = run_of(turned.replace("DRIVE", "wind: {speed: 10 m/s, toward: y}"))
    (windy,) = in_the_wind(run.loads, run.rig.wind)
    push = windy.recording.track.touch_force[:, -1, 1]
    angle = windy.recording.track.coordinate[:, 0]
    shown = 0.3 * (0.4 * np.abs(np.cos(angle)) + 0.01 * np.abs(np.sin(angle)))
    assert push == pytest.approx(AIR * shown, abs=0.005 * PUSH)
    assert angle[-1] > 1.5
