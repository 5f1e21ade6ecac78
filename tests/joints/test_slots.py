"""A pin, and a ball stud, in a slot, against the closed forms of any text on mechanisms."""

from __future__ import annotations

from math import asin, degrees, pi, sqrt

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import RigError
from simprop.loads.ringing import likely
from simprop.loads.verdicts import verdicts
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

# A crank of 50 mm drives a yoke whose upright slot holds its stud.
YOKE = """
rig: 1
name: Yoke
bodies:
  frame: {fixed: true}
  crank: {parts: [{lump: 5 kg, at: 0 10 0 mm, inertia: 2 2 2 kg*m^2}]}
  yoke: {parts: [{bar: 40 x 6 mm, of: aluminium, mass: 0.2 kg, from: 50 0 -80 mm, to: 50 0 80 mm, thin: y}]}
joints:
  shaft: {pin: [frame, crank], at: 0 0 0 mm, axis: -y}
  guide: {slider: [frame, yoke], at: 250 0 0 mm, along: x}
  stud: {pin_in_slot: [yoke, crank], at: 50 0 0 mm, axis: y, from: 50 0 -60 mm, to: 50 0 60 mm, diameter: 8 mm}
run: {for: 0.4 s, gravity: 0 m/s^2, start_speeds: {shaft: 20 rad/s}}
"""

# Slotted arm about the origin, crank of 40 mm about a point 100 mm above it: it swings by 2 asin(40 / 100).
QUICK, CRANK, APART = 10.0, 0.040, 0.100
RETURN = """
rig: 1
name: Quick return
bodies:
  frame: {fixed: true}
  crank: {parts: [{lump: 50 kg, at: 0 0 100 mm, inertia: 20 20 20 kg*m^2}]}
  arm: {parts: [{bar: 20 x 3 mm, of: aluminium, from: 0 0 0 mm, to: 0 0 150 mm, thin: y}]}
joints:
  foot: {pin: [frame, arm], at: 0 0 0 mm, axis: y}
  shaft: {pin: [frame, crank], at: 0 0 100 mm, axis: y}
  stud: {KIND: [arm, crank], at: 0 0 140 mm, AXIS from: 0 0 50 mm, to: 0 0 TOP mm}
run: {for: 0.65 s, gravity: 0 m/s^2, start_speeds: {shaft: 10 rad/s}}
"""


def quick(kind="pin_in_slot", axis="axis: y,", top="145"):
    return parse_rig(RETURN.replace("KIND", kind).replace("AXIS", axis).replace("TOP", top))


def axis_of(run, joint, motion):
    names = [(run.assembly.joints[a.joint].name, a.motion) for a in run.assembly.axes]
    return names.index((joint, motion))


def test_a_scotch_yoke(engine):
    """x = r cos q, and the stud bears m r w^2 |cos q|, the yoke's whole inertia."""
    run = simulate(parse_rig(YOKE), engine, settle=False, step=5e-4)
    angle = run.track.coordinate[:, axis_of(run, "shaft", "turn")]
    rate = run.track.rate[:, axis_of(run, "shaft", "turn")]
    place = run.track.coordinate[:, axis_of(run, "guide", "slide")]
    assert place == pytest.approx(0.05 * (np.cos(angle) - 1), abs=2e-5)
    assert np.ptp(rate) < 5e-3 * 20  # the crank is a flywheel
    (stud,) = (p for p in run.loads.joints if p[0].key == "joint.stud.force")
    size = run.loads.history(stud[0])
    assert size == pytest.approx(np.abs(0.2 * 0.05 * 400 * np.cos(angle)), abs=0.01 * 4)
    assert stud[0].value == pytest.approx(4.0, rel=2e-3)
    slid = run.track.coordinate[:, axis_of(run, "stud", "slide")]
    assert slid == pytest.approx(0.05 * np.sin(angle), abs=2e-5)


@pytest.mark.parametrize(("kind", "axis"), [("pin_in_slot", "axis: y,"), ("stud_in_slot", "")])
def test_a_slotted_arm(engine, kind, axis):
    """Swing 2 asin(r / d) and time ratio (180 + swing) / (180 - swing) of the quick return."""
    run = simulate(quick(kind, axis), engine, settle=False, step=5e-4)
    turned = run.track.coordinate[:, axis_of(run, "shaft", "turn")]
    swung = run.track.coordinate[:, axis_of(run, "foot", "turn")]
    swing = 2 * asin(CRANK / APART)
    assert np.ptp(swung) == pytest.approx(swing, abs=2e-4)
    ratio = (pi + swing) / (pi - swing)
    gap = abs(float(turned[swung.argmax()] - turned[swung.argmin()]))
    assert (2 * pi - gap) / gap == pytest.approx(ratio, abs=0.02)
    reach = np.sqrt(CRANK**2 + APART**2 + 2 * CRANK * APART * np.cos(turned))
    slid = run.track.coordinate[:, axis_of(run, "stud", "slide")]
    assert slid == pytest.approx(reach - 0.140, abs=2e-5)


def test_a_stud_in_a_slot_in_space(engine):
    """A crank about x moves an arm about z by its ball stud, in a slot along the arm: tan s = r sin q / d."""
    text = """
rig: 1
name: Space
bodies:
  frame: {fixed: true}
  crank: {parts: [{lump: 50 kg, at: 100 0 0 mm, inertia: 20 20 20 kg*m^2}]}
  arm: {parts: [{bar: 20 x 3 mm, of: aluminium, from: 0 0 0 mm, to: 150 0 0 mm, thin: z}]}
  rider: {parts: [{ball: 20 mm, of: steel, at: 100 0 30 mm}]}
joints:
  post: {pin: [frame, arm], at: 0 0 0 mm, axis: z}
  shaft: {pin: [frame, crank], at: 100 0 0 mm, axis: x}
  lift: {slider: [arm, rider], at: 100 0 0 mm, along: z}
  stud: {stud_in_slot: [rider, crank], at: 100 0 30 mm, from: 80 0 30 mm, to: 120 0 30 mm, through: z}
run: {for: 0.3 s, gravity: 0 m/s^2, start_speeds: {shaft: 10 rad/s}}
"""
    run = simulate(parse_rig(text), engine, settle=False, step=5e-4)
    turned = run.track.coordinate[:, axis_of(run, "shaft", "turn")]
    swung = run.track.coordinate[:, axis_of(run, "post", "turn")]
    assert np.tan(swung) == pytest.approx(-0.03 * np.sin(turned) / 0.1, abs=1e-4)
    slid = run.track.coordinate[:, axis_of(run, "stud", "slide")]
    assert slid == pytest.approx(np.sqrt(0.1**2 + (0.03 * np.sin(turned)) ** 2) - 0.1, abs=2e-5)


def test_past_the_end_of_its_slot():
    """The slot ends at 130 mm where the stud goes up to 140: told, or met where it says what its ends are."""
    long = simulate(quick(), "mujoco", settle=False, step=1e-3)
    assert verdicts(long.loads) == ()
    text = (
        RETURN.replace("KIND", "pin_in_slot")
        .replace("AXIS", "axis: y,")
        .replace("from: 0 0 50", "from: 0 0 80")
    )
    short = simulate(parse_rig(text.replace("TOP", "145")), "mujoco", settle=False, step=1e-3)
    (told,) = verdicts(short.loads)
    assert told.startswith("Joint stud runs 20 mm past the end of its slot at 0.314 s")
    met = parse_rig(text.replace("TOP mm", "145 mm, ends: rubber"))
    assert list(met.stops) == ["stud ends"]
    assert (met.stops["stud ends"].below, met.stops["stud ends"].above) == pytest.approx((-0.060, 0.005))
    run = simulate(met, "mujoco", settle=False, step=1e-4)
    depth = -0.060 - run.track.coordinate[:, axis_of(run, "stud", "slide")].min()
    (blow,) = run.loads.stops
    law = run.laws.stops[0][1]
    assert blow.value == pytest.approx(law.stiffness * depth, rel=0.15)  # and its damping
    assert blow.value > 10.0


@pytest.mark.parametrize("engine", ["mujoco", "exudyn"])
def test_friction_in_a_slot(engine):
    """The stud that carries m r w^2 cos q rubs mu times that along the slot; it takes mu m r^2 w^2 |cos q sin q| dq."""
    text = YOKE.replace("diameter: 8 mm", "diameter: 8 mm, friction: 0.2")
    run = simulate(parse_rig(text), engine, settle=False, step=2e-4)
    plain = simulate(parse_rig(YOKE), engine, settle=False, step=2e-4)
    axis = axis_of(run, "stud", "slide")
    rubbed = np.abs(run.track.applied[:, 3, axis])
    (stud,) = (p for p in plain.loads.joints if p[0].key == "joint.stud.force")
    if engine == "mujoco":  # exudyn has a spike of one step where the slide turns back
        assert rubbed.max() == pytest.approx(0.2 * stud[0].value, rel=0.02)
    turned = run.track.coordinate[:, axis_of(run, "shaft", "turn")]
    course = np.abs(0.2 * 0.2 * 0.05**2 * 400 * np.cos(turned) ** 2)
    lost = float(np.trapezoid(course, turned))
    assert -run.loads.energy.friction == pytest.approx(lost, rel=0.02)


def test_nothing_that_moves_freely_rings():
    """An arm that turns on its foot has no frequency there."""
    assembly = assemble(quick())
    assert all(ring.frequency > 1.0 for ring in likely(assembly, actuate(assembly)))


def test_what_strength_leaves_out_is_told():
    assert any("counts the slot as one round hole" in note for note in assemble(quick()).notes)


def test_planar_and_hung():
    assembly = assemble(quick())
    assert (assembly.mobility, assembly.surplus) == (1, 3)
    assembly = assemble(quick("stud_in_slot", ""))
    assert (assembly.mobility, assembly.surplus) == (1, 1)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("axis: y, from", "axis: z, from", "a pin is square to its slot"),
        ("from: 50 0 -60 mm, to: 50 0 60", "from: 50 0 -60 mm, to: 50 0 -60", "a slot has two ends"),
        (
            "from: 50 0 -60 mm, to: 50 0 60",
            "from: 58 0 -60 mm, to: 58 0 60",
            "-60.0 to .60.0 mm along and 8.0 mm beside",
        ),
        ("to: 50 0 60 mm", "to: 50 0 -10 mm", "it isn't in its slot, which runs -60.0 to -10.0 mm along"),
        ("diameter: 8 mm", "friction: 0.3", "needs the diameter of the pin"),
        ("diameter: 8 mm", "ends: jelly", "rubber"),
        ("from: 50 0 -60 mm, to", "form: 50 0 -60 mm, to", "did you mean 'from'"),
    ],
)
def test_faults(old, new, said):
    assert old in YOKE
    with pytest.raises(RigError, match=said) as caught:
        parse_rig(YOKE.replace(old, new))
    assert all(f.line for f in caught.value.faults)


def test_the_numbers_of_the_quick_return():
    """The two figures above by hand: 47.16 deg and 1.710."""
    swing = 2 * asin(CRANK / APART)
    assert degrees(swing) == pytest.approx(47.156, abs=1e-3)
    assert (pi + swing) / (pi - swing) == pytest.approx(1.70995, abs=1e-5)
    assert sqrt(APART**2 - CRANK**2) < APART
