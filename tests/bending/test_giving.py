"""Joints that give: shares by their stiffness, beside those of the rigid run and closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import AssemblyError, EngineError, RigError
from simprop.loads.giving import deflection
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

G = 9.80665
LID = """
rig: 1
name: Bar
bodies:
  post: {{fixed: true, parts: [{{block: 900 x 40 x 20 mm, of: steel, at: 300 0 -40 mm}}]}}
  bar:
    parts:
      - {{bar: 60 x 40 mm, of: steel, from: 0 0 0 mm, to: 600 0 0 mm, mass: 1 g}}
      - {{lump: 10 kg, at: {at} 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}}
joints:
  a: {{ball: [post, bar], at: 0 0 0 mm, {give}}}
  b: {{ball: [post, bar], at: 300 0 0 mm, {give}}}
  c: {{ball: [post, bar], at: 600 0 0 mm, {give}}}
run: {{for: 50 ms, step: 0.5 ms}}
"""
STATED = "give: {across: 2e4 N/m}"


def forces(run: Run) -> dict[str, float]:
    return {f.name: f.value for f, _ in run.loads.joints}


@pytest.mark.parametrize(("at", "eccentric"), [(300, 0.0), (450, 0.15)])
def test_three_springs_under_a_stiff_bar(at: int, eccentric: float) -> None:
    """P / 3 +- P e x / sum x^2: springs of equal stiffness under a rigid bar, statics."""
    run = simulate(parse_rig(LID.format(at=at, give=STATED)), settle=False)
    weight = 10.001 * G
    wanted = {n: weight * (1 / 3 + eccentric * x / 0.18) for n, x in (("a", -0.3), ("b", 0.0), ("c", 0.3))}
    assert run.recording.engine == "exudyn"
    assert forces(run) == pytest.approx(wanted, rel=0.002)
    for j, joint in enumerate(run.assembly.joints):  # and so the springs have gone down
        assert joint.give is not None
        gone = deflection(run.assembly, run.track, joint)[0][-1, 2]
        assert -gone * 2e4 == pytest.approx(wanted[joint.name], rel=0.002)
        assert run.loads.wrenches.force[-1, j, 2] == pytest.approx(wanted[joint.name], rel=0.002)


def test_shares_are_those_of_the_rigid_run() -> None:
    """What is worked out from pins and walls as drawn shares in motion as in the balance of a rigid run."""
    rigid = simulate(parse_rig(LID.format(at=450, give="give: false")), settle=False)
    gives = simulate(parse_rig(LID.format(at=450, give="give: true")), settle=False)
    assert rigid.recording.engine == "mujoco"
    assert forces(gives) == pytest.approx(forces(rigid), rel=0.03)  # there the bar itself bends, too


def test_a_stiff_one_takes_more() -> None:
    text = LID.format(at=300, give=STATED).replace(
        "300 0 0 mm, give: {across: 2e4", "300 0 0 mm, give: {across: 8e4"
    )
    found = forces(simulate(parse_rig(text), settle=False))
    assert found["b"] / found["a"] == pytest.approx(4.0, rel=0.002)  # springs in parallel


HINGED = """
rig: 1
name: Lid
bodies:
  post: {{fixed: true}}
  lid: {{parts: [{{bar: 300 x 18 mm, of: pine, from: 0 0 0 mm, to: 400 0 0 mm, thin: z}}]}}
joints:
  left: {{pin: [post, lid], at: 0 -100 0 mm, axis: y, {one}}}
  right: {{pin: [post, lid], at: 0 100 0 mm, axis: y, {two}}}
springs: {{lift: {{torsion: left, rate: 20 N*m/rad}}}}
run: {{for: 0.3 s, step: 0.5 ms}}
"""


@pytest.mark.parametrize(
    ("one", "two"),
    [("give: true", "give: true"), ("give: true", "give: false"), ("give: false", "give: true")],
)
def test_hinges_that_give_swing_as_the_rigid_lid(one: str, two: str) -> None:
    """A loop with a joint that gives in the tree, or closing it, or both."""
    rigid = simulate(parse_rig(HINGED.format(one="give: false", two="give: false")), "exudyn", settle=False)
    run = simulate(parse_rig(HINGED.format(one=one, two=two)), settle=False)
    assert run.track.coordinate[:, 0] == pytest.approx(rigid.track.coordinate[:, 0], abs=2e-3)
    assert (run.loads.energy.share or 0.0) < 0.01


def test_a_pin_that_gives_rings_at_its_stiffness() -> None:
    """A slide whose guide gives across: f = sqrt(k / m) / 2 pi."""
    run = simulate(
        parse_rig("""
rig: 1
name: Slide
bodies: {post: {fixed: true}, block: {parts: [{lump: 2 kg, at: 0 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}}
joints: {guide: {slider: [post, block], at: 0 0 0 mm, along: x, give: {across: 8e4 N/m, damping: 0}}}
run: {for: 0.5 s, step: 0.2 ms, begin: straight}
"""),
        settle=False,
    )
    z = run.track.position[:, 1, 2]
    away = np.flatnonzero(np.diff(np.sign(z - z.mean())))
    rate = (len(away) - 1) / 2 / (run.track.time[away[-1]] - run.track.time[away[0]])
    assert rate == pytest.approx(np.sqrt(8e4 / 2.0) / 2 / np.pi, rel=0.005)
    assert z.min() == pytest.approx(-2 * 2.0 * G / 8e4, rel=0.01)  # the weight comes on at once


def test_what_can_t_be() -> None:
    with pytest.raises(RigError, match="a loose joint gives by what its play meets"):
        parse_rig(HINGED.format(one="give: true, diameter: 6 mm, clearance: 0.3 mm", two="give: false"))
    with pytest.raises((EngineError, AssemblyError), match="use --engine exudyn"):
        simulate(parse_rig(LID.format(at=300, give=STATED)), "mujoco", settle=False)


def test_both_give_and_bend() -> None:
    text = HINGED.format(one="give: true", two="give: true").replace(
        "lid: {parts", "lid: {bends: true, parts"
    )
    assembly = assemble(parse_rig(text))
    assert assembly.members
    assert sum(j.give is not None for j in assembly.joints) == 2 + len(assembly.members[0].seams)
    run = simulate(parse_rig(text), settle=False)
    assert (run.loads.energy.share or 0.0) < 0.01
