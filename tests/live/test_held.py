"""A state as it was beside the state as it is: scene, figures, words; without a browser."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simprop.errors import SimpropError
from simprop.live import html
from simprop.live.change import changed, differing, put
from simprop.live.controls import controls, number_of
from simprop.live.session import Session
from simprop.live.types import Held, Job, State, Told, View
from simprop.live.work import told_of
from simprop.scene.beside import WAS, beside
from simprop.scene.types import Motion, SceneData
from tests.live.test_state import STATE, TEXT, Idle

LONGER = changed(STATE, "throw", "62.5 mm")


def view(state: State) -> View:
    told = [t.view for t in told_of(Job(1, state), settled=False)][1]
    assert told is not None
    return told


@pytest.fixture(scope="module")
def was() -> View:
    return view(STATE)


@pytest.fixture(scope="module")
def now() -> View:
    return view(LONGER)


def motions(data: SceneData, prefix: str) -> dict[str, Motion]:
    return {s.name.removeprefix(prefix): s.motion for s in data.solids if s.name.startswith(prefix)}


def test_the_left_one_moves_as_it_did_alone(was: View, now: View) -> None:
    both = beside(now.scene, was.scene)
    alone, left = motions(was.scene, "prop/"), motions(both, f"{WAS}prop/")
    assert alone.keys() == left.keys()
    shifts = [motion.place - alone[name].place for name, motion in left.items()]
    shift = shifts[0][0]
    for each in shifts:
        np.testing.assert_allclose(each, np.tile(shift, (len(each), 1)), atol=1e-12)
    assert shift[0] < -0.5
    assert abs(shift[1]) + abs(shift[2]) == 0
    np.testing.assert_array_equal(both.solids[0].motion.place, now.scene.solids[0].motion.place)
    assert [w.text for w in both.words if w.name.startswith("which/")] == ["as it is", "as it was"]


def test_they_do_not_meet(was: View, now: View) -> None:
    both = beside(now.scene, was.scene)
    wall = next(s for s in both.solids if s.name == "prop/wall")
    wide = np.ptp(wall.surfaces[0].vertices[:, 0])
    left = next(s for s in both.solids if s.name == f"{WAS}prop/wall")
    between = wall.motion.place[0, 0] - left.motion.place[0, 0]
    assert between == pytest.approx(1.2 * wide, rel=0.02)


def test_forces_of_both_have_one_scale(was: View, now: View) -> None:
    both = beside(now.scene, was.scene)
    assert both.arrows is not None
    assert was.scene.arrows is not None
    per_newton = now.scene.long / (now.scene.full or 1.0)
    k = both.arrows.names.index(f"{WAS}shaft")
    own = was.scene.arrows.names.index("shaft")
    drawn = np.linalg.norm(np.diff(both.arrows.points[:, k], axis=1), axis=2).max()
    alone = np.linalg.norm(np.diff(was.scene.arrows.points[:, own], axis=1), axis=2).max()
    assert drawn / per_newton == pytest.approx(alone / was.scene.long * (was.scene.full or 1.0), rel=1e-9)


def test_a_shorter_one_stands_at_its_end(was: View) -> None:
    long = view(State(TEXT.replace("for: 1.5 s", "for: 2 s"), "wall_peeper.yaml"))
    both = beside(long.scene, was.scene)
    crank = motions(both, f"{WAS}prop/")["crank"]
    assert len(crank.place) == len(long.scene.time)
    np.testing.assert_array_equal(crank.turn[-1], motions(was.scene, "prop/")["crank"].turn[-1])


def test_figures_say_what_they_were_and_by_how_much_they_changed(was: View, now: View) -> None:
    before = {(f.group, f.name): f for f in was.figures}
    said = html.tables(now.figures, before, "as it was")
    assert "as it was: 100 mm (now +25 %)" in said
    assert "as it was" not in html.tables(now.figures, before)
    words = html.two(Held(1, STATE, was), LONGER)
    assert "throw: 50 mm &rarr; 62.5 mm" in words
    assert "a draft" in words
    assert differing(STATE, LONGER) == (("throw", "50 mm", "62.5 mm"),)


def test_a_value_is_written_in_any_unit(now: View) -> None:
    inches = put(STATE, "throw = 5 1/2 in")
    own = next(c for c in controls(inches) if c.field == "throw")
    assert number_of(own) == pytest.approx(139.7), "25.4 mm to the inch, exactly, since 1959"
    assert own.high == pytest.approx(139.7), "its slider reaches as far"
    for line, told in (
        ("throw", "a field and its value"),
        ("thorw = 60 mm", "throw"),
        ("throw = 60 kg", "kg is not a unit of length"),
        ("throw = wide", "throw"),
    ):
        with pytest.raises(SimpropError, match=told):
            put(STATE, line)
    assert now.scene.full is not None
    assert "of arrow are" in html.legend(now.scene)
    assert "of arrow are" not in html.legend(None)


def test_a_held_state_stays_through_changes_and_saves(
    was: View, now: View, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("simprop.live.session.OFTEN", 60.0)
    monkeypatch.setattr("simprop.live.session.Worker", Idle)
    file = tmp_path / "peeper.yaml"
    file.write_text(TEXT)
    session = Session(file)
    session.hold()
    assert session.held is None, "there is nothing to hold yet"
    session.ask()
    session._hear(Told(1, settled=False, view=was))
    session.hold()
    session.change("throw", "62.5 mm")
    session._hear(Told(2, settled=False, view=now))
    assert session.held is not None
    assert (session.held.view, session.held.state.sets, session.view) == (was, (), now)
    session.keep()
    assert session.held.state.text == TEXT
    assert differing(session.held.state, session.state) == (
        ("the file", "before it was saved", "as it is now"),
    )
    session.release()
    assert session.held is None
    session.close()
