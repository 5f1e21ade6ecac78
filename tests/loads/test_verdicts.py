"""What was driven and didn't move as it should is said in words, with what it would take."""

from __future__ import annotations

from pathlib import Path

import pytest

from simprop.assembly.assemble import assemble
from simprop.commands.check import check_rig
from simprop.loads.verdicts import verdicts
from simprop.report.loads import LOADS
from simprop.report.writers import markdown
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

ARM = """
rig: 1
name: Arm between two stops
bodies: {post: {fixed: true}, arm: {parts: [{slender: %s kg, from: 0 0 0 mm, to: 600 0 0 mm}]}}
joints: {hub: {pin: [post, arm], at: 0 0 0 mm, axis: -y, viscous: 0.5 N*m*s/rad}}
stops: {ends: {pin_stop: hub, below: -2 deg, above: %s deg, stiffness: 2000 N*m/rad, damping: 20 N*m*s/rad}}
motors: {drive: {joint: hub, motor: {steady: {torque: 5 N*m}}}}
run: {for: 2 s, gravity: 9.81 m/s^2}
"""
LINED = """
rig: 1
name: Crank against a lever that a worm motor can't push past
bodies: {post: {fixed: true}, arm: {parts: [{slender: 0.2 kg, from: 0 0 0 mm, to: 0 0 300 mm}]}}
joints: {hub: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
springs: {block: {torsion: hub, rate: 20 N*m/rad, damping: 1 N*m*s/rad}}
motors:
  drive:
    joint: hub
    motor:
      dc:
        {rated_voltage: 12 V, no_load_speed: 45 rpm, stall_torque: 15 N*m, no_load_current: 1.5 A, stall_current: 15 A}
    supply: 12 V
run: {for: 2 s}
"""
LOCKED = """
rig: 1
name: Triangle
bodies: {post: {fixed: true}, bar: {parts: [{lump: 1 kg, at: 0 0 0 mm}]}}
joints: {one: {pin: [post, bar], at: 0 0 0 mm, axis: y}, two: {pin: [post, bar], at: 100 0 0 mm, axis: y}}
run: {for: 0.1 s}
"""


def _of(text: str) -> tuple[str, ...]:
    return verdicts(simulate(parse_rig(text), settle=False).loads)


def test_an_arm_too_heavy_for_its_motor_never_leaves_its_lower_stop() -> None:
    # m g l / 2 cos(2 deg) = 6 * 9.81 * 0.3 * 0.9994 = 17.6 N*m
    (said,) = _of(ARM % (6, 60))
    assert said == (
        "Joint hub never leaves its lower stop at -2 deg: that takes 17.6 N*m there, and motor drive gives 5 N*m"
    )


def test_an_arm_that_falls_short_of_its_upper_stop_says_how_far_it_goes() -> None:
    # 8 a = 4 - m g l / 2 cos(a): about 0.33 rad, with 2 deg below
    said = _of(ARM.replace("5 N*m}", "4 N*m}").replace("run:", SPRING + "run:") % (0.5, 60))
    assert len(said) == 1
    assert "of the 62 deg between its stops" in said[0]


SPRING = "springs: {back: {torsion: hub, rate: 8 N*m/rad}}\n"


def test_an_arm_that_goes_from_stop_to_stop_has_nothing_to_say() -> None:
    assert _of(ARM % (1, 60)) == ()


def test_a_motor_that_locks_away_from_its_stops_says_where() -> None:
    run = simulate(parse_rig(LINED), settle=False)
    (said,) = verdicts(run.loads)
    # 20 a = 15 + m g l / 2 sin(a): 0.76 rad
    assert said.startswith("Motor drive locks at 43")
    assert "it gives 15 N*m" in said
    assert "joint hub doesn't move" in said
    assert said in markdown(LOADS.of(run)).replace("·", "*")


def test_a_rig_in_which_nothing_can_move_fails_its_check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "triangle.yaml"
    path.write_text(LOCKED)
    assert assemble(parse_rig(LOCKED)).jammed
    assert check_rig(path, {}) == 1
    assert "but nothing can move" in capsys.readouterr().out
