"""Cams against closed forms of texts on cams (Norton; Rothbart): lift, force, pressure angle, jump, undercutting."""

from __future__ import annotations

from math import atan2, pi, sqrt

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import RigError
from simprop.laws.cams import LAWS, Stretch, course, pitch, risen
from simprop.loads.verdicts import verdicts
from simprop.picture.render.fittings import hardware
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G, MASS, RATE, STRETCH, LIFT, BASE, ROLLER = 9.80665, 0.5, 500.0, 0.04, 0.02, 0.03, 0.01
BREATH = """
rig: 1
name: Breath
bodies:
  frame: {fixed: true}
  disc: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 1e-3 1e-3 1e-3 kg*m^2}]}
  rod: {parts: [{lump: 0.5 kg, at: 0 0 100 mm, inertia: 1e-3 1e-3 1e-3 kg*m^2}]}
joints:
  shaft: {pin: [frame, disc], at: 0 0 0 mm, axis: y}
  guide: {slider: [frame, rod], at: 0 0 100 mm, along: z}
contacts:
  nose:
    arc: rod
    centre: 0 0 40 mm
    radius: 10 mm
    axis: y
    on: {cam: disc, at: 0 0 0 mm, axis: y, base: 30 mm, course: [COURSE], law: LAW, turns: WAY}
    friction: 0
    stiffness: 2e6 N/m
    loss: 0.1
springs: {back: {two_way: [rod, frame], from: 0 0 100 mm, to: 0 0 0 mm, rate: 500 N/m, free_length: 60 mm}}
motors: {go: {joint: shaft, motor: {given: {speed: [0 s 0 rpm, 0.3 s RPM rpm]}}}}
run: {for: 0.8 s}
"""
UP_DOWN = "rise 20 mm over 180 deg, fall 20 mm over 180 deg"


def breath(law, speed, way="with", words=UP_DOWN):
    text = BREATH.replace("COURSE", words).replace("LAW", law).replace("WAY", way)
    turns = -1.0 if way == "against" else 1.0
    return parse_rig(text.replace("RPM", f"{turns * speed * 30 / pi:.6f}"))


def run_of(rig, engine="mujoco"):
    return simulate(rig, engine, settle=False, step=1e-4)


def course_of(law, angle, speed):
    """Lift and its second rate of a rise over half a turn and a fall over the other, by the laws themselves."""
    angle = np.mod(angle, 2 * pi)
    if law == "harmonic":
        return LIFT / 2 * (1 - np.cos(angle)), LIFT / 2 * np.cos(angle) * speed**2
    share = np.where(angle < pi, angle / pi, 2 - angle / pi)
    lift = LIFT * (share - np.sin(2 * pi * share) / (2 * pi))
    return lift, LIFT * 2 * pi * np.sin(2 * pi * share) * (speed / pi) ** 2


@pytest.mark.parametrize("law", ["harmonic", "cycloidal"])
def test_lift_and_force_over_the_turn(engine, law):
    """z = s(angle); N = m (g + s'' w^2) + k (s + stretch); it leans by atan(s' / (rb + rr + s)).

    rb the base's radius, rr the roller's.
    """
    speed = 30.0
    run = run_of(breath(law, speed), engine)
    track = run.track
    late = track.time > 0.4
    angle, rate = track.coordinate[late, 0], track.rate[late, 0]
    lift, second = course_of(law, angle, rate)
    assert track.coordinate[late, 1] == pytest.approx(
        lift, abs=4e-5
    )  # less what it presses in: 40 N / 2e6 N/m
    force = MASS * (G + second) + RATE * (lift + STRETCH)
    push = track.touch_force[late, 0]
    near = 0.02 if law == "cycloidal" else 2e-3  # the jumps of the third rate ring the contact
    assert push[:, 2] == pytest.approx(force, rel=near)
    assert push[:, 2].max() == pytest.approx(force.max(), rel=5e-3 if law == "cycloidal" else 1e-3)
    slope = np.gradient(lift, angle)
    lean = np.arctan2(slope, BASE + ROLLER + lift)
    assert np.arctan2(np.abs(push[:, 0]), push[:, 2]) == pytest.approx(np.abs(lean), abs=1e-3)
    torque = run.loads.wrenches.recovered[late, 0]
    assert np.abs(torque) == pytest.approx(np.abs(force * slope), abs=0.02 * np.abs(force * slope).max())
    assert run.loads.energy.share < 2e-3
    assert not verdicts(run.loads)


def test_it_jumps_at_its_speed(engine):
    """At the top of a harmonic cam N = m g + k (h + stretch) - m h w^2 / 2, which is 0 at the jump speed."""
    jump = sqrt(2 * (MASS * G + RATE * (LIFT + STRETCH)) / (MASS * LIFT))
    stays = run_of(breath("harmonic", 0.98 * jump), engine)
    late = stays.track.time > 0.4
    least = float(stays.track.touch_force[late, 0, 2].min())
    assert 0.0 < least < 0.1 * MASS * LIFT / 2 * jump**2
    leaves = run_of(breath("harmonic", 1.02 * jump), engine)
    assert (leaves.track.touch_force[late, 0, 2] == 0.0).any()
    (told,) = verdicts(leaves.loads)
    assert told.startswith("Contact nose: the follower leaves its cam at 0.")
    assert not verdicts(stays.loads)


def test_a_cam_turned_the_other_way_is_met_in_the_same_order():
    words = "rise 20 mm over 60 deg, dwell 60 deg, fall 20 mm over 180 deg"
    ways = [run_of(breath("cycloidal", 12.0, way, words)).track.coordinate for way in ("with", "against")]
    assert ways[1][:, 0] == pytest.approx(-ways[0][:, 0], abs=1e-6)
    assert ways[1][:, 1] == pytest.approx(ways[0][:, 1], abs=2e-5)
    angle = np.mod(ways[0][:, 0], 2 * pi)
    dwells = (angle > pi / 3 + 0.05) & (angle < 2 * pi / 3 - 0.05)
    assert ways[0][dwells, 1] == pytest.approx(LIFT, abs=4e-5)


def test_points_are_gone_through():
    words = "0 deg 0 mm, 90 deg 12 mm, 180 deg 20 mm, 270 deg 12 mm"
    track = run_of(breath("cycloidal", 10.0, words=words)).track
    for at, lift in ((pi / 2, 0.012), (pi, 0.02), (3 * pi / 2, 0.012)):
        row = int(np.argmin(np.abs(track.coordinate[:, 0] - at)))
        assert track.coordinate[row, 1] == pytest.approx(lift, abs=6e-5)


@pytest.mark.parametrize("law", LAWS)
def test_the_steepest_and_hardest_of_each_law(law):
    """Largest s' and s'' in h / b and h / b^2: cycloidal 2 and 2 pi, harmonic pi/2 and pi^2/2, parabolic 2 and 4,
    3-4-5 15/8 and 10/sqrt(3) (Norton, table of double-dwell laws)."""
    steep, hard = {
        "cycloidal": (2.0, 2 * pi),
        "harmonic": (pi / 2, pi**2 / 2),
        "parabolic": (2.0, 4.0),
        "3-4-5": (15 / 8, 10 / sqrt(3)),
    }[law]
    x = np.linspace(0.0, 1.0, 20001)
    slope = np.gradient(risen(law, x), x)
    assert slope.max() == pytest.approx(steep, rel=1e-3)
    assert np.abs(np.gradient(slope, x)[5:-5]).max() == pytest.approx(hard, rel=2e-3)


def test_a_round_disc_beside_its_axis():
    """The pitch curve of an eccentric has one bend all around, and its outline is a circle."""
    off, whole = 0.008, 0.04
    angle = np.arange(0, 2 * pi, 0.01)

    def lift(a):
        return np.sqrt(whole**2 - (off * np.sin(a)) ** 2) - off * np.cos(a) - (whole - off)

    made = pitch(lift, whole - off, 1.0, 0.0)
    assert made.bend == pytest.approx(np.full(len(made.angle), whole), rel=1e-4)
    outline = made.profile(0.01)
    middle = outline.mean(axis=0)
    assert np.linalg.norm(outline - [off * -1.0, 0.0], axis=1) == pytest.approx(whole - 0.01, rel=1e-4)
    assert abs(middle[1]) < 1e-6
    assert len(angle) > 100


def test_a_course_dwells_for_the_rest_of_its_turn():
    lift = course([Stretch(pi / 2, 0.01), Stretch(pi / 2, -0.01)], "3-4-5")
    assert lift(np.array([pi, 1.5 * pi, 2 * pi - 1e-9])) == pytest.approx([0.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (UP_DOWN, "rise 20 mm over 20 deg, dwell 160 deg, fall 20 mm over 180 deg", "the cam is undercut"),
        (UP_DOWN, "rise 20 mm over 180 deg", "a turn ends where it began"),
        (UP_DOWN, "rise 20 mm over 200 deg, fall 20 mm over 200 deg", "more than one turn"),
        (UP_DOWN, "rise 20 mm over 180 deg, 90 deg 4 mm", "in words or in points"),
        (UP_DOWN, "lift 20 mm over 180 deg", "not a part of a cam's course"),
        ("cam: disc", "cam: disk", "disc"),
        ("axis: y\n    on", "axis: x\n    on", "the axes of a cam and its roller are parallel"),
        ("centre: 0 0 40 mm", "centre: 0 0 30 mm", "inside what it touches"),
    ],
)
def test_what_can_t_be_a_cam(old, new, said):
    text = (
        BREATH.replace("COURSE", UP_DOWN)
        .replace("LAW", "harmonic")
        .replace("WAY", "with")
        .replace("RPM", "60")
    )
    assert old in text
    with pytest.raises(RigError) as caught:
        run_of(parse_rig(text.replace(old, new)))
    assert said in str(caught.value)
    assert "contacts.nose" in str(caught.value)


def test_it_is_drawn_with_its_highest_point_where_it_is():
    prop = assemble(breath("harmonic", 1.0))
    points = np.concatenate([s.vertices for s in hardware(prop)[1]])
    far = points[np.argmax(np.linalg.norm(points[:, [0, 2]], axis=1))]
    assert np.hypot(far[0], far[2]) == pytest.approx(BASE + LIFT, abs=2e-3)
    assert atan2(far[0], -far[2]) == pytest.approx(0.0, abs=0.05)  # the follower begins at the lowest, above
