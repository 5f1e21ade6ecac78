"""Motors that are mounted: what they weigh where they are carried, what their mounts bear, how they are drawn."""

from __future__ import annotations

import json
from math import hypot, pi
from pathlib import Path

import numpy as np
import pytest

import simprop
from simprop.assembly.assemble import assemble
from simprop.catalog.builds import built
from simprop.catalog.motors import motor, motors
from simprop.errors import RigError
from simprop.loads.joints import JointLoads
from simprop.loads.mounts import held_motors
from simprop.picture.export.gltf import write_glb
from simprop.report.loads import LOADS
from simprop.report.writers import plain
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.strength.report import StrengthReport

G = 9.80665
ENGINES = ("mujoco", "bullet")
STEADY = "{steady: {torque: 0.4 N*m}}"


def rig(
    mount: str, figures: str = "wiper", on: str = "on: [5 s to 6 s]", more: str = "", arm: str = ""
) -> str:
    """A wheel of 0.5 kg, 400 mm out on a level arm that a fixed joint holds to a post."""
    return f"""
rig: 1
name: Carried
bodies:
  post: {{fixed: true, parts: [{{bar: 40 x 40 mm, of: pine, thin: y, from: 0 0 -300 mm, to: 0 0 300 mm}}]}}
  arm: {{parts: [{{bar: 40 x 40 mm, of: pine, mass: 1 kg, thin: y, from: 0 0 0 mm, to: 400 0 0 mm}}]}}
  wheel: {{parts: [{{disc: 200 mm, thick: 10 mm, of: plywood, mass: 0.5 kg, at: 400 60 0 mm, axis: y}}]}}
joints:
  shoulder: {arm or "{fixed: [post, arm], at: 0 0 0 mm}"}
  axle: {{pin: [arm, wheel], at: 400 60 0 mm, axis: y}}
motors:
  drive: {{joint: axle, motor: {figures}, {on}{mount}}}
run: {{for: 0.2 s, step: 1 ms{more}}}
"""


def run(text: str, engine: str = "mujoco") -> Run:
    return simprop.simulate(parse_rig(text), engine=engine, settle=False)


def moment(loads: JointLoads, joint: str) -> np.ndarray:
    index = [j.name for j in loads.recording.assembly.joints].index(joint)
    return loads.wrenches.moment[-1, index]


@pytest.mark.parametrize("engine", ENGINES)
def test_a_carried_motor_weighs_on_the_joint_at_its_arm(engine: str) -> None:
    """m g r more about the shoulder, by hand: 1.3 kg (its class) at 400 mm, and at 300 mm where it sits there."""
    bare = moment(run(rig(""), engine).loads, "shoulder")[1]
    out = moment(run(rig(", mount: {face: arm}"), engine).loads, "shoulder")[1]
    inward = moment(run(rig(", mount: {face: arm, at: 300 30 0 mm, mass: 2 kg}"), engine).loads, "shoulder")[
        1
    ]
    assert abs(out - bare) == pytest.approx(1.3 * G * 0.4, rel=1e-5)
    assert abs(inward - bare) == pytest.approx(2.0 * G * 0.3, rel=1e-5)


def test_without_a_mount_nothing_weighs() -> None:
    with_it, without = (assemble(parse_rig(rig(m))) for m in (", mount: {face: arm}", ""))
    arm = [next(b for b in a.bodies if b.name == "arm") for a in (with_it, without)]
    assert arm[0].mass - arm[1].mass == pytest.approx(1.3)
    assert arm[1].mass == 1.0
    assert len(arm[1].shapes) == 1


@pytest.mark.parametrize("engine", [*ENGINES, "exudyn"])
@pytest.mark.parametrize("bears", ["true", "false"])
def test_the_mount_bears_the_reaction_to_the_torque(engine: str, bears: str) -> None:
    """A steady 0.4 N*m about the shaft. Carried by the wheel it turns with it, and its own share of the inertia
    doesn't go through the mount: m (a^2 + b^2) / 12 = 0.25e-3 beside m r^2 / 2 = 2.5e-3 kg*m^2."""
    for carrier, sign in (("arm", -1.0), ("wheel", 10 / 11)):
        mount = f", mount: {{face: {carrier}, mass: 0.6 kg, gearbox: 40 x 50 x 50 mm, bears: {bears}}}"
        loads = run(rig(mount, STEADY, "on: [0 s to 5 s]"), engine).loads
        held = next(held_motors(loads.recording, loads.wrenches))
        assert -held.moment[0, 1] == pytest.approx(sign * 0.4, rel=1e-4)
    if bears == "false":
        loads = run(rig(mount.replace("wheel", "arm"), STEADY, "on: [0 s to 5 s]"), engine).loads
        assert loads.mounts[0][0].value == pytest.approx(0.6 * G, rel=1e-4)


def test_a_motor_that_is_swung_round_pulls_outward() -> None:
    """m w^2 r and m g, square to each other; r from the axis of the turn to the middle of the case, by hand."""
    turn = "{pin: [post, arm], at: 0 0 0 mm, axis: z}"
    mount = ", mount: {face: arm, at: 400 60 0 mm, mass: 2 kg, gearbox: 40 x 50 x 50 mm, bears: false}"
    text = rig(mount, STEADY, "on: [5 s to 6 s]", ", start_speeds: {shoulder: 60 rpm}", turn)
    loads = run(text).loads
    r = hypot(0.4, 0.06 - 0.02)  # the gearbox lies 40 mm behind its face
    held = next(held_motors(loads.recording, loads.wrenches))
    assert np.linalg.norm(held.force[0]) == pytest.approx(2.0 * hypot((2 * pi) ** 2 * r, G), rel=1e-4)


def checks(report: StrengthReport, words: str = "mount") -> list:
    return [c for c in report.checks if words in c.place or words == c.name]


def test_screws_through_the_face_share_the_torque_by_their_circle() -> None:
    """T / (n r) on each of three M6 on 64 mm, over 0.6 x 400 MPa x 20.1 mm^2 / 1.25 (EN 1993-1-8 table 3.4)."""
    mount = ", mount: {face: arm, mass: 1 mg, held_by: {bolt: M6, count: 3, along: y}, bears: false}"
    text = rig(mount, "wiper", "on: [0 s to 5 s], supply: 12 V 20 A")
    found = run(text)
    given = float(np.abs(found.loads.wrenches.applied[:, 0]).max())
    assert given > 5.0
    shear = next(c for c in checks(found.strength) if "single shear and pull" in c.name)
    assert shear.demand == pytest.approx(given / (3 * 0.032) / (0.6 * 400e6 * 20.1e-6 / 1.25), rel=0.01)


def test_a_strap_slips_where_the_motor_twists_in_it() -> None:
    """A motor whose can lies along its shaft: half of the ideal band's 2 pi mu T, at the can's 17 mm."""
    mount = ", mount: {strap: arm, mass: 1 mg, bears: false, held_by: {clamp: strap, tension: 300 N, friction: 0.3}}"
    text = rig(mount, "gearmotor 37 mm", "on: [0 s to 5 s], supply: 12 V 5 A")
    found = run(text)
    given = float(np.abs(found.loads.wrenches.applied[:, 0]).max())
    slip = next(c for c in checks(found.strength) if "slip" in c.name)
    assert slip.demand == pytest.approx(given / (0.5 * 2 * pi * 0.3 * 300 * 0.020), rel=0.01)


def test_what_holds_it_is_asked_for_where_nothing_is_named() -> None:
    report = run(rig(", mount: {face: arm, bears: false}")).strength
    said = checks(report)
    assert [c.verdict for c in said] == ["not computed"]
    assert f"it must carry {1.3 * G:.3g} N" in said[0].reason
    assert report.exit_code in (1, 3)


@pytest.mark.parametrize(
    ("mount", "figures", "words"),
    [
        ("{face: post}", "wiper", "it is mounted on one of that joint's bodies"),
        ("{face: amr}", "wiper", "did you mean 'arm'"),
        ("{hook: arm}", "wiper", "strap, bracket, face"),
        ("{face: arm, mass: 1 kg}", STEADY, "how large this motor is isn't known"),
        ("{face: arm, gearbox: 40 x 40 x 40 mm}", STEADY, "what this motor weighs isn't known"),
        ("{face: arm, can: y}", "wiper", "the can lies along the shaft"),
        ("{face: arm, wight: 2 kg}", "wiper", "unknown key"),
    ],
)
def test_a_mount_that_cannot_be_is_one_fault(mount: str, figures: str, words: str) -> None:
    with pytest.raises(RigError) as caught:
        parse_rig(rig(f", mount: {mount}", figures))
    assert len(caught.value.faults) == 1
    assert words in str(caught.value)
    assert caught.value.faults[0].line == 12


def test_every_class_on_a_joint_has_a_size_that_its_mass_fits() -> None:
    """Motors are castings, copper and air: 0.3 to 6 g/cm^3 in all (common practice, no source)."""
    for row in motors():
        build = built(row.name)
        if row.kind in ("dc", "synchronous", "servo"):
            assert build is not None, row.name
            length, along, across = build.gearbox
            box = length * (pi / 4 * across**2 if build.round else along * across)
            volume = box + pi / 4 * build.can[0] ** 2 * build.can[1]
            assert 300 < motor(row.name).mass / volume < 6000, row.name


def test_reports_drawings_and_export_show_it(tmp_path: Path) -> None:
    found = run(
        rig(", mount: {bracket: arm, foot: 400 20 -20 mm, held_by: {bolt: M5, count: 2, spacing: 40 mm}}")
    )
    said = plain(LOADS.of(found))
    assert "mount drive" in said
    arm = next(b for b in found.assembly.bodies if b.name == "arm")
    case = arm.shapes[-1]
    points = np.concatenate([s.vertices for s in case.surfaces()])
    _, axes, half = case.box()
    assert np.ptp(points @ axes, axis=0)[[1, 2]] == pytest.approx(2 * half[[1, 2]], rel=0.05)
    assert half[0] > 0.02
    raw = write_glb(found.assembly, found.track, tmp_path / "a.glb").read_bytes()
    length = int.from_bytes(raw[12:16], "little")
    assert json.loads(raw[20 : 20 + length])["meshes"]
