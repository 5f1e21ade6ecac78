"""A new joint kind is one class and one registration: a planar joint, known to this test alone, in every room."""

from __future__ import annotations

import csv
import json
import struct
from typing import Literal

import numpy as np
import pytest
from pydantic import Field

from simprop.assembly.assemble import assemble
from simprop.commands.check import check_rig
from simprop.commands.export import export
from simprop.commands.run import loads_of, write_loads, write_strength
from simprop.errors import EngineError, RigError
from simprop.geometry.finish import Finish
from simprop.geometry.solids import sphere
from simprop.joints.kinds import JOINTS, JointKind, Loss, Pair
from simprop.picture.chart.drawings import schematic
from simprop.picture.render.film import Shot, prepare, still
from simprop.picture.render.fittings import joint_hardware
from simprop.reading.fields import Damping, Direction
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.rig.schema import keys_at
from simprop.run.simulate import simulate

G = 9.80665
RED = Finish((0.8, 0.0, 0.0))


class Planar(JointKind):
    """Slides two ways in a plane and turns about its normal.

    Attributes:
        along: the first way in which it slides.
        viscous: of both slides.
    """

    moves = ("slide", "slide", "turn")
    mark = "diamond"

    kind: Literal["planar"] = "planar"
    between: Pair = Field(alias="planar")
    normal: Direction
    along: Direction
    viscous: Damping = 0.0

    @property
    def direction(self):
        return np.array(self.normal)

    @property
    def ways(self):
        return np.array(self.along), np.cross(self.normal, self.along), self.direction

    @property
    def losses(self):
        return Loss(viscous=self.viscous), Loss(viscous=self.viscous), Loss()

    def drawn(self, start, end):
        return sphere(0.06, RED)


@pytest.fixture(autouse=True)
def planar():
    JOINTS.add(Planar)
    yield
    JOINTS.remove("planar")


@pytest.fixture(params=["mujoco", "bullet"])
def engine(request):
    pytest.importorskip({"mujoco": "mujoco", "bullet": "pybullet"}[request.param])
    return request.param


OUT, DRAG = 0.04, 2.0
PUCK = """
rig: 1
name: Puck
points: {start: 0 0 500 mm}
bodies:
  wall: {fixed: true, parts: [{block: 800 x 20 x 800 mm, of: pine, at: 0 20 500 mm}]}
  puck: {parts: [{block: 60 x 60 x 60 mm, of: pine, mass: 1 kg, at: 0 -40 500 mm}]}
joints: {face: {planar: [wall, puck], at: start, normal: y, along: x, viscous: 2 N*s/m HELD}}
watch: [start]
run: {for: 0.2 s, start_speeds: {face: 1 m/s}}
"""
"""Thrown sideways on an upright wall that drags: x'' = -c x', z'' = -g - c z' for a mass of 1 kg."""

REACH = 0.2
MAST = """
rig: 1
name: Mast
bodies:
  post: {fixed: true}
  arm: {parts: [{lump: 2 kg, at: 0 0 50 mm, inertia: 0.01 0.01 0.02 kg*m^2}]}
joints:
  mast: {cylindrical: [post, arm], at: 0 0 0 mm, axis: z}
  table: {planar: [BODIES], at: 200 0 0 mm, normal: z, along: x, viscous: DRAG N*s/m}
run: {for: 1 s, start_speeds: {mast: 3 rad/s}}
"""
"""Turns about a mast that lets it sink, and stands with one foot on a table: the planar joint closes the loop."""


def puck(held="", bodies="wall, puck", drag="2"):
    text = PUCK.replace("HELD", held).replace("wall, puck", bodies)
    return parse_rig(text.replace("viscous: 2", f"viscous: {drag}"))


def mast(bodies="post, arm", drag="0"):
    return parse_rig(MAST.replace("BODIES", bodies).replace("DRAG", drag))


def test_read_and_listed():
    entry = next(e for e in reference() if e.kind == "planar")
    assert entry.about == "Slides two ways in a plane and turns about its normal."
    assert tuple(k.name for k in entry.needs) == ("at", "planar", "normal", "along")
    assert "normal" in keys_at(("joints", "face"), {"joints": {"face": {"planar": ["a", "b"]}}})
    with pytest.raises(RigError, match=r"joints.face.nrmal: .*did you mean 'normal'"):
        parse_rig(PUCK.replace("HELD", "").replace("normal:", "nrmal:"))
    with pytest.raises(RigError, match="joint 'face' is a planar"):  # a torsion spring wants what only turns
        parse_rig(PUCK.replace("HELD", "") + "springs: {s: {torsion: face, rate: 1 N*m/rad}}\n")


def test_three_freedoms_in_the_tree_and_a_loop_closed():
    assembly = assemble(puck())
    assert (assembly.mobility, assembly.surplus, len(assembly.closures)) == (3, 0, 0)
    assert [axis.name for axis in assembly.axes] == ["slide", "slide2", "turn"]
    ways = np.array([axis.way for axis in assembly.axes])
    assert ways == pytest.approx(np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]]))
    assert assembly.velocity[1] == pytest.approx([1, 0, 0])
    assembly = assemble(mast())
    # the cylindrical joint leaves 2 free; of the 3 rows of the planar one, two say what the mast says already
    assert (assembly.mobility, assembly.surplus) == (1, 2)
    assert [assembly.joints[c.joint].name for c in assembly.closures] == ["table"]


def test_a_puck_thrown_on_a_wall(engine):
    """With e = exp(-c t): x' = e, z' = -g (1 - e) / c; the drag is all the force that the joint carries.

    The centre of mass stands OUT before the plane, where the wrench has no moment about it: the puck doesn't turn.
    """
    run = simulate(puck(), engine, step=5e-4, settle=False)
    time, found, carried = run.track.time, run.track.coordinate, run.loads.wrenches
    e = np.exp(-DRAG * time)
    x, down = (1 - e) / DRAG, G / DRAG * (time - (1 - e) / DRAG)
    near = 1e-7 if engine == "mujoco" else 4e-7  # bullet: g h^2 / 8 of the half step that its rows are late
    assert found[:, 0] == pytest.approx(x, abs=near)
    assert found[:, 1] == pytest.approx(down, abs=near)
    assert np.abs(found[:, 2]).max() < 1e-9
    drag = DRAG * np.stack([-e, 0 * e, G / DRAG * (1 - e)], axis=1)
    moment = np.cross(np.stack([x, np.full_like(x, -OUT), -down], axis=1), drag)
    late = slice(
        0 if engine == "mujoco" else 1, None
    )  # bullet's first row has the drag of the start, half a step ago
    share = 1e-6 if engine == "mujoco" else 1e-5  # bullet extrapolates speeds over half a step: second order
    assert carried.force[late, 0] == pytest.approx(drag[late], abs=share * DRAG)
    assert carried.moment[late, 0] == pytest.approx(moment[late], abs=share * DRAG)
    assert carried.unbalanced < 1e-8
    assert carried.shared == ("",)
    lost = float(np.trapezoid((drag**2).sum(axis=1) / DRAG, time))
    assert run.loads.energy.damping == pytest.approx(-lost, rel=2e-3)
    assert run.loads.energy.share < 1e-3


def test_a_tree_that_hangs_on_its_second_body(engine):
    """The same puck named first, without drag: it sees the wall fly away at 1 m/s, and rise by g t^2 / 2."""
    run = simulate(puck(bodies="puck, wall", drag="0"), engine, step=5e-4, settle=False)
    time, found = run.track.time, run.track.coordinate
    assert found[:, 0] == pytest.approx(time, abs=1e-7)
    assert found[:, 1] == pytest.approx(-G * time**2 / 2, abs=4e-7)
    assert np.abs(run.loads.wrenches.force).max() < 1e-6


@pytest.mark.parametrize("bodies", ["post, arm", "arm, post"])
def test_it_closes_a_loop(engine, bodies):
    """The foot goes round: R (cos q - 1) and R sin q; the table carries the weight, all that it is sure to carry."""
    run = simulate(mast(bodies), engine, step=1e-3, settle=False)
    angle, found = 3 * run.track.time, run.track.coordinate
    assert found[:, 1] == pytest.approx(angle, abs=1e-6)
    there, sign = REACH * np.array([np.cos(angle) - 1, np.sin(angle)]), 1.0
    if bodies == "arm, post":  # counted in the arm, which turns
        back = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        there, sign = -np.einsum("ijn,jn->in", back, there), -1.0
    assert found[:, 2:4] == pytest.approx(there.T, abs=1e-6)
    assert found[:, 4] == pytest.approx(sign * angle, abs=1e-6)
    force = run.loads.wrenches.force[:, 1]
    assert force == pytest.approx(np.tile([0, 0, sign * 2 * G], (len(force), 1)), abs=1e-5)
    assert "tilting moment" in run.loads.wrenches.shared[1]


def test_drag_where_it_closes_a_loop():
    """J q'' = -c R^2 q': on mujoco; bullet says that it can't."""
    rig = mast(drag="0.5")
    run = simulate(rig, "mujoco", step=1e-3, settle=False)
    rate = 0.5 * REACH**2 / 0.02
    assert run.track.coordinate[:, 1] == pytest.approx(
        3 / rate * (1 - np.exp(-rate * run.track.time)), abs=1e-6
    )
    pytest.importorskip("pybullet")
    with pytest.raises(
        EngineError,
        match="the slide of joint 'table', which closes a loop and has no rail beside it: bullet can't",
    ):
        simulate(rig, "bullet", step=1e-3, settle=False)


def test_what_holds_it_is_checked():
    checks = simulate(puck(), "mujoco", settle=False).strength.checks
    assert any(c.place == "face" and "doesn't say what holds it" in c.reason for c in checks)
    checks = simulate(puck(", held_by: {bolt: 1/4-20, grade: 2}"), "mujoco", settle=False).strength.checks
    bolt = [c for c in checks if c.place == "face" and c.margin is not None]
    assert bolt
    assert min(c.margin for c in bolt) > 10  # a few newtons on a quarter-inch bolt


def test_reports_pictures_and_exports(tmp_path, capsys):
    file = tmp_path / "puck.yaml"
    file.write_text(PUCK.replace("HELD", ""))
    assert check_rig(file, {}) == 0
    assert "planar" in capsys.readouterr().out
    assert loads_of(file, {"run.step": "1 ms"}, "mujoco", tmp_path, settle=False, plot=False) == 0
    assert "face" in capsys.readouterr().out
    run = simulate(puck(), "mujoco", step=1e-3, settle=False)
    write_loads(run, tmp_path, lambda *_: None, plot=True)
    write_strength(run, tmp_path, lambda *_: None)
    assert "| joint face | " in (tmp_path / "loads.md").read_text()
    face = json.loads((tmp_path / "loads.json").read_text())["joints"]["face"]
    assert face["force"]["value"] < 1e-9  # drag acts along what is free; the wall is not pressed
    drag = DRAG * np.hypot(np.exp(-0.4), G / DRAG * (1 - np.exp(-0.4)))
    assert face["moment"]["value"] == pytest.approx(OUT * drag, rel=1e-2)
    assert "face" in (tmp_path / "strength.md").read_text()
    assert schematic(run.assembly, run.track, tmp_path / "drawing.svg").read_text().count("face")
    assert [s.finish for own in joint_hardware(run.assembly).values() for s in own] == [RED]
    image = still(prepare(run.assembly, run.track, Shot(size=(320, 240), plain=True)), 0)
    assert ((image[..., 0] > 2.0 * image[..., 1]) & (image[..., 0] > 60)).sum() > 3
    assert export(file, {"run.step": "1 ms"}, "mujoco", tmp_path, csv=True, channels=(), every=None) == 0
    glb = (tmp_path / "motion.glb").read_bytes()
    assert struct.unpack("<4sII", glb[:12]) == (b"glTF", 2, len(glb))
    head = next(csv.reader((tmp_path / "channels.csv").open()))
    assert {"joint.face.slide [m]", "joint.face.slide2 [m]", "joint.face.turn [rad]"} <= set(head)


def test_without_its_registration_it_is_a_fault():
    JOINTS.remove("planar")
    try:
        with pytest.raises(RigError, match="pin, slider, cylindrical, ball, fixed"):
            puck()
    finally:
        JOINTS.add(Planar)
