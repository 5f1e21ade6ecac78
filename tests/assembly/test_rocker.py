"""A rocking chair that a crank sways: another throw neither lifts its rails off the floor nor presses them in.

The chair hangs on the crank by a rod of a length that is held; in the start pose it is turned and shifted until its
rails stand on the floor as deep as drawn.
"""

from __future__ import annotations

from functools import cache

import pytest

from simprop.assembly.assemble import assemble
from simprop.loads.joints import Peak, all_peaks
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

CHAIR = """
rig: 1
name: Rocking chair
params: {throw: 50 mm}
points: {shaft: 600 0 300 mm, pin: [600 mm, 0 mm, 300 mm + throw], hook: 250 0 700 mm}
bodies:
  box: {fixed: true}
  crank: {parts: [{bar: 25 x 5 mm, of: steel, from: shaft, to: pin}]}
  rod:
    hold: {from: pin, to: hook, length: 494.975 mm}
    parts: [{pipe: 1/2 in PVC, from: pin, to: hook}]
  chair: {parts: [{lump: 8 kg, at: 0 0 450 mm, inertia: 0.4 0.4 0.4 kg*m^2}]}
joints:
  shaft: {pin: [box, crank], at: shaft, axis: y}
  crankpin: {pin: [crank, rod], at: pin, axis: y}
  hook: {ball: [rod, chair], at: hook}
contacts:
  left: {arc: chair, centre: 0 200 900 mm, radius: 900 mm, axis: y, friction: 0.5, stiffness: 20 N/mm, loss: 0.2}
  right: {arc: chair, centre: 0 -200 900 mm, radius: 900 mm, axis: y, friction: 0.5, stiffness: 20 N/mm, loss: 0.2}
motors: {drive: {joint: shaft, motor: wiper medium low, supply: 12 V 5 A}}
run: {for: 1 s}
"""


@cache
def _run(throw: str) -> Run:
    return simulate(parse_rig(CHAIR, "chair.yaml", {"throw": throw}), settle=False)


@pytest.mark.parametrize("throw", ["40 mm", "45 mm", "60 mm"])
def test_another_throw_neither_lifts_nor_presses_the_rails(throw: str) -> None:
    assembly = assemble(parse_rig(CHAIR, "chair.yaml", {"throw": throw}))
    assert not [n for n in assembly.notes if "start pose" in n]
    # the crank starts as drawn: its pin straight above the shaft
    (pin,) = (j.point for j in assembly.joints if j.name == "crankpin")
    assert pin == pytest.approx([0.6, 0.0, 0.3 + float(throw.removesuffix(" mm")) / 1000], abs=1e-9)


@pytest.mark.parametrize("throw", ["40 mm", "60 mm"])
def test_loads_of_another_throw_are_of_the_order_of_the_drawn_ones(throw: str) -> None:
    """Pressed in or lifted by 5 mm, rails of 20 N/mm gave 102 and 110 N for 67 N and the hook 32 and 54 N for 27 N."""
    drawn, other = ({p.key: _most(p) for p in all_peaks(_run(t).loads)} for t in ("50 mm", throw))
    rest = 8 * 9.80665 / 2
    for name in ("contact.left.force", "contact.right.force"):
        assert rest < drawn[name] < 2 * rest
    for name in ("contact.left.force", "contact.right.force", "joint.hook.force"):
        assert other[name] == pytest.approx(drawn[name], rel=0.1), name
    lever = float(throw.removesuffix(" mm")) / 50
    assert other["motor.drive.load"] == pytest.approx(lever * drawn["motor.drive.load"], rel=0.1)


def _most(peak: Peak) -> float:
    return max(peak.value, peak.start.value if peak.start is not None else 0.0)


def test_a_rod_that_only_turns_far_off_leaves_the_pose_and_is_told_of() -> None:
    """Straight under its pin a leg can only swing aside: 4 mm too long it would have to turn by 8 deg."""
    leg = """
rig: 1
name: Leg under a pin
params: {long: 400 mm}
bodies:
  post: {fixed: true}
  leg: {parts: [{lump: 1 kg, at: 0 0 100 mm}], hold: {from: 0 0 400 mm, to: 0 0 0 mm, length: long}}
joints: {hip: {pin: [post, leg], at: 0 0 400 mm, axis: y}}
contacts: {toe: {point: leg, at: 0 0 0 mm, friction: 0.5, stiffness: 20 N/mm}}
run: {for: 0.1 s}
"""
    notes = assemble(parse_rig(leg, "leg.yaml", {"long": "404 mm"})).notes
    assert any("toe: is pressed in by 4.0 mm" in n for n in notes)
