"""The rigs of the orchard's autumn walk against what can be said of them by hand.

Limits of a crank and rocker: law of cosines with crank and rod in line (any text on mechanisms). Rolling without slip,
statics, work and energy: any text on mechanics.
"""

from __future__ import annotations

import wave
from functools import cache
from math import acos, atan2, hypot, radians, sin
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from simprop.loads.joints import all_peaks
from simprop.rig.load import load_rig
from simprop.run.simulate import simulate

RIGS = Path(__file__).parents[2] / "rigs"
G = 9.80665


@cache
def run_of(name, step=1e-3):
    return simulate(load_rig(RIGS / f"{name}.yaml"), settle=False, step=step)


def coordinate(run, joint):
    axes = run.assembly.axes
    return run.track.coordinate[
        :, next(k for k, a in enumerate(axes) if run.assembly.joints[a.joint].name == joint)
    ]


def body(run, name):
    return next(k for k, b in enumerate(run.assembly.bodies) if b.name == name)


def at(run, peak):
    return run.loads.history(next(p for p in all_peaks(run.loads) if p.key == peak))


def rocker(crank, rod, lever, ground):
    """Swing of a rocker, rad: crank and rod once outstretched, once folded."""
    near, far = (
        acos((lever**2 + ground**2 - d**2) / (2 * lever * ground)) for d in (rod - crank, rod + crank)
    )
    return far - near


def test_the_harvest_nodder_nods_as_deep_as_its_crank_says():
    """15 rpm is a nod in 4 s; the lath carries the head's weight on a lever of 75 mm, and the bolt's friction."""
    run = run_of("harvest_nodder")
    head = coordinate(run, "neck")
    assert np.ptp(head) == pytest.approx(rocker(20, 320.624, 75, hypot(75, 320)), abs=1e-3)
    turned = coordinate(run, "shaft")
    assert abs(turned[-1] - turned[3000]) == pytest.approx(
        (len(turned) - 1 - 3000) * 1e-3 * np.pi / 2, rel=1e-3
    )
    k = body(run, "head")
    lever = run.track.position[:, k, 1]  # of its weight, about the bolt at y = 0
    moment = run.assembly.bodies[k].mass * G * lever
    late = run.track.time > 1.0
    pulled = np.abs(moment[late]).max() + 0.02
    assert at(run, "joint.heel.force")[late].max() == pytest.approx(
        pulled / 0.075, rel=0.12
    )  # it speeds up and slows


def test_the_two_handed_peeper_lays_its_hands_on_the_wall():
    """The crank lifts the crossbar by twice its throw; link, lever and what lies between their far ends are a triangle,
    and the hand's swing is what its angle at the shoulder and the direction to the crossbar turn by."""
    run = run_of("two_hand_peeper")
    lever, link = hypot(38.73, 70), hypot(58.73, 138)

    def angle(up):
        y, z = 20.0, 527.0 + up - 735.0  # from the shoulder to the crossbar's end
        apart = hypot(y, z)
        return acos((lever**2 + apart**2 - link**2) / (2 * lever * apart)) - atan2(y, -z)

    assert np.ptp(coordinate(run, "tee")) == pytest.approx(0.140, abs=1e-5)
    for side in ("left", "right"):
        assert np.ptp(coordinate(run, f"{side}_shoulder")) == pytest.approx(
            angle(140.0) - angle(0.0), abs=1e-3
        )
    palm = run.assembly.rig.points["right_palm"]
    hand = body(run, "right_hand")
    arm = np.array(palm[:3]) - run.assembly.bodies[hand].com
    tip = run.track.position[:, hand] + Rotation.from_quat(run.track.rotation[:, hand]).apply(arm)
    over = tip[:, 1].argmin()
    assert tip[over, 1] < -0.155  # in front of the wall, and no lower than its top
    assert tip[over, 2] > 0.715


def test_the_press_rocker_rolls_on_its_rails():
    """What rolls turns about where it touches: the rod's end, 240 mm behind that and 300 mm up, is pushed along the
    rod by 45 mm either way. Over a turn of the crank the ground bears all the weight but what hangs on the shaft."""
    run = run_of("press_rocker")
    tilt = run.track.spin[:, body(run, "chair"), 1].cumsum() * run.track.step
    rod = np.array([480.0, -95.0]) / hypot(480, 95)
    assert np.ptp(tilt) == pytest.approx(2 * 45 / float(np.array([300.0, -240.0]) @ rod), rel=0.06)
    turned = np.abs(coordinate(run, "shaft"))
    first, last = np.searchsorted(turned, [turned[-1] - 2 * np.pi, turned[-1]])
    ground = run.track.touch_force[first:last, :, 2].sum(axis=1).mean()
    shaft = [j.name for j in run.assembly.joints].index("shaft")
    held = run.loads.wrenches.force[first:last, shaft, 2].mean()
    weight = sum(b.mass for b in run.assembly.bodies if b.name != "box") * G
    assert ground + held == pytest.approx(weight, rel=2e-3)
    assert run.track.touch_force[first:last, :, 2].min() > 0.3 * weight / 2  # it stays on both rails


def test_the_lantern_grabber_opens_its_hand_by_a_cord():
    """The jaw opens until the cord, stretched by its pull, just reaches from the eye over the elbow to the horn."""
    run = run_of("lantern_grabber", 5e-4)
    arm, jaw = coordinate(run, "shoulder"), coordinate(run, "jaw")
    assert np.ptp(arm) == pytest.approx(rocker(50, 280, hypot(87, 50), hypot(87, 280)), abs=2e-3)
    assert jaw.min() > -radians(2)
    top = int(arm.argmax())
    elbow = np.array([101.0, -218.0])
    turn = np.array([[np.cos(arm[top]), -np.sin(arm[top])], [np.sin(arm[top]), np.cos(arm[top])]])
    eye, wrist, horn = np.array([-7.0, -39.0]), np.array([227.0, 106.0]), np.array([227.0, 151.0])
    drawn = np.linalg.norm(elbow - eye) + np.linalg.norm(horn)
    pull = float(run.track.line_force[top].mean())
    cord = (drawn + 3.0) * (1 + pull / (0.6e9 * np.pi / 4 * 0.0015**2))
    left = cord - np.linalg.norm(turn @ elbow - eye)  # from the elbow to the horn
    reach = np.linalg.norm(wrist)
    between = acos((reach**2 + 45**2 - left**2) / (2 * reach * 45))
    start = acos((reach**2 + 45**2 - float(horn @ horn)) / (2 * reach * 45))
    assert jaw[top] == pytest.approx(start - between, abs=radians(1.5))
    assert jaw[top] > radians(30)
    # the pull is what the spring of the hand asks for at that angle, and its own weight
    assert pull * reach * 45 * sin(between) / left / 1000 == pytest.approx(
        0.15 * (jaw[top] + radians(40)), rel=0.3
    )


@pytest.mark.parametrize("play", ["5 mm", "0.4 mm"])
def test_the_cross_scarecrow_leans_in_its_cross(play):
    """At most as far as play and walls let it, (c + (N1 + N2) / k) / b, and most of that; it bobs by 2 x 40 mm."""
    rig = load_rig(RIGS / "cross_scarecrow.yaml", {"play": play, "run.for": "2.5 s"})
    run = simulate(rig, settle=False, step=3e-4)
    mast = body(run, "mast")
    upright = Rotation.from_quat(run.track.rotation[:, mast]).apply([0, 0, 1])
    lean = np.arccos(upright[:, 2])
    pressed = np.linalg.norm(run.track.touch_force, axis=2).sum(axis=1)
    room = (float(play.removesuffix(" mm")) / 1000 + pressed / 60e3) / 0.110
    assert (lean <= room + 2e-3).all()
    assert lean.max() > 0.8 * room[lean.argmax()]
    assert np.ptp(run.track.position[:, mast, 2]) == pytest.approx(0.080, abs=2e-3)


def test_the_cellar_lid_hangs_on_its_counterweight():
    """Open and at rest: the rope pulls with 4 kg, and the actuator holds what is left of the moments of weight and rope
    about the hinges."""
    run = run_of("cellar_lid", 5e-4)
    time, angle = run.track.time, coordinate(run, "hinge_front")
    rest = (time > 4.0) & (time < 4.35)
    assert np.ptp(angle[rest]) < 2e-3
    assert np.median(run.track.line_force[rest, 1]) == pytest.approx(4 * G, rel=0.01)
    lid = run.assembly.bodies[body(run, "lid")]
    turn = float(angle[rest].mean())
    swing = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    hinge = np.array([-0.350, 0.262])

    def pulled(force, to, towards):
        arm = swing @ (np.array(to) - hinge)
        way = np.array(towards) - (hinge + arm)
        way /= np.linalg.norm(way)
        return force * (arm[0] * way[1] - arm[1] * way[0])

    middle = swing @ (lid.com[[0, 2]] - hinge)
    rope = pulled(4 * G, (0.060, 0.290), (-0.540, 0.940))
    push = float(np.median(np.abs(run.track.line_force[rest, 0])))
    assert push * -pulled(1.0, (-0.150, 0.262), (-0.320, 0.050)) == pytest.approx(
        abs(lid.mass * G * middle[0] - rope), abs=0.3
    )


def test_the_two_head_never_looks_the_same_way_twice():
    """15.8 and 21.7 rpm at 5 V: the motors meet again after 60 / 5.9 s. Swing of neck and nod by their cranks."""
    run = run_of("two_head")
    assert np.ptp(coordinate(run, "neck")) == pytest.approx(rocker(30, 104.403, 60, 100), abs=2e-3)
    assert np.ptp(coordinate(run, "axle")) == pytest.approx(rocker(24, 122.376, 60, 134.164), abs=2e-3)
    paces = [
        np.ptp(coordinate(run, j)[2000:]) / (run.track.time[-1] - run.track.time[2000])
        for j in ("motor", "shaft")
    ]
    assert 2 * np.pi / (paces[1] - paces[0]) == pytest.approx(60 / 5.9, rel=0.06)


def test_the_talking_pumpkin_opens_with_the_loudness_of_its_voice():
    """Silence is a shut mouth; the loudest syllable opens it by the 24 deg of the cue, less the servo's lag."""
    run = run_of("talking_pumpkin", 5e-4)
    opened, time = np.abs(coordinate(run, "hinge")), run.track.time
    with wave.open(str(RIGS / "sounds" / "greeting.wav")) as sound:
        rate, samples = sound.getframerate(), np.frombuffer(sound.readframes(sound.getnframes()), "<i2")
    assert opened[time < 0.55].max() < radians(3)
    assert opened[time > 0.6 + len(samples) / rate + 0.5].max() < radians(3)
    assert radians(15) < opened.max() < radians(26)
    # it follows the voice, 0.1 s behind it: the servo's way
    loud = np.convolve(np.abs(samples / 32768.0), np.ones(rate // 20) / (rate // 20), "same")
    heard = np.interp(time, 0.7 + np.arange(len(loud)) / rate, loud, left=0.0, right=0.0)
    talks = (time > 0.7) & (time < 0.6 + len(samples) / rate)
    assert np.corrcoef(heard[talks], opened[talks])[0, 1] > 0.5


def test_the_barrel_riser_hangs_half_on_its_weight():
    """As it rises the rope pulls 0.8 kg, the actuator the rest of the carriage; it rises at the pace of a lightly
    loaded screw, 100 mm/s less its loss."""
    run = run_of("barrel_riser", 5e-4)
    time, up = run.track.time, coordinate(run, "rail")
    assert up[time < 3.9].max() - up[0] > 0.3
    speed = np.gradient(up, time)[(time > 1.5) & (time < 3.0)]
    assert np.median(speed) == pytest.approx(0.1, rel=0.08)
    steady = (time > 1.5) & (time < 3.0)
    mass = run.assembly.bodies[body(run, "carriage")].mass
    names = [line.name for line in run.recording.laws.lines]
    rope = run.track.line_force[steady, names.index("balance")]
    assert np.median(rope) == pytest.approx(0.8 * G, rel=0.01)
    push = np.abs(np.median(run.track.line_force[steady, names.index("lift")]))
    assert push == pytest.approx((mass - 0.8) * G + 3.0, rel=0.02)  # 3 N of friction


def test_the_twitch_crow_is_held_against_its_pad():
    """While the pulse lasts, the pad of 30 N*m/rad at 17 deg takes what the lock's 30 N on 55 mm
    leave over the spring and the crow's weight."""
    run = run_of("twitch_crow", 2e-4)
    turned, time = coordinate(run, "perch"), run.track.time
    angle = float(np.median(turned[(time > 0.65) & (time < 0.74)]))
    names = [line.name for line in run.recording.laws.lines]
    pulls = np.median(run.track.line_force[(time > 0.65) & (time < 0.74)], axis=0)
    heel = np.array([-55 * sin(angle), -55 * np.cos(angle)]) / 1000

    def moment(name, post):
        way = np.array(post) / 1000 - heel
        way /= np.linalg.norm(way)
        return float(pulls[names.index(name)] * (heel[0] * way[1] - heel[1] * way[0]))

    crow = run.assembly.bodies[body(run, "crow")]
    lean = crow.com - np.array([0.0, 0.0, 0.640])
    weight = crow.mass * G * (lean[0] * np.cos(angle) + lean[2] * sin(angle))
    total = abs(moment("kick", (150, -55))) - abs(moment("back", (150, -55))) + weight
    assert pulls[names.index("kick")] == pytest.approx(-30, rel=0.12)  # on 12 V less its line
    assert 30 * (angle - radians(17)) == pytest.approx(total, rel=0.03)
    rests = np.median(turned[(time > 1.3) & (time < 1.45)])
    assert abs(rests) < radians(1)  # and the spring brings it back


def test_the_air_popup_swings_by_its_stroke_and_stands_on_its_weld():
    """95 mm of stroke turn a lever of 74.6 mm by the law of cosines; at rest the weld bears all that stands on it."""
    run = run_of("air_popup", 2e-4)
    angle, time = coordinate(run, "pivot"), run.track.time
    lever, ground, closed = hypot(43, 61), hypot(283, 54), hypot(240, 7)
    far, near = (acos((lever**2 + ground**2 - d**2) / (2 * lever * ground)) for d in (closed + 95, closed))
    assert angle.max() == pytest.approx(far - near, rel=0.03)
    weld = [j.name for j in run.assembly.joints].index("weld")
    rest = (time > 0.05) & (time < 0.38)  # it trembles on the rubber of its ram: count its momentum
    speed = run.track.velocity[rest, body(run, "arm"), 2]
    gained = run.assembly.bodies[body(run, "arm")].mass * (speed[-1] - speed[0]) / np.ptp(time[rest])
    weight = sum(run.assembly.bodies[body(run, n)].mass for n in ("mast", "arm")) * G
    assert run.loads.wrenches.force[rest, weld, 2].mean() == pytest.approx(weight + gained, rel=3e-3)


def test_the_flapping_owl_beats_both_wings_alike_and_its_springs_help():
    """The slide's 60 mm come to the wings by rods of one length; the springs carry the wings."""
    run = run_of("flap_owl")
    left, right = coordinate(run, "hinge_left"), coordinate(run, "hinge_right")
    assert left == pytest.approx(-right, abs=1e-4)

    def raised(slide):
        foot, rod = np.array([60.0, 1040.0 + slide]), hypot(65, 190)
        reach = foot - np.array([50.0, 1230.0])
        far = float(np.hypot(*reach))
        return np.arctan2(reach[1], reach[0]) + acos((75**2 + far**2 - rod**2) / (2 * 75 * far))

    slide = 1000 * coordinate(run, "tube")
    assert np.ptp(slide) == pytest.approx(60, abs=0.1)
    assert np.ptp(right) == pytest.approx(raised(slide.max()) - raised(slide.min()), abs=2e-3)
    bare = simulate(load_rig(RIGS / "flap_owl.yaml", {"lift": "0.1 N/m"}), settle=False, step=1e-3)
    asked = [max(p.value for p in all_peaks(r.loads) if p.key == "motor.drive.load") for r in (run, bare)]
    assert asked[1] > 1.3 * asked[0]


def test_the_marionette_winds_one_arm_up_as_it_lets_the_other_down():
    """A turn of the drum by q takes 22 mm q of each cord: from pulley to hand it is so much shorter, or longer."""
    run = run_of("marionette")
    turned, time = coordinate(run, "shaft"), run.track.time
    for joint, side, way in (("shoulder_left", -1, 1), ("shoulder_right", 1, -1)):
        arm = coordinate(run, joint)
        for t in (1.75, 4.55):
            k = int(np.searchsorted(time, t))
            # turned about y by q: x goes to x cos q + z sin q, z to z cos q - x sin q
            q, x, z = arm[k], side * 160.0, -48.0
            tie = np.array([side * 75 + x * np.cos(q) + z * sin(q), 620 + z * np.cos(q) - x * sin(q)])
            free = [np.sqrt(float(np.sum((p - np.array([side * 250.0, 1000.0])) ** 2)) - 15.0**2)
                    for p in (tie, np.array([side * 235.0, 572.0]))]  # fmt: skip
            assert free[0] - free[1] == pytest.approx(way * 22 * (turned[k] - turned[0]), abs=2.0)
        assert np.ptp(arm) > radians(20)


def test_the_three_head_comes_to_its_poses():
    """Turned to 45 deg, cocked to 22 deg, and all back at nought; its weight lies before the neck."""
    run = run_of("three_head")
    time = run.track.time
    turn, cock, nod = (coordinate(run, j) for j in ("turn", "cock", "nod"))
    for angle, at_rest, wanted in ((turn, 1.7, 45), (cock, 2.1, 22), (turn, 3.5, -35), (nod, 5.7, 0)):
        assert np.degrees(angle[int(np.searchsorted(time, at_rest))]) == pytest.approx(wanted, abs=2.0)
    # before it moves: what stands in front of the neck, and behind it, tilts the lowest pin
    still = (time > 0.1) & (time < 0.4)
    bodies = [run.assembly.bodies[body(run, n)] for n in ("neck", "yoke", "head")]
    moment = abs(sum(b.mass * G * b.com[1] for b in bodies)), abs(sum(b.mass * G * b.com[0] for b in bodies))
    assert float(np.median(at(run, "joint.turn.moment")[still])) == pytest.approx(hypot(*moment), rel=0.03)
