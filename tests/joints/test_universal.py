"""Universal joints against Hooke's coupling; any text on mechanisms."""

from __future__ import annotations

from math import cos, pi, radians, sin

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

BEND = radians(30.0)
OUT = f"{cos(BEND):.15f} 0 {sin(BEND):.15f}"
ACROSS = f"{-sin(BEND):.15f} 0 {cos(BEND):.15f}"


def point(far, *ways):
    x, z = sum(far * np.array(w) for w in ways)
    return f"{x:.12f} 0 {z:.12f} mm"


FIRST, SECOND = (1.0, 0.0), (cos(BEND), sin(BEND))
SINGLE = f"""
rig: 1
name: Knuckle
bodies:
  frame: {{fixed: true, parts: [{{block: 20 x 60 x 60 mm, of: pine, at: -100 0 0 mm}}]}}
  driver:
    parts:
      - {{rod: 12 mm, of: steel, from: -150 0 0 mm, to: -20 0 0 mm}}
      - {{lump: 5 kg, at: -120 0 0 mm, inertia: 0.2 0.2 0.2 kg*m^2}}
  driven: {{parts: [{{rod: 12 mm, of: steel, from: {point(20, SECOND)}, to: {point(150, SECOND)}}}]}}
joints:
  inlet: {{pin: [frame, driver], at: -100 0 0 mm, axis: x}}
  outlet: {{pin: [frame, driven], at: {point(150, SECOND)}, axis: {OUT}}}
  knuckle: {{universal: [driver, driven], at: 0 0 0 mm, axis: y, other: {ACROSS}}}
run: {{for: 1 s, gravity: 0 m/s^2, start_speeds: {{inlet: 10 rad/s}}}}
"""

# The shaft between two of them rises by 30 deg; the third runs on level. Both forks of the middle shaft lie in a plane.
DOUBLE = f"""
rig: 1
name: Two knuckles
bodies:
  frame: {{fixed: true}}
  driver: {{parts: [{{lump: 5 kg, at: -120 0 0 mm, inertia: 0.2 0.2 0.2 kg*m^2}}]}}
  middle: {{parts: [{{rod: 12 mm, of: steel, from: {point(20, SECOND)}, to: {point(180, SECOND)}}}]}}
  driven: {{parts: [{{rod: 12 mm, of: steel, from: {point(200, SECOND)}, to: {point(200, SECOND, FIRST)}}}]}}
joints:
  inlet: {{pin: [frame, driver], at: -100 0 0 mm, axis: x}}
  one: {{universal: [driver, middle], at: 0 0 0 mm, axis: y, other: {ACROSS}}}
  two: {{universal: [middle, driven], at: {point(200, SECOND)}, axis: AXIS, other: OTHER}}
  outlet: {{pin: [frame, driven], at: {point(200, SECOND, FIRST)}, axis: x}}
run: {{for: 1 s, gravity: 0 m/s^2, start_speeds: {{inlet: 10 rad/s}}}}
"""


def double(phase):
    """Forks of the middle shaft in one plane, or square to each other."""
    axis, other = {"even": (ACROSS, "y"), "uneven": ("y", "z")}[phase]
    return parse_rig(DOUBLE.replace("AXIS", axis).replace("OTHER", other))


def ratio(run, of="outlet", to="inlet"):
    rate = {
        run.assembly.joints[axis.joint].name: run.track.rate[:, k] for k, axis in enumerate(run.assembly.axes)
    }
    return rate[of] / rate[to]


@pytest.mark.parametrize("engine", ["mujoco", "exudyn", "bullet"])
def test_its_output_runs_unevenly(engine):
    """cos b and 1 / cos b; slowest where the driver's fork is square to the plane of the shafts, as at the start."""
    pytest.importorskip({"bullet": "pybullet"}.get(engine, engine))
    run = simulate(parse_rig(SINGLE), engine, settle=False, step=2e-4 if engine == "bullet" else 1e-3)
    found = ratio(run)
    assert found.min() == pytest.approx(cos(BEND), abs=1e-4)
    assert found.max() == pytest.approx(1 / cos(BEND), abs=1e-4)
    angle = run.track.coordinate[:, 0]
    formula = cos(BEND) / (1 - sin(BEND) ** 2 * np.sin(angle) ** 2)
    assert found == pytest.approx(formula, abs=2e-4)
    assert angle[-1] > 1.5 * pi


def test_two_in_one_plane_even_it_out():
    run = simulate(double("even"), "mujoco", settle=False, step=1e-3)
    assert ratio(run) == pytest.approx(np.ones(len(run.track.time)), abs=1e-4)
    assert not any("forks" in note for note in run.assembly.notes)
    uneven = simulate(double("uneven"), "mujoco", settle=False, step=1e-3)
    assert np.ptp(ratio(uneven)) == pytest.approx(1 / cos(BEND) ** 2 - cos(BEND) ** 2, rel=1e-3)
    (told,) = (note for note in uneven.assembly.notes if "forks" in note)
    assert told.startswith("the forks of joints.one and joints.two on middle stand at 90 deg to each other")


def test_its_angle_is_told_and_its_pins_have_loads():
    assembly = assemble(parse_rig(SINGLE))
    assert (assembly.mobility, assembly.surplus) == (1, 3)
    (told,) = (n for n in assembly.notes if n.startswith("joints.knuckle"))
    assert "works at 30 deg: its output runs between 0.866 and 1.155 times as fast" in told
    names = [joint.name for joint in assembly.joints]
    assert names == ["inlet", "outlet", "knuckle first", "knuckle second"]
    cross = next(b for b in assembly.bodies if b.name == "knuckle cross")
    assert cross.mass == pytest.approx(2 * 7850 * pi / 4 * 0.006**2 * 0.030, rel=1e-7)  # two rods of steel


def test_a_torque_through_it():
    """Held at the outlet: a torque T1 on the driver, slow there by cos b, leaves as T1 / cos b; power is kept."""
    text = SINGLE.replace("start_speeds: {inlet: 10 rad/s}", "step: 1 ms").replace("for: 1 s", "for: 0.2 s")
    text += "motors: {push: {joint: inlet, motor: {steady: {torque: 0.5 N*m}}}}\n"
    text += "springs: {hold: {torsion: outlet, rate: 5000 N*m/rad, damping: 300 N*m*s/rad}}\n"
    run = simulate(parse_rig(text), "mujoco", settle=False)
    springs = run.track.applied[:, 1].sum(axis=1)
    # the driver's acceleration dies out with the spring; of 0.5 N*m all goes through in the end
    assert abs(springs[-1]) == pytest.approx(0.5 / cos(BEND), rel=2e-3)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("axis: y, other", "axis: 0 1 1, other", "the two pins of a cross are square to each other"),
        ("universal: [driver, driven]", "universal: [driver, drivn]", "did you mean 'driven'"),
        ("knuckle: {universal", "knuckle: {give: true, universal", "don't give"),
        ("knuckle: {universal", "knuckle: {friction: 0.1 N*m, universal", "unknown key"),
        ("  driven: {parts", "  knuckle cross: {fixed: true}\n  driven: {parts", "that name is taken"),
    ],
)
def test_faults(old, new, said):
    assert old in SINGLE
    with pytest.raises(RigError, match=said) as caught:
        parse_rig(SINGLE.replace(old, new))
    assert all(f.line for f in caught.value.faults)


def test_a_motor_doesn_t_drive_it():
    with pytest.raises(RigError, match="joint 'knuckle' is a universal"):
        parse_rig(SINGLE + "motors: {m: {joint: knuckle, motor: {steady: {torque: 1 N*m}}}}\n")
