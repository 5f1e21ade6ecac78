"""The joint forces that exudyn solves for itself: against closed forms, and beside our loads of the same run."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simprop.engine.exudyn.rows import reaction
from simprop.recording import load_recording, save_recording
from simprop.report.loads import LOADS
from simprop.rig.load import load_rig, parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

RIGS = Path(__file__).parents[2] / "rigs"
G = 9.80665
HUNG = """
rig: 1
name: Bracket
bodies:
  wall: {{fixed: true}}
  arm: {{parts: [{{lump: 2 kg, at: 100 50 30 mm, inertia: 0.01 0.02 0.015 kg*m^2}}]}}
  tip: {{parts: [{{lump: 0.5 kg, at: 300 80 -40 mm, inertia: 0.001 0.001 0.001 kg*m^2}}]}}
joints:
  root: {{{root}, at: 0 0 0 mm}}
  end: {{fixed: [arm, tip], at: 200 60 0 mm}}
run: {{for: 50 ms{more}}}
"""


def ran(text: str) -> Run:
    return simulate(parse_rig(text), "exudyn", settle=False)


def test_a_bracket_that_stands_still_bears_its_weight_and_moment() -> None:
    run = ran(HUNG.format(root="fixed: [wall, arm]", more=""))
    force, moment = run.track.own[-1, 0, :3], run.track.own[-1, 0, 3:]
    weights = ((2.0, (0.1, 0.05, 0.03)), (0.5, (0.3, 0.08, -0.04)))
    held = sum(np.cross(at, (0.0, 0.0, -m * G)) for m, at in weights)
    assert force == pytest.approx([0.0, 0.0, 2.5 * G], abs=1e-6)
    assert moment == pytest.approx(-held, abs=1e-6)  # statics
    assert max(row.share for row in run.own) < 1e-6


@pytest.mark.parametrize(
    ("root", "more"),
    [
        ("pin: [wall, arm], axis: y", ", start_speeds: {root: 20 rad/s}"),
        ("pin: [wall, arm], axis: 0.6 0 0.8", ", start_speeds: {root: 20 rad/s}"),
        ("slider: [wall, arm], along: 0.6 0 0.8", ""),
        ("cylindrical: [wall, arm], axis: x", ", start_speeds: {root: 20 rad/s}"),
        ("ball: [wall, arm]", ""),
    ],
)
def test_every_sort_of_bar_in_motion(root: str, more: str) -> None:
    run = ran(HUNG.format(root=root, more=more))
    assert len(run.own) == 2
    assert max(row.share for row in run.own) < 1e-6
    assert max(row.force for row in run.own) < 1e-4


def test_what_the_engine_tells_for_one_barred_turn() -> None:
    """Measured on a joint that bears -1, -2, -3 N*m about its three axes while two of them are free."""
    same = np.eye(3)[None]
    for axis, told in enumerate((-1.0, 2.0, -3.0)):
        rows, row = [1, 1, 1, 0, 0, 0], np.zeros((1, 6))
        rows[3 + axis], row[0, 3 + axis] = 1, told
        assert reaction(row, rows, same, same)[1][0, axis] == -(axis + 1.0)


@pytest.mark.parametrize("name", ["gate_ghost", "wall_peeper", "well_lid", "gate_grabber", "sway_head"])
def test_shipped_rigs(name: str, tmp_path: Path) -> None:
    run = simulate(
        load_rig(RIGS / f"{name}.yaml", sets={"run.for": "1 s"}), "exudyn", settle=False, step=5e-4
    )
    assert run.own
    assert max(row.share for row in run.own) < 1e-5
    told = str(LOADS.of(run))
    assert "The engine's own forces in" in told
    save_recording(run.recording, tmp_path / "run.npz")
    again = load_recording(tmp_path / "run.npz")
    assert np.array_equal(again.track.own, run.track.own, equal_nan=True)


def test_an_overhung_pin_rubs_by_the_reactions_at_its_two_ends() -> None:
    """2 kg, 100 mm off the middle of a bush of 40 mm: N1 + N2 = 2 W a / b (statics), friction mu (N1 + N2) r."""
    run = ran("""
rig: 1
name: Overhung
bodies:
  post: {fixed: true}
  wheel: {parts: [{lump: 2 kg, at: 0 100 0 mm, inertia: 0.05 0.05 0.05 kg*m^2}]}
joints:
  pin: {pin: [post, wheel], at: 0 0 0 mm, axis: y, friction: 0.2, diameter: 20 mm, bearing: 40 mm}
run: {for: 0.5 s, step: 0.5 ms, start_speeds: {pin: 20 rad/s}}
""")
    rubbed = 0.2 * 0.010 * 2 * 2.0 * G * 100 / 40
    slowed = np.polyfit(run.track.time[20:], run.track.rate[20:, 0], 1)[0]
    assert slowed == pytest.approx(-rubbed / 0.05, rel=2e-3)


def test_an_engine_that_solves_for_none_tells_none() -> None:
    run = simulate(load_rig(RIGS / "wall_peeper.yaml", sets={"run.for": "0.1 s"}), "mujoco", settle=False)
    assert run.own == ()
