"""The order of building of the rigs that come along: nothing is asked for before it is there, nothing left out."""

import numpy as np
import pytest

from simprop.making.order import order, row, travels
from simprop.report.order import building
from simprop.report.structure import Report
from simprop.report.writers import markdown
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.making.shipped import NAMES, ran


def own_joints(run):
    return [j.name for k, j in enumerate(run.assembly.joints) if k not in run.assembly.seams]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_asked_for_before_it_is_there(name):
    run = ran(name)
    scenery = {b.name for b in run.assembly.drawn if b.scenery}
    fixed = {b.name for b in run.assembly.drawn if b.fixed}
    made, standing, joints = set(scenery), set(scenery), set()
    for step in order(run):
        if step.does == "make":
            made |= set(step.bodies)
        elif step.does == "stand":
            assert set(step.bodies) <= made
            standing |= set(step.bodies)
            assert standing >= fixed
        elif step.does == "place":
            assert set(step.bodies) <= made
            standing |= set(step.bodies)
        elif step.does == "join":
            there, new = step.bodies
            assert there in standing
            assert new in made
            assert new not in standing
            standing.add(new)
            joints.add(step.name)
        elif step.does == "close":
            assert set(step.bodies) <= standing
            joints.add(step.name)
        elif step.does == "couple":
            assert set(step.bodies) <= joints
        elif step.does == "mount":
            assert set(step.bodies) <= made
            assert run.rig.motors[step.name].joint not in joints  # its shaft is there before the hub
        elif step.does in ("fit", "hub", "turn"):
            assert joints == set(own_joints(run))
            assert set(step.bodies) <= standing
    assert standing == {b.name for b in run.assembly.drawn}


@pytest.mark.parametrize("name", NAMES)
def test_each_thing_of_the_rig_comes_once(name):
    run = ran(name)
    steps = order(run)

    def named(*does):
        return sorted(s.name for s in steps if s.does in does)

    rig = run.rig
    assert named("make") == sorted(b.name for b in run.assembly.drawn if not b.scenery)
    assert named("join", "close") == sorted(own_joints(run))
    assert named("mount") == sorted(rig.motors)
    assert named("couple") == sorted(rig.couplings)
    lines = [n for n, s in rig.springs.items() if s.line() is not None]
    fitted = [*rig.pushers, *lines, *rig.pulls, *rig.cords, *rig.strips]
    assert named("fit") == sorted(fitted)
    assert named("slip") == sorted(set(rig.springs) - set(lines))
    assert named("hub") == sorted(n for n, m in rig.motors.items() if not m.figures.unwired)
    does = [s.does for s in steps]
    closing = [k for k, d in enumerate(does) if d == "close"]
    assert not closing or min(closing) > max(k for k, d in enumerate(does) if d == "join")
    text = markdown(Report(name, [building(run)]))
    for n in (*own_joints(run), *rig.motors, *fitted):
        assert n.replace("_", " ") in text.replace("\\", "")


def test_travels_are_those_of_the_run():
    run = ran("wall_peeper", 4)
    track = run.track
    found = {t.joint: t for t in travels(run)}
    for k, axis in enumerate(run.assembly.axes):
        name = run.assembly.joints[axis.joint].name
        assert found[name].size == pytest.approx(float(np.ptp(track.coordinate[:, k])))
    # crank of 50 mm in line with its slide: twice the crank (any text on slider-cranks); the rod swings by
    # 2 asin(50 / 206.155)
    assert found["tee"].size == pytest.approx(0.1, abs=2e-4)
    assert found["wrist"].size == pytest.approx(2 * np.arcsin(50 / 206.155), abs=2e-3)
    assert found["shaft"].round
    text = markdown(Report("", [building(run)]))
    assert "tee: travel 100 mm?" in text
    assert "shaft: free over the whole turn?" in text


SHAFT = """
rig: 1
name: two wheels on one shaft
bodies:
  post: {fixed: true, parts: [{block: 40 x 20 x 200 mm, of: oak, at: 0 60 0 mm}]}
  near: {parts: [{disc: 80 mm, thick: 10 mm, of: plywood, at: 0 0 0 mm, axis: y}]}
  far: {parts: [{disc: 80 mm, thick: 10 mm, of: plywood, at: 0 30 0 mm, axis: y}]}
joints:
  one: {pin: [post, near], at: 0 30 0 mm, axis: y}
  two: {pin: [post, far], at: 0 45 0 mm, axis: y}
springs:
  back: {torsion: two, rate: 0.01 N*m/rad}
run: {for: 0.1 s}
"""


def test_what_sits_on_one_shaft_stands_in_its_order_and_the_spring_goes_on_first():
    run = simulate(parse_rig(SHAFT), "mujoco", settle=False)
    joints = {j.name: j for j in run.assembly.joints}
    assert row(run.assembly, joints["one"]) == row(run.assembly, joints["two"]) == ("near", "far", "post")
    does = [(s.does, s.name) for s in order(run)]
    assert does.index(("slip", "back")) + 1 == does.index(("join", "two"))


def test_loops_hang_loose_and_open_arms_do_not():
    loose = {s.name: s.loose for s in order(ran("wall_peeper")) if s.does == "join"}
    assert loose == {"shaft": True, "tee": True, "crankpin": True}
    assert not any(s.loose for s in order(ran("three_head")))
