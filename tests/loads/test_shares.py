"""Parts held in more than one place: shares of a load by the give of joints and members, from rig files.

Closed forms: statics of beams and plates on several supports (Timoshenko, Strength of Materials, from memory), worked
out beside each case; friction by Coulomb.
"""

from __future__ import annotations

import numpy as np
import pytest

import simprop
from simprop.elastic.give import STEEL, pin_give
from simprop.errors import SimpropError
from simprop.rig.load import parse_rig
from simprop.run.run import Run

G = 9.80665


def _run(bodies: str, joints: str, more: str = "", seconds: float = 0.02, engine: str = "mujoco") -> Run:
    text = f"rig: 1\nname: Shares\nbodies: {{{bodies}}}\njoints: {{{joints}}}\n{more}\nrun: {{for: {seconds} s}}\n"
    return simprop.simulate(parse_rig(text), engine, settle=False)


def _force(run: Run, name: str) -> np.ndarray:
    index = [j.name for j in run.assembly.joints].index(name)
    return np.asarray(run.loads.wrenches.force[-1, index])


BOX = "box: {fixed: true, parts: [{block: 1200 x 40 x 20 mm, of: steel, at: 0 0 -30 mm}]}"
LOCK = "motors: {hold: {joint: left, motor: {steady: {torque: 0 N*m}}}}"


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_a_lid_on_two_hinges_weighs_on_both(engine: str) -> None:
    """A lid of 2 kg, hung by two equal hinges on its edge's line, at rest: half its weight each, none of it 0."""
    run = _run(
        f"{BOX}, lid: {{parts: [{{bar: 40 x 20 mm, of: steel, from: -500 0 0 mm, to: 500 0 0 mm, mass: 2 kg}}]}}",
        "left: {pin: [box, lid], at: -300 0 0 mm, axis: x}, right: {pin: [box, lid], at: 300 0 0 mm, axis: x}",
        engine=engine,
    )
    for name in ("left", "right"):
        assert _force(run, name) == pytest.approx([0, 0, G], abs=1e-3)
    (first, _), (second, _) = run.loads.joints
    assert (first.value, second.value) == pytest.approx((G, G), rel=1e-3)
    low, high = first.range
    assert low == pytest.approx(G, rel=1e-3)
    assert high == pytest.approx(2 * G, rel=1e-3)  # one bears all
    assert run.loads.wrenches.shared[0]


def test_a_bar_on_three_balls_shares_as_it_bends() -> None:
    """A slender bar of 3 kg on three ball joints that hardly give beside it: 3/16, 10/16 and 3/16 of its weight."""
    bar = "{bar: 12 x 2 mm, of: steel, from: -600 0 0 mm, to: 600 0 0 mm, thin: z, mass: 3 kg}"
    places = {"a": -600, "b": 0, "c": 600}
    run = _run(
        f"{BOX}, lid: {{parts: [{bar}]}}",
        ", ".join(f"{name}: {{ball: [box, lid], at: {x} 0 0 mm}}" for name, x in places.items()),
    )
    got = np.array([_force(run, name)[2] for name in "abc"]) / (3 * G)
    assert got == pytest.approx([3 / 16, 10 / 16, 3 / 16], abs=1e-3)


def test_a_bar_built_in_at_three_hinges() -> None:
    """Hinges along the bar keep it from tilting too: two spans built in at both ends, 1/4, 1/2 and 1/4."""
    hinge = "pin: [box, lid], axis: x, diameter: 20 mm, bearing: 4 mm"
    bar = "{bar: 12 x 2 mm, of: steel, from: -600 0 0 mm, to: 600 0 0 mm, thin: z, mass: 3 kg}"
    run = _run(
        f"{BOX}, lid: {{parts: [{bar}]}}",
        f"a: {{{hinge}, at: -600 0 0 mm}}, b: {{{hinge}, at: 0 0 0 mm}}, c: {{{hinge}, at: 600 0 0 mm}}",
    )
    got = np.array([_force(run, name)[2] for name in "abc"]) / (3 * G)
    assert got == pytest.approx([1 / 4, 1 / 2, 1 / 4], abs=5e-3)


def test_a_stiff_bar_on_three_hinges_shares_evenly() -> None:
    """The same with a bar so stiff that the hinges' own give decides: a third each."""
    hinge = "pin: [box, lid], axis: x, diameter: 20 mm, bearing: 4 mm"
    bar = "{pipe: {outside: 300 mm, wall: 140 mm, of: steel}, from: -60 0 0 mm, to: 60 0 0 mm, mass: 3 kg}"
    strip = "{bar: 40 x 1 mm, of: PVC, from: -60 0 0 mm, to: 60 0 0 mm}"
    run = _run(
        f"box: {{fixed: true, parts: [{strip}]}}, lid: {{parts: [{bar}]}}",
        f"a: {{{hinge}, at: -60 0 0 mm}}, b: {{{hinge}, at: 0 0 0 mm}}, c: {{{hinge}, at: 60 0 0 mm}}",
    )
    got = np.array([_force(run, name)[2] for name in "abc"]) / (3 * G)
    assert got == pytest.approx([1 / 3, 1 / 3, 1 / 3], abs=0.01)


def test_two_unequal_rods_under_one_lid() -> None:
    """A steel and a PVC rod of one size side by side, pinned to a lid that a slide guides: they share as E A / L and
    their pins in series do, which is nearly all to the steel's side by the ratio of their gives."""
    rods = "".join(
        f"{name}: {{parts: [{{rod: 8 mm, of: {of}, from: {x} 0 0 mm, to: {x} 0 300 mm, mass: 1 g}}]}}, "
        for name, of, x in (("one", "steel", -50), ("two", "PVC", 50))
    )
    pins = "".join(
        f"{name}{end}: {{pin: [{a}, {b}], at: {x} 0 {z} mm, axis: y, diameter: 8 mm, bearing: 8 mm}}, "
        for name, x in (("one", -50), ("two", 50))
        for end, z, a, b in (("low", 0, "box", name), ("high", 300, name, "lid"))
    )
    run = _run(
        f"{BOX}, {rods} lid: {{parts: [{{block: 200 x 40 x 40 mm, of: steel, at: 0 0 320 mm, mass: 10 kg}}]}}",
        f"{pins} guide: {{slider: [box, lid], at: 0 0 320 mm, along: z, bearing: 400 mm, diameter: 40 mm}}",
    )
    one, two = (-_force(run, f"{name}high")[2] for name in ("one", "two"))
    assert abs(one) + abs(two) == pytest.approx(10 * G, rel=2e-3)
    area, pin = np.pi / 4 * 8e-3**2, (8e-3, 8e-3)
    steel, pvc = (
        0.3 / (e * area) + pin_give(8e-3, pin, (STEEL, e)) + pin_give(8e-3, pin, (e, 200e9))
        for e in (200e9, 2.76e9)
    )
    # the lid's guide keeps it level: both rods shorten alike
    assert abs(two) / abs(one) == pytest.approx(steel / pvc, rel=0.01)


DRAWER = """
rig: 1
name: Drawer
bodies:
  chest: {{fixed: true}}
  drawer: {{parts: [{{lump: 3 kg, at: 0 {aside} 0 mm, inertia: 0.02 0.02 0.02 kg*m^2}}]}}
joints: {{{joints}}}
run: {{for: {seconds} s, start_speeds: {{one: {speed} m/s}}}}
"""


def _drawer(rails: dict[str, int], bearing: int, friction: float, engine: str, **more: float) -> Run:
    rail = f"slider: [chest, drawer], along: x, bearing: {bearing} mm, friction: {friction}"
    joints = ", ".join(f"{name}: {{{rail}, at: 0 {y} 0 mm}}" for name, y in rails.items())
    fields = {"aside": 0, "seconds": 0.6, "speed": 1.0} | more
    return simprop.simulate(parse_rig(DRAWER.format(joints=joints, **fields)), engine, settle=False)


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_a_drawer_on_two_rails_stops(engine: str) -> None:
    """1 m/s, mu 0.3 on two rails: it stops after v^2 / (2 mu g) = 0.170 m, while it is guided on both sides of its
    weight; guided over 200 mm it leans on their ends from 100 mm on, N1 + N2 = 2 W x / b: 0.1549 m, as on one."""
    two = {"one": -200, "two": 200}
    assert _drawer(two, 400, 0.3, engine).track.coordinate[-1, 0] == pytest.approx(
        1 / (2 * 0.3 * G), rel=0.01
    )
    # v^2 / (2 mu g) = b / 2 + (x^2 - (b / 2)^2) / b
    leaning = np.sqrt(0.2 * (1 / (2 * 0.3 * G) - 0.1) + 0.1**2)
    assert leaning == pytest.approx(0.1549, abs=1e-4)
    for rails in (two, {"one": 0}):
        assert _drawer(rails, 200, 0.3, engine).track.coordinate[-1, 0] == pytest.approx(leaning, rel=0.005)


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_a_lid_on_two_pins_loses_as_much_as_on_one(engine: str) -> None:
    """A lid of 4 kg falls about its hinge line: mu F r of both pins together is that of one that bears all."""
    pin = "pin: [box, lid], axis: x, diameter: 12 mm, friction: 0.4"
    lid = f"{BOX}, lid: {{parts: [{{block: 400 x 300 x 20 mm, of: pine, at: 0 150 0 mm, mass: 4 kg}}]}}"
    one = _run(lid, f"left: {{{pin}, at: 0 0 0 mm}}", seconds=0.5, engine=engine)
    both = _run(
        lid, f"left: {{{pin}, at: -150 0 0 mm}}, right: {{{pin}, at: 150 0 0 mm}}", seconds=0.5, engine=engine
    )
    assert one.loads.energy.friction < -0.1
    assert both.loads.energy.friction == pytest.approx(one.loads.energy.friction, rel=0.02)


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_a_mask_before_its_shaft_rubs_by_both_ends(engine: str) -> None:
    """2 kg 200 mm before a pin of 8 mm in a bearing of 20 mm, mu 0.3: ends of F/2 -+ F e / b = 19.6 (10.5 + 9.5) N,
    0.471 N*m in all; by the force alone it would be 0.0235 N*m."""
    run = _run(
        "wall: {fixed: true}, mask: {parts: [{lump: 2 kg, at: 0 -200 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}",
        "shaft: {pin: [wall, mask], at: 0 0 0 mm, axis: y, diameter: 8 mm, bearing: 20 mm, friction: 0.3}",
        "motors: {drive: {joint: shaft, motor: {steady: {torque: 1 N*m}}}}",
        seconds=0.2,
        engine=engine,
    )
    friction = run.track.applied[-1, 3, 0]
    assert friction == pytest.approx(-0.471, rel=0.01)


def test_one_pose_in_line_doesnt_make_a_load_shared() -> None:
    """A crank-rocker whose links pass in line once: its pins' forces in the plane stay determined throughout."""
    text = """
rig: 1
name: Four-bar
bodies:
  stand: {fixed: true}
  crank: {parts: [{slender: 0.1 kg, from: 0 0 0 mm, to: 40 0 0 mm}]}
  coupler: {parts: [{slender: 0.2 kg, from: 40 0 0 mm, to: 136.667 0 71.1 mm}]}
  rocker: {parts: [{slender: 0.2 kg, from: 100 0 0 mm, to: 136.667 0 71.1 mm}]}
joints:
  o2: {pin: [stand, crank], at: 0 0 0 mm, axis: y}
  a: {pin: [crank, coupler], at: 40 0 0 mm, axis: y}
  b: {pin: [coupler, rocker], at: 136.667 0 71.1 mm, axis: y}
  o4: {pin: [stand, rocker], at: 100 0 0 mm, axis: y}
motors: {drive: {joint: o2, motor: {synchronous: {speed: 60 rpm, pull_out_torque: 50 N*m}}}}
run: {for: 1 s}
"""
    run = simprop.simulate(parse_rig(text), "mujoco", settle=False)
    assert all("side force" not in words for words in run.loads.wrenches.shared)


def test_bearing_load_and_drive_torque_are_told_apart() -> None:
    """A wheel of 1 kg on a motor of 2 N*m: its pin bears the weight and no moment; the torque is the motor's."""
    run = _run(
        "post: {fixed: true}, "
        "wheel: {parts: [{disc: 20 cm, thick: 2 cm, of: steel, at: 0 0 0 mm, axis: y, mass: 1 kg}]}",
        "hub: {pin: [post, wheel], at: 0 0 0 mm, axis: y}",
        "motors: {drive: {joint: hub, motor: {steady: {torque: 2 N*m}}}}",
    )
    force, moment = run.loads.joints[0]
    assert force.value == pytest.approx(G, rel=1e-6)
    assert moment.value < 1e-6
    assert run.loads.motors[0].peak.value == pytest.approx(2.0, rel=1e-6)
    assert np.linalg.norm(run.loads.wrenches.moment[-1, 0]) == pytest.approx(
        2.0, rel=1e-6
    )  # strength counts it


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_what_tilts_two_pins_presses_them_apart_and_rubs(engine: str) -> None:
    """2 kg 300 mm beside the middle of two pins 150 mm apart, mu 0.3: they bear W / 2 -+ W e / a, 2.5 W and -1.5 W,
    and brake by mu r 4 W = 0.1412 N*m; a moment that rubs nowhere would leave 0.0353. (Their tilting takes
    1 / (1 + 3 a^2 / L^2) of the moment: 2e-3 at walls of 12 mm.)"""
    pin = "pin: [wall, mask], axis: x, diameter: 12 mm, friction: 0.3"
    run = _run(
        "wall: {fixed: true}, mask: {parts: [{lump: 2 kg, at: 300 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}",
        f"left: {{{pin}, at: -75 0 0 mm}}, right: {{{pin}, at: 75 0 0 mm}}",
        "motors: {drive: {joint: left, motor: {steady: {torque: 1 N*m}}}}",
        seconds=0.2,
        engine=engine,
    )
    braked = float(run.track.applied[-1, 3].sum())
    assert braked == pytest.approx(-0.3 * 0.006 * 2 * G * 2 * 0.3 / 0.15, rel=0.01)


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_a_drawer_that_weighs_beside_its_rails_rubs_more(engine: str) -> None:
    """3 kg 300 mm beside the middle of two rails 400 mm apart: the couple takes a^2 / (a^2 + w^2) = 0.8 of the moment
    (rails that resist being turned over w = 200 mm take the rest), so N = W (0.5 -+ 0.8 e / a), 1.2 W in all."""
    run = _drawer({"one": -200, "two": 200}, 200, 0.01, engine, aside=300, seconds=0.1, speed=0.02)
    assert float(run.track.applied[-1, 3].sum()) == pytest.approx(-0.01 * 1.2 * 3 * G, rel=0.02)


def test_bullet_says_which_slide_it_cannot_work_out() -> None:
    """A rubbing slide that closes a loop and has no rail beside it: a wedge of three slides."""
    pytest.importorskip("pybullet")
    rig = """
rig: 1
name: Wedge
bodies:
  frame: {fixed: true}
  rider: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
  wedge: {parts: [{lump: 1 kg, at: 100 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}
joints:
  one: {slider: [frame, rider], at: 0 0 0 mm, along: x, friction: 1 N}
  two: {slider: [rider, wedge], at: 0 0 0 mm, along: z, friction: 1 N}
  three: {slider: [frame, wedge], at: 100 0 0 mm, along: 1 0 1, friction: 1 N}
run: {for: 0.1 s}
"""
    why = r"'(one|two|three)', which closes a loop and has no rail beside it.*mujoco"
    with pytest.raises(SimpropError, match=why):
        simprop.simulate(parse_rig(rig), "bullet", settle=False)


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_what_presses_on_a_bar_bends_it(engine: str) -> None:
    """A weight that stands in the middle of one of two spans on three balls: 13, 22 and -3 thirty-seconds of it
    (Timoshenko, Strength of Materials, from memory), though no joint and no part of the bar carries it there."""
    bar = "{bar: 12 x 2 mm, of: steel, from: -600 0 0 mm, to: 600 0 0 mm, thin: z, mass: 1 g}"
    lump = "{lump: 5 kg, at: -300 0 40 mm}"  # drawn as deep as it presses itself in: at rest from the start
    deep = 5 * G / 20e3 * 1e3
    run = _run(
        f"{BOX}, lid: {{parts: [{bar}]}}, weight: {{parts: [{lump}]}}",
        ", ".join(
            f"{name}: {{ball: [box, lid], at: {x} 0 0 mm}}"
            for name, x in {"a": -600, "b": 0, "c": 600}.items()
        )
        + ", guide: {slider: [box, weight], at: -300 0 40 mm, along: z}",
        f"contacts: {{foot: {{ball: weight, at: -300 0 {20 - deep} mm, diameter: 40 mm, friction: 0, "
        "stiffness: 20 N/mm, loss: 0.5, on: {face: lid, at: -300 0 0 mm, normal: z}}}",
        engine=engine,
    )
    got = np.array([_force(run, name)[2] for name in "abc"]) / (5 * G)
    assert got == pytest.approx([13 / 32, 22 / 32, -3 / 32], abs=2e-3)
