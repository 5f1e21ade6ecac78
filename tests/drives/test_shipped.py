"""The shipped rigs that show drives and cues: both engines, and what is said about them."""

from pathlib import Path

import numpy as np
import pytest

from simprop.engine.acting.program import script
from simprop.picture.clip.sound import sounds
from simprop.report.sizes import size_report
from simprop.report.writers import plain
from simprop.rig.load import load_rig
from simprop.run.simulate import simulate
from simprop.sizing.cue_sheet import cues_csv, jaws

RIGS = Path(__file__).parents[2] / "rigs"


def ran(name, engine, **sets):
    return simulate(load_rig(RIGS / f"{name}.yaml", sets), engine, settle=False)


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
def test_owl_turns_and_opens_its_beak(engine):
    track = ran("barn_owl", engine).track
    turn, beak = np.degrees(track.coordinate.T)
    assert np.interp(2.5, track.time, turn) == pytest.approx(50, abs=2)
    assert turn.min() == pytest.approx(-35, abs=2)
    assert 15 < beak.max() < 23
    assert beak[track.time < 1.7].max() < 2


def test_owl_hoots_at_the_right_time():
    rig = load_rig(RIGS / "barn_owl.yaml")
    happenings = script(rig).events
    assert [(round(t, 6), name) for t, name in sounds(happenings)] == [(1.8, "sounds/hoot.wav")]
    (jaw,) = jaws(script(rig))
    assert jaw.servo == "mouth"
    assert 0.02 < jaw.spoken.lost < 0.3


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
def test_lid_opens_stays_and_shuts(engine):
    track = ran("well_lid", engine).track
    angle = np.degrees(track.coordinate[:, 0])
    assert 40 < angle.max() < 50
    still = (track.time > 4.5) & (track.time < 5.9)
    assert np.ptp(angle[still]) < 0.05  # the screw holds it, switched off
    assert abs(angle[-1]) < 2


def test_lid_keeps_to_its_duty():
    (lift,) = ran("well_lid", "mujoco").sizes()
    assert not any("is allowed" in r for r in lift.remarks)
    assert lift.supply.spec.shared == "box"


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
def test_press_waits_for_the_crank(engine):
    track = ran("cider_press", engine).track
    press, crank = track.coordinate.T
    assert np.abs(press[track.time < 3.3]).max() < 0.01
    assert press.min() == pytest.approx(-0.1, abs=0.01)
    assert np.ptp(crank[track.time > 3.4]) < 1e-3
    assert crank[-1] > 2 * np.pi


def test_engines_agree_on_a_pulsed_worm():
    last = [ran("cider_press", e, **{"run.for": "3 s"}).track.coordinate[-1, 1] for e in ("bullet", "mujoco")]
    assert last[0] == pytest.approx(last[1], rel=1e-3)


def test_blocked_cues_stand_in_the_sheet():
    rows = cues_csv(script(load_rig(RIGS / "cider_press.yaml"))).splitlines()
    assert "2.000,work,ram,blocked,,,,only while turn is off" in rows


@pytest.mark.parametrize("name", ["barn_owl", "well_lid", "cider_press"])
def test_reports_fit(name):
    text = plain(size_report(ran(name, "mujoco")))
    assert max(len(row) for row in text.splitlines()) <= 80
