"""What is wrong with a sheet is said with file, line, field, what is allowed and the nearest name."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.tuning.measured import Stated, parse_measured, readings_of
from simprop.tuning.tune import base_run, tune
from tests.tuning.props import LANTERN

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def run() -> Run:
    return base_run(parse_rig(LANTERN))


def sheet_of(inside: str) -> str:
    return f"measured: 1\n{inside}\n"


@pytest.mark.parametrize(
    ("inside", "line", "words"),
    [
        (
            "motors: {drive: {no_load_sped: 98 rpm}}",
            2,
            ("motors.drive.no_load_sped: unknown key", "no_load_speed"),
        ),
        ("motors: {drive: {no_load_speed: 98}}", 2, ("a spin needs a unit", "allowed: 45 rpm")),
        ("motors:\n  drive:\n    no_load_speed: 98 kg", 4, ("kg is not a unit of spin",)),
        ("bodies: {arm: {weight: -1 kg}}", 2, ("a reading is above zero", "leave blank")),
        ("bodies: {arm: {weight: 1 kg +- 80 %}}", 2, ("a part of it", "up to 0.5 kg")),
        ("bodies: {arm: {weight: 1 kg +- 2 rpm}}", 2, ("not a unit of mass",)),
        ("springs: {lift: {pulls: [{pull: 3 N}]}}", 2, ("springs.lift.pulls.0.length: this key is missing",)),
        ("wheels: {a: {}}", 2, ("wheels: unknown key", "motors, pushers, bodies, springs, joints, watch")),
        ("watch: [neck]", 2, ("a mapping is wanted",)),
    ],
)
def test_faults_of_form(inside: str, line: int, words: tuple[str, ...]) -> None:
    with pytest.raises(RigError) as caught:
        parse_measured(sheet_of(inside), "m.yaml")
    text = str(caught.value)
    assert text.startswith(f"m.yaml:{line}: ")
    for word in words:
        assert word in text


@pytest.mark.parametrize(
    ("inside", "words"),
    [
        (
            "motors: {drve: {resistance: 2 ohm}}",
            ("the rig has no such name in motors", "did you mean 'drive'?"),
        ),
        (
            "springs: {lift: {pulls: [{length: 150 mm, pull: 3 N}]}}",
            ("no such reading, or it is nought", "pulls"),
        ),
        ("joints: {shaft: {drag: 3 N}}", ("no such reading", "drag_torque")),
        ("bodies: {post: {weight: 3 kg}}", ("no such reading", "none of this one")),
        ("rig: Another\nbodies: {arm: {weight: 1 kg}}", ("belongs to another rig", "Turning lantern")),
        ("motors: {drive: {resistance: }}", ("no reading is filled in",)),
    ],
)
def test_faults_against_the_rig(run: Run, inside: str, words: tuple[str, ...]) -> None:
    with pytest.raises(RigError) as caught:
        readings_of(parse_measured(sheet_of(inside), "m.yaml"), run)
    for word in words:
        assert word in str(caught.value)


def test_what_a_reading_may_be_off_by() -> None:
    """In its own unit, in another one, or as a share."""
    text = "bodies: {a: {weight: 400 g +- 4 g}, b: {weight: 2 lb ± 0.016 kg}, c: {weight: 1 kg +/- 3 %}}"
    found = parse_measured(sheet_of(text)).measured.bodies
    offs = {
        name: body.weight.off for name, body in found.items() if body is not None and body.weight is not None
    }
    assert offs == {"a": pytest.approx(0.01), "b": pytest.approx(0.016 / 0.907185, rel=1e-5), "c": 0.03}
    assert parse_measured(sheet_of("bodies: {a: {weight: 1 kg}}")).measured.bodies["a"].weight == Stated(1.0)  # type: ignore[union-attr]


def test_readings_that_contradict_are_named() -> None:
    """Two pulls make a spring of 60 N/m; a third lies 3.6 N off that."""
    inside = """
springs:
  lift: {pulls: [{length: 280 mm, pull: 4.8 N}, {length: 360 mm, pull: 9.6 N}, {length: 340 mm, pull: 12 N}]}
bodies: {arm: {weight: 400 g}}"""
    with pytest.raises(RigError) as caught:
        tune(parse_rig(LANTERN), parse_measured(sheet_of(inside), "m.yaml"))
    named = [fault.field for fault in caught.value.faults]
    assert "springs.lift.pulls.2.pull" in named
    assert "bodies.arm.weight" not in named
    assert str(caught.value).startswith("m.yaml:")
    assert "contradict" in str(caught.value)


def test_a_cycle_faster_than_the_free_motor() -> None:
    """A motor that turns freely at 60 rpm takes a second a turn at least: these two are named, the others aren't."""
    inside = """
motors: {drive: {no_load_speed: 60 rpm, cycle_time: 0.6 s, resistance: 2 ohm}}
bodies: {arm: {weight: 400 g}}"""
    with pytest.raises(RigError) as caught:
        tune(parse_rig(LANTERN), parse_measured(sheet_of(inside), "m.yaml"))
    named = [fault.field for fault in caught.value.faults]
    assert named == ["motors.drive.no_load_speed", "motors.drive.cycle_time"]


def test_a_travel_that_does_not_fit_is_a_matter_of_lengths() -> None:
    """Twice the throw is what a crank lifts; nothing that is tuned changes that."""
    text = (ROOT / "rigs" / "wall_peeper.yaml").read_text()
    rig = parse_rig(text.replace("run: {for: 8 s}", "run: {for: 1.6 s, step: 4 ms}"))
    inside = "watch: {neck: {up_and_down: 120 mm}}\nbodies: {mast: {weight: 440 g}}"
    with pytest.raises(
        RigError, match=r"m.yaml:2: watch.neck.up_and_down: .* the lengths in the rig; .* 100 mm"
    ):
        tune(rig, parse_measured(sheet_of(inside), "m.yaml"))


def test_a_motor_that_can_not_be_is_refused() -> None:
    """12 V, 6 A stalled, 100 rpm: at half speed 14 N*m / 2 times 5.2 rad/s are 37 W, of 36 W that it takes then."""
    inside = """
motors:
  drive: {no_load_speed: 100 rpm +- 1 %, stall_torque: 14 N*m +- 2 %, resistance: 2 ohm +- 2 %}"""
    with pytest.raises(RigError) as caught:
        tune(parse_rig(LANTERN), parse_measured(sheet_of(inside), "m.yaml"))
    assert "no prop can be so" in str(caught.value)
    assert "stall_torque" in str(caught.value)


def test_exit_code_2_and_nothing_written(tmp_path: Path) -> None:
    (tmp_path / "lantern.yaml").write_text(LANTERN)
    (tmp_path / "m.yaml").write_text(sheet_of("motors: {drve: {resistance: 2 ohm}}"))
    words = [sys.executable, "-m", "simprop", "tune", "lantern.yaml", "m.yaml"]
    result = subprocess.run(words, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert result.returncode == 2
    assert result.stderr.startswith("m.yaml:2: motors.drve: the rig has no such name in motors")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["lantern.yaml", "m.yaml"]
