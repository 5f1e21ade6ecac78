"""Screws and worms, and what meshes lose, against closed forms of texts on machine design (Shigley, power screws)."""

from __future__ import annotations

from math import atan, cos, pi, radians, sin, tan

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import RigError
from simprop.laws.friction import thread_friction
from simprop.picture.render.fittings import hardware
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G, MASS, ROD, MU = 9.80665, 10.0, 1e-5, 0.15
JACK = """
rig: 1
name: Jack
bodies:
  frame: {fixed: true}
  rod: {parts: [{lump: 0.2 kg, at: 0 0 0 mm, inertia: 1e-5 1e-5 1e-5 kg*m^2}]}
  load: {parts: [{lump: 10 kg, at: 0 0 100 mm, inertia: 1e-2 1e-2 1e-2 kg*m^2}]}
joints:
  bearing: {pin: [frame, rod], at: 0 0 0 mm, axis: z}
  rail: {slider: [frame, load], at: 0 0 100 mm, along: z}
couplings: {jack: {screw: [bearing, rail], lead: LEAD mm, diameter: 12 mm, starts: STARTS, friction: 0.15, hand: left}}
motors: {push: {joint: bearing, motor: {steady: {torque: TORQUE N*m}}}}
run: {for: 0.1 s}
"""
LEADS = [(2, 1), (8, 4), (24, 6)]


def run_of(rig, engine="mujoco", step=1e-3):
    return simulate(rig, engine, settle=False, step=step)


def jack(lead, starts, torque):
    text = JACK.replace("LEAD", str(lead)).replace("STARTS", str(starts)).replace("TORQUE", f"{torque:.9f}")
    return parse_rig(text)


def levers(lead, starts):
    """Torque for 1 N up and down (positive where it takes a torque to lower), m; and travel for 1 rad, m."""
    mean = (12 - 0.5 * lead / starts) * 1e-3
    angle = atan(lead * 1e-3 / (pi * mean))
    flank = cos(atan(tan(radians(15)) * cos(angle)))
    up = mean / 2 * (flank * tan(angle) + MU) / (flank - MU * tan(angle))
    down = mean / 2 * (MU - flank * tan(angle)) / (flank + MU * tan(angle))
    return up, down, lead * 1e-3 / (2 * pi)


def test_the_law_against_a_worked_example():
    """Shigley: square double thread, 32 mm, pitch 4 mm, f 0.08, 6.4 kN: 15.94 N*m up, -0.466 N*m down, no collar."""
    mean, lead, force = 30e-3, 8e-3, 6400.0
    angle = atan(lead / (pi * mean))
    lever = mean / 2 / cos(angle)
    up = thread_friction(0.08, force, lever, cos(angle), sin(angle)) + force * lead / (2 * pi)
    down = thread_friction(0.08, force, lever, cos(angle), -sin(angle)) - force * lead / (2 * pi)
    assert up == pytest.approx(15.94, abs=0.005)
    assert down == pytest.approx(-0.466, abs=0.0005)


@pytest.mark.parametrize(("lead", "starts"), LEADS)
def test_torque_that_lifts_and_lowers(engine, lead, starts):
    """It moves at 1 % more than T_R and T_L, and stands at 1 % less; three leads, one of them self-locking."""
    up, down, _ = levers(lead, starts)
    weight = MASS * G
    for torque, way in (
        (1.01 * weight * up, 1),
        (0.99 * weight * up, 0),
        (-(down + 0.01 * abs(down)) * weight, -1),
        (-(down - 0.01 * abs(down)) * weight, 0),
    ):
        run = run_of(jack(lead, starts, torque), engine)
        went = run.track.coordinate[-1, 1]
        if way:
            assert way * went > 1e-5
        else:
            assert abs(went) < 1e-8
            assert run.loads.energy.share is None  # nothing went anywhere
        assert run.loads.wrenches.unbalanced < 1e-9


@pytest.mark.parametrize(("lead", "starts"), LEADS)
def test_how_fast_it_lifts_a_weight(engine, lead, starts):
    """J a = T - F up, F = m (g + p a); the guide bears the torque of the spindle, friction and all."""
    up, _, reach = levers(lead, starts)
    torque = 1.3 * MASS * G * up
    run = run_of(jack(lead, starts, torque), engine)
    gain = (torque - MASS * G * up) / (ROD + MASS * reach * up)
    # exudyn turns bodies by Euler parameters: at 0.13 rad a step it is 0.2 % off, a quarter of that at half the step
    near = 3e-3 if engine == "exudyn" else 2e-4
    row = len(run.track.time) // 2
    assert run.track.acceleration[row, 2, 2] == pytest.approx(reach * gain, rel=near)
    force = MASS * (G + reach * gain)
    (thrust,) = run.loads.couplings
    assert run.loads.wrenches.coupled[row, 0] == pytest.approx(-force, rel=near)
    assert thrust.value == pytest.approx(force, rel=5e-3)
    assert run.loads.wrenches.force[row, 0, 2] == pytest.approx(force + 0.2 * G, rel=near)
    assert run.loads.wrenches.moment[row, 1, 2] == pytest.approx(-(torque - ROD * gain), rel=2e-3)
    assert run.loads.energy.share < 2e-3


def test_let_go_it_stands_or_comes_down(engine):
    """Below the angle of friction it stands; a steep one runs down with a = g p B / (J / m + p B)."""
    stands = run_of(jack(2, 1, 0.0), engine)
    assert abs(stands.track.coordinate[-1, 1]) < 1e-8
    for lead, starts in LEADS[1:]:
        _, down, reach = levers(lead, starts)
        run = run_of(jack(lead, starts, 0.0), engine)
        gain = MASS * G * -down / (ROD + MASS * reach * -down)
        row = len(run.track.time) // 2
        assert run.track.acceleration[row, 2, 2] == pytest.approx(
            -reach * gain, rel=3e-3 if engine == "exudyn" else 5e-4
        )


@pytest.mark.parametrize("engine", ["mujoco", "exudyn"])
def test_a_cylindrical_joint_is_a_screw(engine):
    """A frictionless disc runs down its thread: a = g / (1 + J / (m p^2))."""
    text = """
rig: 1
name: Runner
bodies:
  rod: {fixed: true}
  disc: {parts: [{lump: 0.5 kg, at: 0 0 0 mm, inertia: 2e-4 2e-4 4e-4 kg*m^2}]}
joints: {thread: {cylindrical: [rod, disc], at: 0 0 0 mm, axis: z}}
couplings: {down: {screw: [thread, thread], lead: 60 mm, diameter: 30 mm, starts: 4, friction: 0}}
run: {for: 0.2 s}
"""
    run = run_of(parse_rig(text), engine)
    reach = 0.060 / (2 * pi)
    gain = G / (1 + 4e-4 / (0.5 * reach**2))
    assert run.assembly.mobility == 1
    assert run.track.acceleration[50, 1, 2] == pytest.approx(-gain, rel=1e-3)
    # right-handed: what goes down turns clockwise seen from above
    assert run.track.spin[-1, 1, 2] == pytest.approx(-gain * run.track.time[-1] / reach, rel=1e-3)


HOIST = """
rig: 1
name: Hoist
bodies:
  frame: {fixed: true}
  worm: {parts: [{lump: 0.3 kg, at: 0 0 0 mm, inertia: 1e-5 1e-5 1e-5 kg*m^2}]}
  wheel: {parts: [{lump: 2 kg, at: 0 0 45 mm, inertia: 1e-2 1e-2 1e-2 kg*m^2}]}
joints:
  one: {pin: [frame, worm], at: 0 0 0 mm, axis: x}
  two: {pin: [frame, wheel], at: 0 0 45 mm, axis: y}
couplings: {mesh: {worm: [one, two], teeth: 30, starts: STARTS, diameter: 20 mm, friction: 0.1, hand: HAND}}
motors:
  push: {joint: one, motor: {steady: {torque: TORQUE N*m}}}
  load: {joint: two, motor: {steady: {torque: LOAD N*m}}}
run: {for: 0.05 s, gravity: 0 m/s^2}
"""


def hoist(starts, hand, torque):
    """Wound up by a positive torque on the worm, whatever its hand."""
    load = -2.0 if hand == "right" else 2.0
    text = HOIST.replace("STARTS", str(starts)).replace("HAND", hand).replace("LOAD", str(load))
    return parse_rig(text.replace("TORQUE", f"{torque:.9f}"))


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("starts", [1, 4])
def test_a_worm_lifts_lowers_and_holds(engine, starts, hand):
    """W = T2 / r2; T = W r1 (cos 20 sin + mu cos) / (cos 20 cos - mu sin) up; 1 % more moves it, 1 % less doesn't."""
    worm, wheel, flank = 0.010, 0.035, cos(radians(20))
    angle = atan(wheel * starts / 30 / worm)
    push = 2.0 / wheel
    up = push * worm * (flank * sin(angle) + 0.1 * cos(angle)) / (flank * cos(angle) - 0.1 * sin(angle))
    back = push * worm * (flank * sin(angle) - 0.1 * cos(angle)) / (flank * cos(angle) + 0.1 * sin(angle))
    sense = 1.0 if hand == "right" else -1.0
    for torque, way in ((1.01 * up, 1), (0.99 * up, 0), (0.99 * back, -1), (1.01 * back, 0)):
        run = run_of(hoist(starts, hand, torque), engine)
        assert run.assembly.couplings[0].ratio == pytest.approx(sense * starts / 30)
        went = sense * run.track.coordinate[-1, 1]
        assert way * went > 1e-5 if way else abs(went) < 1e-7
        force = run.loads.wrenches.force[-1]
        if not way:  # thrust on the worm, its own torque over its radius, and what parts them
            assert abs(force[0, 0]) == pytest.approx(push, rel=1e-3)
            assert abs(force[0, 1]) == pytest.approx(torque / worm, rel=1e-3)
            assert force[0, 2] == pytest.approx(push * tan(radians(20)) / cos(angle), rel=1e-3)
            assert force[1] == pytest.approx(-force[0], abs=1e-6)


def test_a_mesh_loses_its_share(engine):
    """T = (J1 + J2 / n^2 (1 + loss)) a, the loss of the force handed on."""
    text = """
rig: 1
name: Train
bodies:
  frame: {fixed: true}
  pinion: {parts: [{lump: 0.2 kg, at: 0 0 0 mm, inertia: 1e-4 2e-4 1e-4 kg*m^2}]}
  wheel: {parts: [{lump: 1 kg, at: 60 0 0 mm, inertia: 2e-3 4e-3 2e-3 kg*m^2}]}
joints:
  one: {pin: [frame, pinion], at: 0 0 0 mm, axis: y}
  two: {pin: [frame, wheel], at: 60 0 0 mm, axis: y}
couplings: {mesh: {gears: [one, two], teeth: [12, 36], loss: 0.05}}
motors: {push: {joint: one, motor: {steady: {torque: 0.5 N*m}}}}
run: {for: 0.1 s, gravity: 0 m/s^2}
"""
    run = run_of(parse_rig(text), engine)
    gain = 0.5 / (2e-4 + 4e-3 / 9 * 1.05)
    assert run.track.spin_acceleration[50, 1, 1] == pytest.approx(
        gain, rel=1e-3 if engine == "exudyn" else 1e-5
    )
    energy = run.loads.energy
    force = 4e-3 * gain / 3 / 0.045
    lost = 0.05 * force * 0.015 * run.track.coordinate[-1, 0]
    assert energy.friction == pytest.approx(-lost, rel=1e-2)
    assert energy.share < 2e-3


def test_notes_tell_how_it_drives_and_holds():
    flat = " ".join(assemble(jack(2, 1, 0.1)).notes)
    assert "couplings.jack: it has a lead angle of 3.3 deg and friction of 0.15: 27 % of the torque" in flat
    assert "the load can't turn it back (self-locking)" in flat
    assert "the load turns it back" in " ".join(assemble(jack(24, 6, 0.1)).notes)
    worm = " ".join(assemble(hoist(1, "right", 0.1)).notes)
    assert "couplings.mesh: it has a lead angle of 6.7 deg" in worm


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("lead: 2 mm", "lead: 30 mm"), "doesn't fit on it"),
        (("along: z", "along: x"), "slides along the axis of its spindle"),
        (("[bearing, rail]", "[rail, bearing]"), "joint 'rail' is a slider: what is tied here turns one way"),
        (
            ("[bearing, rail]", "[bearing, bearing]"),
            "joint 'bearing' is a pin: what is tied here slides one way",
        ),
    ],
)
def test_what_can_t_be_a_screw(change, said):
    text = JACK.replace("LEAD", "2").replace("STARTS", "1").replace("TORQUE", "0")
    assert change[0] in text
    with pytest.raises(RigError) as caught:
        assemble(parse_rig(text.replace(*change)))
    assert said in str(caught.value)


def test_what_can_t_be_a_worm():
    text = HOIST.replace("STARTS", "1").replace("HAND", "right").replace("TORQUE", "0").replace("LOAD", "0")
    for change, said in (
        (("axis: y", "axis: x"), "square to each other"),
        (("diameter: 20 mm", "diameter: 95 mm"), "the worm alone takes 47.5 mm"),
    ):
        with pytest.raises(RigError) as caught:
            assemble(parse_rig(text.replace(*change)))
        assert said in str(caught.value)


def test_a_screw_and_a_worm_are_drawn():
    for rig in (jack(8, 4, 0.1), hoist(4, "left", 0.1)):
        made = hardware(assemble(rig))
        assert {1, 2} <= made.keys()
        assert sum(len(s.faces) for s in made[1]) > 500  # a thread has many


def test_three_engines_tell_the_same():
    peaks = {}
    for engine in ("mujoco", "exudyn", "bullet"):
        pytest.importorskip({"bullet": "pybullet"}.get(engine, engine))
        run = run_of(jack(8, 4, 0.3), engine)
        peaks[engine] = run.loads.wrenches.force[60, 0, 2]
    assert np.ptp(list(peaks.values())) < 1e-3 * peaks["mujoco"]
