"""A changed length neither lifts what stood on the floor nor presses it in; where it must, it is told of."""

from __future__ import annotations

import pytest

from simprop.assembly.assemble import assemble
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G = 9.81
STOOL = """
rig: 1
name: Stool on four feet with legs of another length
params: {leg: 500 mm}
bodies:
  stool:
    parts: [{lump: 8 kg, at: 0 0 500 mm, inertia: [0.2 kg*m^2, 0.2 kg*m^2, 0.2 kg*m^2]}]
    hold: {from: 0 0 500 mm, to: 0 0 0 mm, length: leg}
contacts:
  a: {point: stool, at: 200 200 0 mm, friction: 0.5, stiffness: 100 N/mm}
  b: {point: stool, at: -200 200 0 mm, friction: 0.5, stiffness: 100 N/mm}
  c: {point: stool, at: 200 -200 0 mm, friction: 0.5, stiffness: 100 N/mm}
  d: {point: stool, at: -200 -200 0 mm, friction: 0.5, stiffness: 100 N/mm}
run: {for: 0.2 s, gravity: 9.81 m/s^2}
"""
SHOE = """
rig: 1
name: Shoe that a rod of another length presses on the floor
params: {rod: 400 mm}
bodies:
  post: {fixed: true}
  shoe:
    parts: [{lump: 2 kg, at: 0 0 100 mm}]
    hold: {from: 0 0 400 mm, to: 0 0 0 mm, length: rod}
joints: {hook: {pin: [post, shoe], at: 0 0 400 mm, axis: y}}
contacts: {sole: {ball: shoe, at: 0 0 20 mm, diameter: 40 mm, friction: 0.3, stiffness: 50 N/mm}}
run: {for: 0.1 s}
"""


@pytest.mark.parametrize("leg", ["490 mm", "500 mm", "510 mm"])
def test_what_stands_loose_is_set_down_after_a_changed_length(leg: str) -> None:
    run = simulate(parse_rig(STOOL, "stool.yaml", {"leg": leg}), settle=False)
    # a load that is put on suddenly gives at most twice its rest (impact factor without a fall), here 8 g / 4 a foot
    assert 8 * G / 4 < max(c.value for c in run.loads.contacts) <= 2.0 * 8 * G / 4
    assert not [n for n in run.assembly.notes if "start pose" in n]


@pytest.mark.parametrize(
    ("rod", "told"),
    [("396 mm", "sole: floats by 3.8 mm"), ("400 mm", ""), ("404 mm", "sole: is pressed in by 3.8 mm")],
)
def test_a_pose_that_floats_or_sinks_says_by_how_much(rod: str, told: str) -> None:
    notes = [n for n in assemble(parse_rig(SHOE, "shoe.yaml", {"rod": rod})).notes if "start pose" in n]
    assert len(notes) == bool(told)
    assert told in "".join(notes)
