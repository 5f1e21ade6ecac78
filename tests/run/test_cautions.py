"""What to beware of, for each rig that comes along: exactly what it has, and nothing else."""

from pathlib import Path

import pytest

from simprop.cords.base import Cord
from simprop.drives.linear import LinearPusher
from simprop.drives.synchronous import SynchronousMotor
from simprop.forces.springs import STORED
from simprop.laws.pneumatic import CAUTION as AIR
from simprop.pulls.counterweight import HangingWeight
from simprop.pulls.gas_spring import GasStrut
from simprop.rig.load import load_rig, parse_rig
from simprop.run.cautions import ALWAYS, FREE, LOW_VOLTAGE, MOVING, OVERHEAD, cautions
from simprop.strips.base import Strips

RIGS = Path(__file__).parents[2] / "rigs"
OF_RIG = {
    "air_popup": (AIR, *MOVING, *FREE),
    "barn_owl": (LOW_VOLTAGE, *MOVING, *FREE),
    "breathing_bale": (*SynchronousMotor.cautions, *MOVING, *FREE),
    "cask_hoist": (*Cord.cautions, *MOVING, *FREE),
    "barrel_riser": (*LinearPusher.cautions, *HangingWeight.cautions, LOW_VOLTAGE, *MOVING, *FREE),
    "cellar_lid": (*LinearPusher.cautions, *HangingWeight.cautions, LOW_VOLTAGE, *MOVING),
    "cider_press": (AIR, LOW_VOLTAGE, *MOVING, *FREE),
    "cross_scarecrow": (LOW_VOLTAGE, *MOVING, *FREE),
    "flap_owl": (STORED, LOW_VOLTAGE, *MOVING, *FREE),
    "gate_ghost": (LOW_VOLTAGE, *MOVING, *FREE),
    "gate_ghost_too_light": (LOW_VOLTAGE, *MOVING, *FREE),
    "gate_grabber": (*SynchronousMotor.cautions, STORED, *MOVING, *FREE),
    "fence_owl": (*SynchronousMotor.cautions, *MOVING, *FREE),
    "harvest_nodder": (*SynchronousMotor.cautions, *MOVING, *FREE),
    "lantern_grabber": (STORED, *Cord.cautions, LOW_VOLTAGE, *MOVING, *FREE),
    "marionette": (*Cord.cautions, LOW_VOLTAGE, *MOVING, *FREE),
    "night_watch": (*Strips.cautions, LOW_VOLTAGE, *MOVING, *FREE),
    "press_rocker": (LOW_VOLTAGE, *MOVING, *FREE),
    "sway_head": (LOW_VOLTAGE, *MOVING, *FREE),
    "talking_pumpkin": (LOW_VOLTAGE, *MOVING, *FREE),
    "three_head": (LOW_VOLTAGE, *MOVING, *FREE),
    "twitch_crow": (STORED, LOW_VOLTAGE, *MOVING, *FREE),
    "two_head": (LOW_VOLTAGE, *MOVING, *FREE),
    "two_hand_peeper": (LOW_VOLTAGE, *MOVING, *FREE),
    "wall_peeper": (LOW_VOLTAGE, *MOVING, *FREE),
    "well_ghost": (*Cord.cautions, LOW_VOLTAGE, *MOVING, *FREE),
    "well_lid": (*LinearPusher.cautions, *GasStrut.cautions, LOW_VOLTAGE, *MOVING, *FREE),
}


def test_every_rig_that_comes_along_is_named_here():
    assert {path.stem for path in RIGS.glob("*.yaml")} == set(OF_RIG)


@pytest.mark.parametrize("name", OF_RIG)
def test_cautions_are_those_of_what_the_rig_has(name):
    assert cautions(load_rig(RIGS / f"{name}.yaml")) == (*OF_RIG[name], *ALWAYS)


LID = """
rig: 1
name: a lid over people
bodies: {post: {fixed: true}, lid: {parts: [{bar: 20 x 20 mm, of: pine, from: 0 0 0 mm, to: 500 0 0 mm}]}}
joints: {hinge: {pin: [post, lid], at: 0 0 0 mm, axis: y}}
pulls: {weight: {counterweight: [post, lid], from: 400 0 900 mm, to: 400 0 0 mm, mass: 1 kg}}
STAND
run: {for: 1 s}
"""


def test_a_hung_weight_and_what_is_overhead_may_fall():
    found = cautions(parse_rig(LID.replace("STAND", "visitors: {overhead: true}")))
    assert found == (*HangingWeight.cautions, *OVERHEAD, *MOVING, *FREE, *ALWAYS)


def test_what_is_anchored_does_not_tip():
    found = cautions(parse_rig(LID.replace("STAND", "stand: {anchored: true}")))
    assert found == (*HangingWeight.cautions, *MOVING, *ALWAYS)
