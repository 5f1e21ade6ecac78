"""Gears, racks, chains and toothed belts against the closed forms of any text on machine design (Shigley)."""

from __future__ import annotations

import json
from math import atan, cos, pi, radians, sin, tan

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.commands.check import check_rig
from simprop.commands.export import export
from simprop.commands.run import loads_of, write_loads
from simprop.couplings.looks import BRASS
from simprop.errors import AssemblyError, EngineError, RigError
from simprop.picture.render.fittings import hardware
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.run.simulate import simulate

TORQUE, SMALL, LARGE = 0.5, 2e-4, 4e-3
TRAIN = """
rig: 1
name: Train
bodies:
  frame: {fixed: true}
  pinion: {parts: [{lump: 0.2 kg, at: 0 0 0 mm, inertia: 1e-4 2e-4 1e-4 kg*m^2}]}
  wheel: {parts: [{lump: 1 kg, at: FAR 0 0 mm, inertia: 2e-3 4e-3 2e-3 kg*m^2}]}
joints:
  one: {pin: [frame, pinion], at: 0 0 0 mm, axis: y}
  two: {pin: [frame, wheel], at: FAR 0 0 mm, axis: y}
couplings: {mesh: {TIE}}
motors: {push: {joint: one, motor: {steady: {torque: 0.5 N*m}}}}
run: {for: 0.1 s, gravity: 0 m/s^2}
"""


def train(tie="gears: [one, two], teeth: [12, 36]", far="60", **changes):
    text = TRAIN.replace("FAR", far).replace("TIE", tie)
    for old, new in changes.get("changes", ()):
        assert old in text
        text = text.replace(old, new)
    return parse_rig(text)


def run_of(rig, engine="mujoco", step=1e-3):
    return simulate(rig, engine, settle=False, step=step)


def test_two_inertias_under_a_torque(engine):
    """T = (J1 + J2 / n^2) a with n = 3; the wheel turns the other way, a third as fast."""
    run = run_of(train(), engine)
    gain = TORQUE / (SMALL + LARGE / 9)
    assert run.assembly.couplings[0].ratio == pytest.approx(-1 / 3, rel=1e-12)
    assert run.track.spin_acceleration[:, 1, 1] == pytest.approx(
        gain, rel=1e-3 if engine == "exudyn" else 1e-6
    )
    turned = run.track.coordinate
    assert turned[-1, 1] == pytest.approx(-turned[-1, 0] / 3, rel=1e-4 if engine == "exudyn" else 1e-6)
    assert turned[-1, 0] == pytest.approx(0.5 * gain * run.track.time[-1] ** 2, rel=2e-3)
    assert run.loads.energy.share < 2e-3
    assert run.assembly.mobility == 1


def test_teeth_push_on_both_shafts(engine):
    """Ft = J2 a2 / r2 on the pinion's bearing, and Ft tan 20 deg apart; along the line of action Ft / cos 20 deg."""
    run = run_of(train(), engine)
    gain = TORQUE / (SMALL + LARGE / 9)
    along = LARGE * gain / 3 / 0.045  # r1 = 60 mm * 12 / 48
    row = len(run.track.time) // 2
    force = run.loads.wrenches.force[row]
    near = 2e-3 if engine == "exudyn" else 1e-5
    assert abs(force[0, 2]) == pytest.approx(along, rel=near)
    assert force[0, 0] == pytest.approx(
        along * tan(radians(20)), rel=near
    )  # holds the pinion up to the wheel
    assert force[1] == pytest.approx(-force[0], rel=1e-6)
    (tooth,) = run.loads.couplings
    assert tooth.key == "coupling.mesh.force"
    assert tooth.value == pytest.approx(along / cos(radians(20)), rel=near)
    assert run.loads.wrenches.recovered[row, 0] == pytest.approx(TORQUE, rel=1e-4)


def test_which_way_it_pushes_doesn_t_draw_the_shafts_together():
    back = run_of(train(changes=[("0.5 N*m", "-0.5 N*m")]))
    forth = run_of(train())
    one, other = (run.loads.wrenches.force[10, 0] for run in (forth, back))
    assert other[2] == pytest.approx(-one[2])
    assert other[0] == pytest.approx(one[0])
    assert one[0] > 0


def test_a_pinion_in_a_ring(engine):
    """Both turn one way; D = r2 - r1, so r1 = D z1 / (z2 - z1)."""
    run = run_of(train("gears: [one, two], teeth: [12, 36], inside: true"), engine)
    assert run.assembly.couplings[0].ratio == pytest.approx(1 / 3)
    gain = TORQUE / (SMALL + LARGE / 9)
    force = run.loads.wrenches.force[50, 0]
    along = LARGE * gain / 3 / 0.090
    assert abs(force[2]) == pytest.approx(along, rel=2e-3)
    assert force[0] == pytest.approx(-along * tan(radians(20)), rel=2e-3)  # pushed to the middle of the ring


@pytest.mark.parametrize("inside", ["false", "true"])
def test_which_is_named_first_changes_nothing(inside):
    """Each shaft bears the same, whichever of the two the coupling names first."""
    forces = []
    for order, teeth in (("one, two", "12, 36"), ("two, one", "36, 12")):
        tie = f"gears: [{order}], teeth: [{teeth}], inside: {inside}"
        forces.append(run_of(train(tie)).loads.wrenches.force[20])
    assert forces[0] == pytest.approx(forces[1], rel=1e-6)
    assert abs(forces[0][0, 0]) > 1.0


def test_bevel_gears():
    """Shafts at 90 deg, 20 and 40 teeth: cone angle atan(1/2); Ft tan 20 deg splits into cos and sin of it."""
    text = """
rig: 1
name: Bevel
bodies:
  frame: {fixed: true}
  pinion: {parts: [{lump: 0.2 kg, at: 80 0 0 mm, inertia: 2e-4 1e-4 1e-4 kg*m^2}]}
  wheel: {parts: [{lump: 1 kg, at: 0 0 60 mm, inertia: 2e-3 2e-3 4e-3 kg*m^2}]}
joints:
  one: {pin: [frame, pinion], at: 80 0 0 mm, axis: x}
  two: {pin: [frame, wheel], at: 0 0 60 mm, axis: z}
couplings: {mesh: {gears: [one, two], teeth: [20, 40], at: 40 0 20 mm}}
motors: {push: {joint: one, motor: {steady: {torque: 0.5 N*m}}}}
run: {for: 0.05 s, gravity: 0 m/s^2}
"""
    run = run_of(parse_rig(text))
    assert abs(run.assembly.couplings[0].ratio) == pytest.approx(0.5, rel=1e-9)
    gain = TORQUE / (2e-4 + 4e-3 / 4)
    assert run.track.spin_acceleration[10, 1, 0] == pytest.approx(gain, rel=1e-6)
    along = 4e-3 * gain / 2 / 0.040
    force, cone = run.loads.wrenches.force[10, 0], atan(0.5)
    assert abs(force[1]) == pytest.approx(along, rel=1e-6)
    assert force[2] == pytest.approx(
        along * tan(radians(20)) * cos(cone), rel=1e-6
    )  # down on the pinion: held up
    assert force[0] == pytest.approx(
        -along * tan(radians(20)) * sin(cone), rel=1e-6
    )  # pushed off along its shaft


def test_a_rack_lifts_a_weight(engine):
    """T / r - m g = (m + J / r^2) a."""
    text = """
rig: 1
name: Rack
bodies:
  frame: {fixed: true}
  pinion: {parts: [{lump: 0.1 kg, at: 0 0 0 mm, inertia: 1e-5 2e-5 1e-5 kg*m^2}]}
  lift: {parts: [{lump: 2 kg, at: 15 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
joints:
  one: {pin: [frame, pinion], at: 0 0 0 mm, axis: -y}
  slide: {slider: [frame, lift], at: 15 0 0 mm, along: z}
couplings: {up: {rack: [one, slide], teeth: 20, module: 1.5 mm}}
motors: {push: {joint: one, motor: {steady: {torque: 0.5 N*m}}}}
run: {for: 0.1 s}
"""
    run = run_of(parse_rig(text), engine)
    radius = 0.015
    gain = (TORQUE / radius - 2 * 9.80665) / (2 + 2e-5 / radius**2)
    assert run.assembly.couplings[0].ratio == pytest.approx(radius)
    assert run.track.acceleration[20, 2, 2] == pytest.approx(gain, rel=2e-3)
    (tooth,) = run.loads.couplings
    assert tooth.value == pytest.approx(2 * (9.80665 + gain) / cos(radians(20)), rel=2e-3)
    force = run.loads.wrenches.force[20, 0]
    assert force[0] == pytest.approx(2 * (9.80665 + gain) * tan(radians(20)), rel=2e-3)


@pytest.mark.parametrize(("kind", "tension"), [("chain", 0.0), ("toothed_belt", 0.0), ("toothed_belt", 40.0)])
def test_tight_and_slack(engine, kind, tension):
    """Ft = (T1 - T2); a chain's slack side bears none, a belt's strands F0 +- Ft / 2 while that leaves some.

    The shafts stand far apart, so that both strands run nearly along their line: each shaft bears T1 + T2.
    """
    tie = f"{kind}: [one, two], teeth: [20, 40], pitch: 5 mm, tension: {tension} N"
    run = run_of(train(tie, "2000"), engine)
    assert run.assembly.couplings[0].ratio == pytest.approx(0.5, rel=1e-9)
    gain = TORQUE / (SMALL + LARGE / 4)
    pull = LARGE * gain / 2 / (40 * 0.005 / (2 * pi))
    tight = max(tension, pull / 2) + pull / 2
    (top,) = run.loads.couplings
    assert top.value == pytest.approx(tight, rel=2e-3)
    shaft = run.loads.wrenches.force[50, 0]
    assert shaft[0] == pytest.approx(-(2 * tight - pull), rel=3e-3)
    # the strand that pulls comes in at its angle: asin((r2 - r1) / D) to the line of shafts
    lean = (40 - 20) * 0.005 / (2 * pi) / 2.0
    assert abs(shaft[2]) == pytest.approx(pull * lean, rel=0.05)


def test_on_a_carrier_that_moves(engine):
    """A sun held still, an arm that turns, a planet of a third of its teeth: the planet turns 1 + 3 times as fast."""
    text = """
rig: 1
name: Planet
bodies:
  frame: {fixed: true}
  sun: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 0.1 0.1 0.1 kg*m^2}]}
  arm: {parts: [{lump: 1 kg, at: 40 10 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
  planet: {parts: [{lump: 0.3 kg, at: 80 0 0 mm, inertia: 1e-3 1e-3 1e-3 kg*m^2}]}
joints:
  post: {pin: [frame, arm], at: 0 10 0 mm, axis: y}
  hub: {pin: [arm, sun], at: 0 0 0 mm, axis: y}
  pin: {pin: [arm, planet], at: 80 0 0 mm, axis: y}
couplings: {mesh: {gears: [hub, pin], teeth: [36, 12]}}
run: {for: 0.3 s, gravity: 0 m/s^2, start_speeds: {post: 5 rad/s, hub: -5 rad/s}}
"""
    run = run_of(parse_rig(text), engine, 5e-4)
    assert run.assembly.mobility == 2
    assert run.assembly.spin[1] == pytest.approx([0, 0, 0], abs=1e-9)
    assert run.assembly.spin[3] == pytest.approx([0, 20, 0], rel=1e-9)
    # nothing turns it, so that kinetic energy and spin about the post stay as they are
    spin = [run.track.spin[:, k, 1] for k in (1, 2, 3)]
    mass = 0.1 * spin[0] + (0.01 + 0.0016) * spin[1] + 0.3 * 0.0064 * spin[1] + 1e-3 * spin[2]
    assert mass == pytest.approx(np.full(len(mass), mass[0]), rel=2e-3)
    assert run.loads.energy.share is None or run.loads.energy.share < 5e-3


def test_a_train_of_three_and_a_loop():
    assembly = assemble(train())
    assert assembly.mobility == 1
    text = TRAIN.replace("FAR", "60").replace("TIE", "gears: [one, two], teeth: [12, 36]")
    twice = text.replace(
        "couplings: {mesh:", "couplings: {again: {gears: [one, two], teeth: [12, 36]}, mesh:"
    )
    with pytest.raises(AssemblyError, match="say again what joints say"):
        assemble(parse_rig(twice))


@pytest.mark.parametrize(
    ("tie", "far", "said"),
    [
        ("gears: [one, two], teeth: [12, 36], module: 2 mm", "60", "with a module of 2 mm want 48.0 mm"),
        ("gears: [one, one], teeth: [12, 36]", "60", "it ties two joints"),
        ("gears: [one, too], teeth: [12, 36]", "60", "did you mean 'two'"),
        ("gears: [one, two], teeth: [12]", "60", "couplings.mesh.teeth"),
        ("gears: [one, two], teeth: [12, 12], inside: true", "60", "a pinion has fewer teeth than its ring"),
        ("rack: [one, two], pitch_diameter: 30 mm", "60", "joint 'two' doesn't slide"),
        ("rack: [one, two], teeth: 20", "60", "a pinion has one size"),
        ("chain: [one, two], teeth: [20, 40], pitch: 12.7 mm", "60", "the wheels need more than 121.3 mm"),
        ("gear: [one, two], teeth: [20, 40]", "60", "gears"),
        ("gears: [one, two], teeth: [12, 36], pressure_angle: -20 deg", "60", "pressure_angle"),
        ("toothed_belt: [one, two], teeth: [20, 20], pitch: 5 mm, tension: -4 N", "60", "tension"),
    ],
)
def test_faults(tie, far, said):
    with pytest.raises(RigError, match=said) as caught:
        assemble(train(tie, far))
    assert all(f.line for f in caught.value.faults)


def test_bullet_says_what_it_can_t():
    pytest.importorskip("pybullet")
    text = """
rig: 1
name: Loop
bodies:
  frame: {fixed: true}
  crank: {parts: [{bar: 10 x 3 mm, of: steel, from: 0 0 0 mm, to: 0 0 40 mm, thin: y}]}
  rod: {parts: [{bar: 10 x 3 mm, of: steel, from: 0 0 40 mm, to: 120 0 80 mm, thin: y}]}
  rocker: {parts: [{bar: 10 x 3 mm, of: steel, from: 120 0 80 mm, to: 100 0 0 mm, thin: y}]}
  wheel: {parts: [{lump: 1 kg, at: 100 0 -60 mm, inertia: 2e-3 4e-3 2e-3 kg*m^2}]}
joints:
  a: {pin: [frame, crank], at: 0 0 0 mm, axis: y}
  b: {pin: [crank, rod], at: 0 0 40 mm, axis: y}
  c: {pin: [rod, rocker], at: 120 0 80 mm, axis: y}
  d: {pin: [frame, rocker], at: 100 0 0 mm, axis: y}
  e: {pin: [frame, wheel], at: 100 0 -60 mm, axis: y}
couplings: {mesh: {gears: [d, e], teeth: [20, 20]}}
run: {for: 0.1 s, start_speeds: {a: 5 rad/s}}
"""
    rig = parse_rig(text)
    both = [run_of(rig, name, 2e-4) for name in ("mujoco", "exudyn")]
    ends = [run.track.position[-1, 4] for run in both]
    assert ends[0] == pytest.approx(ends[1], abs=1e-5)
    peaks = [run.loads.couplings[0].value for run in both]
    assert peaks[0] == pytest.approx(peaks[1], rel=0.01)
    closing = assemble(rig).closures[0].joint
    if assemble(rig).joints[closing].name == "d":
        with pytest.raises(EngineError, match="bullet can't carry that"):
            run_of(rig, "bullet")


SHOW = """
rig: 1
name: Gear train
bodies:
  frame: {fixed: true, parts: [{block: 400 x 12 x 160 mm, of: pine, at: 110 30 0 mm}]}
  pinion: {parts: [{rod: 8 mm, of: steel, from: 0 -10 0 mm, to: 0 30 0 mm}]}
  wheel: {parts: [{rod: 8 mm, of: steel, from: 60 -10 0 mm, to: 60 30 0 mm}]}
  sprocket: {parts: [{rod: 8 mm, of: steel, from: 220 -10 0 mm, to: 220 30 0 mm}]}
  lift: {parts: [{bar: 20 x 10 mm, of: aluminium, from: -29 0 -60 mm, to: -29 0 60 mm}]}
joints:
  one: {pin: [frame, pinion], at: 0 0 0 mm, axis: y}
  two: {pin: [frame, wheel], at: 60 0 0 mm, axis: y}
  three: {pin: [frame, sprocket], at: 220 0 0 mm, axis: y}
  slide: {slider: [frame, lift], at: -29 0 0 mm, along: z}
couplings:
  mesh: {gears: [one, two], teeth: [12, 36]}
  run: {chain: [two, three], teeth: [20, 14], pitch: 12.7 mm}
  up: {rack: [one, slide], pitch_diameter: 30 mm}
motors: {push: {joint: one, motor: wiper medium low, supply: 12 V 5 A}}
run: {for: 0.2 s, step: 1 ms}
"""


def test_reports_pictures_and_exports(tmp_path, capsys):
    file = tmp_path / "train.yaml"
    file.write_text(SHOW)
    assert check_rig(file, {}) == 0
    assert "Degrees of freedom: 1" in capsys.readouterr().out
    assert loads_of(file, {}, "mujoco", tmp_path, settle=False, plot=False) == 0
    said = capsys.readouterr().out
    assert all(f"coupling {name}" in said for name in ("mesh", "run", "up"))
    run = run_of(parse_rig(SHOW))
    write_loads(run, tmp_path, lambda *_: None, plot=True)
    told = json.loads((tmp_path / "loads.json").read_text())["couplings"]
    assert sorted(told) == ["mesh", "run", "up"]
    made = hardware(run.assembly)
    names = [b.name for b in run.assembly.bodies]
    brass = {names[i] for i, own in made.items() for s in own if s.finish == BRASS}
    assert brass == {"pinion", "wheel", "sprocket"}
    assert export(file, {}, "mujoco", tmp_path, csv=False, channels=(), every=None) == 0
    assert (tmp_path / "motion.glb").read_bytes()[:4] == b"glTF"
    kinds = {e.kind for e in reference() if e.place == "couplings.NAME"}
    assert {"gears", "rack", "chain", "toothed_belt", "screw", "worm"} <= kinds


def test_they_begin_at_speeds_that_fit():
    rig = parse_rig(SHOW.replace("step: 1 ms", "step: 1 ms, start_speeds: {one: 6 rad/s}"))
    spin = assemble(rig).spin
    assert spin[2, 1] == pytest.approx(-2.0)
    assert spin[3, 1] == pytest.approx(-2.0 * 20 / 14)
    wrong = SHOW.replace("step: 1 ms", "step: 1 ms, start_speeds: {one: 6 rad/s, two: 6 rad/s}")
    with pytest.raises(AssemblyError, match="can't move at these speeds together"):
        assemble(parse_rig(wrong))


def test_a_wheel_on_a_shaft_that_bends():
    """A coupling finds the piece that carries its joint."""
    text = SHOW.replace("  lift: {parts", "  lift: {bends: true, parts").replace("for: 0.2 s", "for: 0.05 s")
    run = run_of(parse_rig(text), "exudyn")
    rigid = run_of(parse_rig(SHOW.replace("for: 0.2 s", "for: 0.05 s")), "exudyn")
    assert run.assembly.members
    ends = [r.track.coordinate[-1, 0] for r in (run, rigid)]
    assert ends[0] == pytest.approx(ends[1], rel=1e-2)
