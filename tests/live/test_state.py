"""What a change makes of a rig that is looked at, its controls and its figures, without a browser."""

from __future__ import annotations

import math
import time
from pathlib import Path

import pytest

from simprop.errors import SimpropError, WriteError
from simprop.live import html
from simprop.live.change import changed, followed, kept
from simprop.live.controls import controls, value_text
from simprop.live.session import Session
from simprop.live.types import Job, State, View
from simprop.live.work import NewerError, told_of
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

RIG = Path(__file__).parents[2] / "rigs" / "wall_peeper.yaml"
TEXT = RIG.read_text().replace("run: {for: 8 s}", "run: {for: 1.5 s}")
PENDULUM = """
rig: 1
name: Pendulum
bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
run: {for: 1 s}
"""
STATE = State(TEXT, "wall_peeper.yaml")


def draft(state: State) -> list[View]:
    found = [told.view for told in told_of(Job(1, state), settled=False)]
    assert [v.stage for v in found if v] == ["motion", "loads", "strength"]
    return [v for v in found if v]


@pytest.fixture(scope="module")
def views() -> list[View]:
    return draft(STATE)


def figure(view: View, name: str) -> str:
    return next(f.text for f in view.figures if f.name == name)


def test_travel_goes_with_the_throw(views: list[View]) -> None:
    """An in-line slider-crank travels twice its throw, whatever its rod (any handbook of mechanisms)."""
    assert figure(views[0], "neck, travel along z") == "100 mm"
    told = next(told_of(Job(1, changed(STATE, "throw", "62.5 mm")), settled=False))
    assert told.view is not None
    assert figure(told.view, "neck, travel along z") == "125 mm"


def test_stages_tell_more_and_more(views: list[View]) -> None:
    motion, loads, strength = views
    assert {f.group for f in motion.figures} == {"Motion"}
    assert motion.scene.arrows is None
    assert {f.group for f in loads.figures} == {"Motion", "Joints", "Motors and supplies", "Run"}
    assert all(f.share is None for f in loads.figures if f.group == "Joints")
    shares = [f.share for f in strength.figures if f.group == "Joints" and f.share is not None]
    assert shares == sorted(shares, reverse=True)
    assert len(shares) == 3
    assert all(not v.settled for v in views)


def test_figures_are_those_of_the_run(views: list[View]) -> None:
    run = simulate(parse_rig(TEXT, str(RIG)), settle=False)
    (motor,) = run.loads.motors
    assert motor.able is not None
    shown = next(f for f in views[1].figures if f.name == "drive")
    assert shown.share == pytest.approx(motor.peak.value / motor.able)
    top = run.loads.joints[0][0]
    assert views[1].peaks[0][1] == top.time
    drawn = next(p for p in views[1].plots if p.name.startswith("forces"))
    assert max(dict(drawn.lines)[top.name]) == pytest.approx(run.loads.history(top).max())


def test_what_is_picked_has_its_line_mass_and_margin(views: list[View]) -> None:
    rows = TEXT.splitlines()
    crank, wrist = views[2].facts["prop/crank"], views[2].facts["joints/wrist"]
    assert rows[(crank.line or 0) - 1].strip().startswith("crank:")
    assert rows[(wrist.line or 0) - 1].strip().startswith("wrist:")
    assert crank.told[0].startswith("mass ")
    assert any("margin" in text for text in wrist.told)
    assert f"line {crank.line}" in html.picked(crank, "wall_peeper.yaml")


def test_controls_have_the_units_of_the_file() -> None:
    found = {c.field: c for c in controls(changed(STATE, "throw", "60 mm"))}
    throw = found["throw"]
    assert (throw.low, throw.high, throw.unit, throw.value, throw.filed) == (25, 100, "mm", "60 mm", "50 mm")
    assert math.isclose((throw.high - throw.low) / throw.step, 150)
    assert value_text(throw, 70.0) == "70 mm"
    assert "12 V 5 A" in found["motors.drive.supply"].choices
    assert "wiper medium high" in found["motors.drive.motor"].choices


def test_what_is_kept_leaves_comments_and_layout() -> None:
    state = changed(changed(STATE, "throw", "60 mm"), "motors.drive.supply", "12 V 10 A")
    before, after = TEXT.splitlines(), kept(state).splitlines()
    differ = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert [b for _, b in differ] == [
        "  throw: 60 mm                     # crank arm, hole to hole",
        "    supply: 12 V 10 A",
    ]
    dos = State(TEXT.replace("\n", "\r\n"), "rig.yaml", state.sets)
    assert kept(dos).replace("\r\n", "\n") == kept(state)


def test_the_author_of_the_file_wins() -> None:
    state = changed(changed(STATE, "throw", "60 mm"), "motors.drive.supply", "12 V 10 A")
    after = followed(state, TEXT.replace("throw: 50 mm", "throw: 55 mm"))
    assert after.sets == (("motors.drive.supply", "12 V 10 A"),)
    assert followed(state, TEXT + "\n# a remark\n").sets == state.sets


def test_faults_have_their_line_and_what_cannot_close_is_said() -> None:
    (told,) = told_of(Job(1, State(TEXT.replace("axis: y", "axis: u", 1), "peeper.yaml")), settled=False)
    assert told.view is None
    assert told.fault.startswith("peeper.yaml:")
    (told,) = told_of(Job(1, changed(STATE, "throw", "300 mm")), settled=False)
    assert "too far" in told.fault
    said = html.status(None, "peeper.yaml:3: <script>", busy=False)
    assert "&lt;script&gt;" in said


BARE = """
rig: 1
name: Bare
points: {foot: 0 0 0 mm, top: 0 0 300 mm}
bodies: {ground: {fixed: true}}
run: {for: 0.2 s}
"""


def test_a_rig_that_was_just_begun_says_so_and_is_shown_once_there_is_a_part() -> None:
    (told,) = told_of(Job(1, State(BARE, "bare.yaml")), settled=False)
    assert told.fault == "there is nothing to draw: no body has a visible part"
    post = BARE.replace(
        "fixed: true", "fixed: true, parts: [{bar: 25 x 3 mm, of: steel, from: foot, to: top}]"
    )
    assert len(draft(State(post, "bare.yaml"))[0].scene.solids) > 0


def test_a_newer_change_ends_what_is_settled() -> None:
    with pytest.raises(NewerError):
        list(told_of(Job(1, STATE), settled=True, newer=lambda: True))


def test_settled_figures_are_told_at_once_and_right() -> None:
    """Let go level, a pendulum pulls 3 m g at its hook below (any textbook of mechanics)."""
    (told,) = told_of(Job(1, State(PENDULUM, "bob.yaml")), settled=True)
    assert told.view is not None
    assert told.view.settled
    assert figure(told.view, "peaks") == "every peak has settled"
    assert figure(told.view, "hook").startswith("29.4")


def until(true: object, seconds: float = 60.0) -> None:
    """Wait until something is so."""
    end = time.monotonic() + seconds
    while not true():  # type: ignore[operator]
        assert time.monotonic() < end, "it never came"
        time.sleep(0.02)


def test_a_session_follows_its_file_and_ends_its_processes(tmp_path: Path) -> None:
    file = tmp_path / "peeper.yaml"
    file.write_text(TEXT)
    session = Session(file)
    try:
        session.ask()
        until(lambda: session.view)
        file.write_text(TEXT.replace("axis: y", "axis: u", 1))
        until(lambda: session.fault)
        assert "peeper.yaml:" in session.fault
        assert session.view is not None, "the last good prop stays"
        file.write_text(TEXT.replace("50 mm ", "55 mm "))
        until(lambda: figure(session.view, "neck, travel along z") == "110 mm")  # type: ignore[arg-type]
        assert session.fault == ""
        session.change("throw", "60 mm")
        with pytest.raises(WriteError, match="there already"):
            session.keep(file)
        copy = session.keep(tmp_path / "copy.yaml")
        assert "throw: 60 mm                     # crank arm" in copy.read_text()
        assert session.keep() == file
        assert session.state.sets == ()
        assert file.read_text() == copy.read_text()
    finally:
        session.close()
    assert all(not worker._process.is_alive() for worker in session._workers)


def test_a_file_saved_meanwhile_is_not_overwritten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simprop.live.session.OFTEN", 60.0)
    monkeypatch.setattr("simprop.live.session.Worker", Idle)
    file = tmp_path / "peeper.yaml"
    file.write_text(TEXT)
    session = Session(file)
    session.change("throw", "60 mm")
    file.write_text(TEXT + "# mine\n")
    with pytest.raises(SimpropError, match="saved meanwhile"):
        session.keep()
    assert file.read_text() == TEXT + "# mine\n"
    session.close()


class Idle:
    """A process that does nothing."""

    def __init__(self, hear: object, *, settled: bool):
        pass

    def give(self, job: Job) -> None:
        """Nothing."""

    def close(self) -> None:
        """Nothing."""
