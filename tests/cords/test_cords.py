"""Cords over eyes, bars, wheels and drums against closed forms of any text on statics and dynamics (Meriam and Kraige:
belt friction, pulleys, work and energy)."""

from __future__ import annotations

import time
from math import cos, exp, hypot, pi, sin, sqrt

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import EngineError, RigError
from simprop.loads.joints import joint_loads
from simprop.recording import load_recording, save_recording
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.run.simulate import simulate

G = 9.80665
TWO = """
rig: 1
name: Two weights
bodies:
  frame: {fixed: true}
  a: {parts: [{lump: MA kg, at: -50 0 0 mm}]}
  b: {parts: [{lump: MB kg, at: 50 0 0 mm}]}
  MORE
joints:
  ra: {slider: [frame, a], at: -50 0 0 mm, along: z}
  rb: {slider: [frame, b], at: 50 0 0 mm, along: z}
  PIN
cords:
  rope:
    from: {body: a, at: -50 0 0 mm}
    over: [PLACE]
    to: {body: b, at: 50 0 0 mm}
    stiffness: 20 kN
    damping: 1
run: {for: 0.5 s}
"""
WHEEL = "{body: frame, at: 0 0 500 mm, diameter: 100 mm, axis: y}"


def two(place, a=1, b=2, more="", pin=""):
    text = TWO.replace("PLACE", place).replace("MA", str(a)).replace("MB", str(b))
    return text.replace("MORE", more).replace("PIN", pin)


@pytest.fixture(params=["mujoco", "exudyn"])
def engine(request):
    pytest.importorskip(request.param)
    return request.param


def run_of(text, engine, step=1e-3):
    return simulate(parse_rig(text), engine, settle=False, step=step)


def gain(track, axis):
    """Acceleration of an axis over the second half of a run."""
    half = slice(len(track.time) // 2, None)
    return float(np.polyfit(track.time[half], track.rate[half, axis], 1)[0])


def closes(run):
    assert run.loads.energy.share < 2e-3
    assert run.loads.wrenches.unbalanced < 1e-3


def test_two_weights_over_a_wheel(engine):
    """Atwood: a = (m2 - m1) g / (m1 + m2), T = 2 m1 m2 g / (m1 + m2)."""
    run = run_of(two(WHEEL), engine)
    assert gain(run.recording.track, 0) == pytest.approx(G / 3, rel=1e-4)
    assert run.recording.track.line_force[-1] == pytest.approx([4 * G / 3] * 2, rel=1e-3)
    pressed = next(p for p in run.loads.lines if p.key == "cord.rope over 1.force")
    assert pressed.value == pytest.approx(2 * run.recording.track.line_force.max(), rel=1e-9)
    closes(run)


def test_a_wheel_of_its_own_inertia_on_a_pin_that_the_cord_takes_along(engine):
    """a = (m2 - m1) g / (m1 + m2 + J / r^2); the pin bears both strands and the wheel's weight."""
    place = "{body: wheel, at: 0 0 500 mm, diameter: 100 mm, axis: y, mu: 1}"
    more = "wheel: {parts: [{lump: 1 kg, at: 0 0 500 mm, inertia: 2e-3 2.5e-3 2e-3 kg*m^2}]}"
    run = run_of(two(place, more=more, pin="shaft: {pin: [frame, wheel], at: 0 0 500 mm, axis: y}"), engine)
    track = run.recording.track
    a = G / (3 + 2.5e-3 / 0.05**2)
    assert gain(track, 0) == pytest.approx(a, rel=1e-3)
    tight, slack = 2 * (G - a), G + a
    late = slice(-200, None)
    assert track.line_force[late].mean(axis=0) == pytest.approx([slack, tight], rel=3e-3)
    names = list(run.recording.assembly.rig.joints)
    borne = np.linalg.norm(run.loads.wrenches.force[late, names.index("shaft")], axis=1)
    assert borne.mean() == pytest.approx(tight + slack + G, rel=2e-3)
    assert borne == pytest.approx(track.line_force[late].sum(axis=1) + G, rel=1e-3)
    closes(run)


@pytest.mark.parametrize("place", [WHEEL[:-1] + ", mu: 0.2}", "{body: frame, at: 0 0 500 mm, mu: 0.2}"])
def test_a_cord_that_slides_over_a_bar_or_an_eye(engine, place):
    """Capstan: T2 = T1 e^(mu angle), with half a turn."""
    share = exp(0.2 * pi)
    run = run_of(two(place, b=3), engine)
    track = run.recording.track
    angle = pi if "diameter" in place else None
    slack, tight = track.line_force[-1]
    if angle is None:  # the strands lean towards the eye
        one, two_ = (
            (track.line_end[-1, 0] - track.line_start[-1, 0]),
            (track.line_end[-1, 1] - track.line_start[-1, 1]),
        )
        angle = np.arccos(one @ two_ / np.linalg.norm(one) / np.linalg.norm(two_))
        assert tight / slack == pytest.approx(exp(0.2 * angle), rel=1e-6)
        return
    assert tight / slack == pytest.approx(share, rel=1e-6)
    assert gain(track, 0) == pytest.approx(G * (3 - share) / (3 + share), rel=1e-3)
    closes(run)


def test_a_cord_that_sticks_on_a_bar(engine):
    """1.5 < e^(0.2 pi): it stands, and both strands bear their own weight."""
    run = run_of(two(WHEEL[:-1] + ", mu: 0.2}", b=1.5).replace("for: 0.5", "for: 1"), engine)
    track = run.recording.track
    assert abs(track.rate[-1]).max() < 1e-3
    assert abs(track.coordinate[-1] - track.coordinate[-300]).max() < 1e-4
    assert track.line_force[-1, 1] / track.line_force[-1, 0] < exp(0.2 * pi) + 1e-9
    assert track.line_force[-50:].mean(axis=0) == pytest.approx([G, 1.5 * G], rel=1e-2)


TACKLE = """
rig: 1
name: Tackle
bodies:
  frame: {fixed: true}
  block: {parts: [{lump: 3 kg, at: 0 0 0 mm}]}
  hand: {parts: [{lump: 1 kg, at: 150 0 0 mm}]}
joints:
  up: {slider: [frame, block], at: 0 0 0 mm, along: z}
  down: {slider: [frame, hand], at: 150 0 0 mm, along: z}
cords:
  fall:
    from: {body: frame, at: -50 0 500 mm}
    over:
      - {body: block, at: 0 0 0 mm, diameter: 100 mm, axis: y}
      - {body: frame, at: 100 0 500 mm, diameter: 100 mm, axis: y}
    to: {body: hand, at: 150 0 0 mm}
    stiffness: 20 kN
    damping: 1
run: {for: 0.5 s}
"""


def test_tackle_doubles_the_pull(engine):
    """The block rises by half of what the hand falls: a = (2 m1 - m2) g / (4 m1 + m2)."""
    run = run_of(TACKLE, engine)
    track = run.recording.track
    up = (2 * 1 - 3) * G / (4 * 1 + 3)
    assert gain(track, 0) == pytest.approx(up, rel=1e-3)
    assert gain(track, 1) == pytest.approx(-2 * up, rel=1e-3)
    assert track.line_force[-1] == pytest.approx([G - 2 * up] * 3, rel=2e-3)
    closes(run)


DRUM = """
rig: 1
name: Drum
bodies:
  frame: {fixed: true}
  drum: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 1e-3 2e-3 1e-3 kg*m^2}]}
  weight: {parts: [{lump: 0.5 kg, at: 20 0 -300 mm}]}
joints:
  shaft: {pin: [frame, drum], at: 0 0 0 mm, axis: y}
  rail: {slider: [frame, weight], at: 20 0 -300 mm, along: z}
cords:
  line:
    from: {body: drum, at: 0 0 0 mm, diameter: 40 mm, axis: y, way: with}
    to: {body: weight, at: 20 0 -300 mm}
    stiffness: 20 kN
    damping: 1
run: {for: 1.5 s}
"""


def test_a_weight_unwinds_a_drum(engine):
    """a = m g r^2 / (J + m r^2), T = m (g - a); 2 pi r of cord a turn, over several turns."""
    run = run_of(DRUM, engine)
    track = run.recording.track
    a = 0.5 * G * 0.02**2 / (2e-3 + 0.5 * 0.02**2)
    assert gain(track, 1) == pytest.approx(-a, rel=1e-3)
    turn, fall = track.coordinate[-1]
    assert abs(turn) > 2.5 * pi
    assert -fall == pytest.approx(0.02 * abs(turn), abs=2e-4)
    assert track.line_force[-1, 0] == pytest.approx(0.5 * (G - a), rel=2e-3)
    closes(run)


FALL = """
rig: 1
name: Fall
bodies:
  frame: {fixed: true}
  weight: {parts: [{lump: 1 kg, at: 0 0 0 mm}]}
joints: {rail: {slider: [frame, weight], at: 0 0 0 mm, along: z}}
cords:
  tether:
    {from: {body: frame, at: 0 0 500 mm}, to: {body: weight, at: 0 0 0 mm}, stiffness: 5 kN, slack: 50 mm, damping: 0}
run: {for: 0.3 s}
"""


def test_a_slack_cord_does_nothing_until_it_jerks(engine):
    """F = m g + sqrt((m g)^2 + 2 m g h k), by energy."""
    run = run_of(FALL, engine, 2e-4)
    track = run.recording.track
    falls = track.time < sqrt(2 * 0.05 / G) - 1e-3
    assert not track.line_force[falls].any()
    assert track.rate[falls][-1, 0] == pytest.approx(-G * track.time[falls][-1], rel=1e-3)
    k = 5000 / 0.5
    assert track.line_force.max() == pytest.approx(G + sqrt(G * G + 2 * G * 0.05 * k), rel=3e-3)


JAW = """
rig: 1
name: Jaw
bodies:
  frame: {fixed: true}
  arm: {parts: [{lump: 5 kg, at: 0 0 0 mm, inertia: 0.5 0.5 0.5 kg*m^2}]}
  jaw: {parts: [{lump: 50 g, at: 0 0 -200 mm}]}
joints:
  elbow: {pin: [frame, arm], at: 0 0 0 mm, axis: y}
  rail: {slider: [frame, jaw], at: 0 0 -200 mm, along: z}
cords:
  pull:
    from: {body: jaw, at: 0 0 -200 mm}
    over: [{body: frame, at: 0 0 -100 mm}]
    to: {body: arm, at: 100 0 0 mm}
    material: UHMWPE braid
    diameter: 1 mm
    damping: 1
run: {for: 0.5 s, start_speeds: {elbow: -1 rad/s}}
"""


def test_a_jaw_is_pulled_by_the_rise_of_an_arm(engine):
    """The jaw rises by what the way from the eye to the arm's end gets longer."""
    track = run_of(JAW, engine, 2e-4).recording.track
    turn, rise = track.coordinate[-1]
    assert turn == pytest.approx(-0.5, rel=0.02)
    far = hypot(0.1 * cos(turn), -0.1 * sin(turn) + 0.1)
    assert far - hypot(0.1, 0.1) > 0.02
    assert rise == pytest.approx(far - hypot(0.1, 0.1), abs=2e-4)


def test_a_stiff_cord_between_moving_bodies_settles_soon():
    text = (
        DRUM.replace("for: 1.5 s", "for: 6 s")
        .replace("20 kN", "6 kN")
        .replace("axis: y}\n", "axis: y, viscous: 5 N*mm*s/rad}\n")
    )
    text = text.replace("damping: 1", "damping: 0.05")
    simulate(parse_rig(text), "mujoco", settle=False, step=5e-3)  # compiled before the clock starts
    began = time.process_time()
    run = simulate(parse_rig(text), "mujoco")
    assert time.process_time() - began < 10.0
    assert all(p.band is None or p.band.settled for p in run.loads.lines)


def test_a_spring_at_its_end_gives_with_it(engine):
    """The weight hangs by m g (1 / k + L / EA) lower."""
    text = FALL.replace("at: 0 0 500 mm}", "at: 0 0 500 mm, spring: 500 N/m}").replace(
        "slack: 50 mm, damping: 0", "damping: 1"
    )
    track = run_of(text.replace("for: 0.3", "for: 2"), engine).recording.track
    assert -track.coordinate[-1, 0] == pytest.approx(G * (1 / 500 + 0.5 / 5000), rel=1e-3)


def test_the_bullet_engine_says_that_it_carries_none():
    pytest.importorskip("pybullet")
    with pytest.raises(EngineError, match="carries no cords"):
        run_of(two(WHEEL), "bullet")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("body: a, at", "body: c, at", "cords.rope.from.body"),
        ("stiffness: 20 kN", "material: silk", "there is no cord 'silk'"),
        ("diameter: 100 mm, axis: y", "diameter: 100 mm", "a diameter and an axis"),
        ("body: a, at", "body: a, mu: 0.1, at", "doesn't slip there"),
        ("stiffness: 20 kN", "stiffness: 20 kN\n    length: 1 m\n    slack: 10 mm", "say the same thing"),
    ],
)
def test_what_is_wrong_is_told(old, new, said):
    with pytest.raises(RigError) as error:
        parse_rig(two(WHEEL).replace(old, new, 1))
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("at: 0 0 500 mm, diameter", "at: -50 0 20 mm, diameter", "one inside the other"),
        ("damping: 1", "damping: 1\n    length: 500 mm", "stretched by more than 20 %"),
    ],
)
def test_what_cannot_be_laid_in_is_told(old, new, said):
    with pytest.raises(RigError, match=said):
        actuate(assemble(parse_rig(two(WHEEL).replace(old, new, 1))))


def test_a_cord_that_slants_onto_its_wheel_is_told():
    told = "out of the plane of a wheel"
    for at, expected in (("at: 0 100 500 mm, diameter", True), ("at: 0 0 500 mm, diameter", False)):
        rig = parse_rig(two(WHEEL).replace("at: 0 0 500 mm, diameter", at))
        assert any(told in words for words in actuate(assemble(rig)).notes) is expected


def test_a_cord_that_lifts_off_its_wheel_is_told():
    """It is drawn over a bar, and its end rises past it."""
    text = JAW.replace(
        "{body: frame, at: 0 0 -100 mm}", "{body: frame, at: 40 0 -60 mm, diameter: 20 mm, axis: y}"
    )
    text = text.replace("elbow: -1 rad/s", "elbow: -2 rad/s").replace("for: 0.5 s", "for: 0.8 s")
    with pytest.raises(EngineError, match="lifts off the round thing"):
        run_of(text, "mujoco")


def test_a_cord_drawn_straight_past_a_wheel_wants_its_way():
    text = two("{body: frame, at: 0 0 0 mm, diameter: 20 mm, axis: y}")
    with pytest.raises(RigError, match="straight past it"):
        run_of(text, "mujoco")


def test_a_pin_rubs_by_the_pull_of_its_wheel(engine):
    """T2 - T1 = mu R d / D + J a / r^2, with R what the pin bears."""
    place = "{body: wheel, at: 0 0 500 mm, diameter: 100 mm, axis: y, mu: 1}"
    more = "wheel: {parts: [{lump: 50 g, at: 0 0 500 mm, inertia: 1e-5 1e-5 1e-5 kg*m^2}]}"
    pin = "shaft: {pin: [frame, wheel], at: 0 0 500 mm, axis: y, friction: 0.3, diameter: 10 mm}"
    run = run_of(two(place, more=more, pin=pin), engine, 5e-4)
    track = run.recording.track
    slack, tight = track.line_force[-200:].mean(axis=0)
    rubs = 0.3 * (slack + tight + 0.05 * G) * 5 / 50
    assert tight - slack == pytest.approx(rubs + 1e-5 * gain(track, 0) / 0.05**2, rel=5e-3)


def test_a_mast_that_bends_gives_way_to_its_cord():
    """The pull settles at that of the weight, which hangs lower by what the mast bends (statics)."""
    pytest.importorskip("exudyn")
    text = """
    rig: 1
    name: Mast
    bodies:
      frame: {fixed: true}
      mast: {parts: [{pipe: 1/2 in PVC, bends: true, from: 0 0 0 mm, to: 0 0 1000 mm}]}
      weight: {parts: [{lump: 0.5 kg, at: 300 0 500 mm}]}
    joints:
      foot: {fixed: [frame, mast], at: 0 0 0 mm}
      rail: {slider: [frame, weight], at: 300 0 500 mm, along: z, viscous: 4 N*s/m}
    cords:
      rope:
        from: {body: mast, at: 0 0 1000 mm}
        over: [{body: frame, at: 300 0 1000 mm}]
        to: {body: weight, at: 300 0 500 mm}
        stiffness: 20 kN
    run: {for: 3 s}
    """
    track = run_of(text, "exudyn", 2e-3).recording.track
    assert track.line_force[-300:].mean(axis=0) == pytest.approx([0.5 * G] * 2, rel=0.02)
    assert track.coordinate[-1, 0] < -0.02


BOTH = """
rig: 1
name: Both
bodies:
  frame: {fixed: true}
  one: {parts: [{lump: 1 kg, at: 0 0 100 mm}]}
  two: {parts: [{ball: 40 mm, mass: 2 kg, at: 300 0 20 mm}]}
joints:
  left: {slider: [frame, one], at: 0 0 100 mm, along: z}
  right: {slider: [frame, two], at: 300 0 20 mm, along: z}
contacts: {floor: {ball: two, at: 300 0 20 mm, diameter: 40 mm, friction: 0.3, stiffness: 1e5 N/m}}
cords:
  first: {from: {body: frame, at: 0 0 500 mm}, to: {body: one, at: 0 0 100 mm}, stiffness: 2 kN, damping: 1}
  second:
    from: {body: frame, at: 200 0 300 mm}
    over: [{body: frame, at: 250 0 500 mm}]
    to: {body: two, at: 300 0 20 mm}
    stiffness: 2 kN
    slack: -2 mm
    damping: 1
run: {for: 1 s}
"""


def test_two_cords_beside_a_contact(engine, tmp_path):
    """Each bears its own; what is tight as drawn takes weight off the floor. A recording keeps all of it."""
    run = run_of(BOTH, engine, 2.5e-4)
    track = run.recording.track
    first, before, after = track.line_force[-1]
    assert first == pytest.approx(G, rel=1e-3)
    assert before == pytest.approx(after, rel=1e-9)
    assert 1.0 < after < 2 * G
    upward = after * 0.48 / hypot(0.05, 0.48)
    assert track.touch_force[-1, 0, 2] == pytest.approx(2 * G - upward, rel=1e-2)
    closes(run)
    save_recording(run.recording, tmp_path / "run.npz")
    again = load_recording(tmp_path / "run.npz")
    assert np.array_equal(again.track.line_force, track.line_force)
    assert [p.value for p in joint_loads(again).lines] == [p.value for p in run.loads.lines]


def test_a_cord_breaks_at_what_its_knots_leave():
    """Half of 100 N over five times the pull of the jerk."""
    run = run_of(FALL.replace("damping: 0", "damping: 0, breaks: 100 N"), "mujoco", 2e-4)
    check = next(c for c in run.strength.checks if c.place == "cord tether")
    most = G + sqrt(G * G + 2 * G * 0.05 * 1e4)
    assert check.demand == pytest.approx(most, rel=3e-3)
    assert check.margin == pytest.approx(50 / (5 * check.demand))
    assert check.verdict == "fail"
    assert any("lashes back" in words for words in run.cautions)
    unknown = run_of(FALL, "mujoco", 1e-3).strength.checks
    assert next(c for c in unknown if c.place == "cord tether").margin is None


def test_a_hook_at_its_end_is_checked_with_its_own_pull():
    held = "damping: 0, held_by: {from: {bolt: M6}}"
    run = run_of(FALL.replace("damping: 0", held), "mujoco", 1e-3)
    most = run.recording.track.line_force.max()
    told = [c for c in run.strength.checks if "tether" in c.place]
    assert any(c.demand is not None for c in told if c.place != "cord tether")
    waits = next(c for c in told if c.name == "hook")
    assert waits.demand == pytest.approx(most)


def test_its_fields_are_told():
    text = str(reference())
    assert "cords" in text
    assert "knot" in text
