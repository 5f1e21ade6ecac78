"""Props on one supply by one clock, held to one rig that has all their motors, and the files of a show."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

import simprop
from simprop.cli import app
from simprop.errors import RigError
from simprop.picture.clip.show import show_film
from simprop.picture.render.film import Shot, prepare
from simprop.report.show import exit_code, show_report
from simprop.report.writers import markdown
from simprop.show.effects import effects, sags
from simprop.show.load import load_show
from simprop.show.play import Played, play

ROOT = Path(__file__).parents[2]
ORCHARD = ROOT / "rigs" / "shows" / "orchard_walk.yaml"
MOTOR = (
    "dc: {rated_voltage: 12 V, no_load_speed: 60 rpm, stall_torque: 6 N*m, no_load_current: 0.5 A, "
    "stall_current: 8 A, rotor_inertia: 2e-5 kg*m^2, gear_ratio: 50}"
)
WHEEL = """
rig: 1
name: Wheel
bodies: {post: {fixed: true}, wheel: {parts: [{disc: 500 mm, thick: 10 mm, of: steel, at: 0 0 0 mm, axis: y}]}}
joints: {hub: {pin: [post, wheel], at: 0 0 0 mm, axis: y}}
motors: {drive: {joint: hub, motor: {MOTOR}, supply: 12 V}}
run: {for: 1 s}
"""
BOTH = """
rig: 1
name: Wheels
bodies:
  post: {fixed: true}
  one: {parts: [{disc: 500 mm, thick: 10 mm, of: steel, at: 0 0 0 mm, axis: y}]}
  two: {parts: [{disc: 500 mm, thick: 10 mm, of: steel, at: 0 0 500 mm, axis: y}]}
joints: {left: {pin: [post, one], at: 0 0 0 mm, axis: y}, right: {pin: [post, two], at: 0 0 500 mm, axis: y}}
supplies: {box: {SUPPLY}}
motors:
  first: {joint: left, motor: {MOTOR}, supply: box}
  second: {joint: right, motor: {MOTOR}, supply: box, on: [0.4 s to 9 s]}
run: {for: 2 s, step: 0.5 ms}
"""
SHOW = """
show: 1
name: Wheels
supplies: {box: {SUPPLY}}
props:
  first: {rig: wheel.yaml, set: {run.step: 0.5 ms}, supply: box}
  second: {rig: wheel.yaml, at: 1 0 0 m, turn: 90 deg, starts: 0.4 s, set: {run.step: 0.5 ms}, supply: box}
run: {for: 2 s}
"""
WEAK = "{voltage: 12 V, limit: 7 A}"
THIN = "{voltage: 12 V, wire: 22 AWG 6 m}"


def _written(folder: Path, text: str) -> Path:
    (folder / "wheel.yaml").write_text(WHEEL.replace("MOTOR", MOTOR))
    (folder / "show.yaml").write_text(text)
    return folder / "show.yaml"


@pytest.fixture(scope="module")
def orchard(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Played]:
    """The first seconds of the shipped show, of the props that begin in them, by one step each."""
    text = ORCHARD.read_text().replace("../", f"{ROOT / 'rigs'}/").replace("for: 12 s", "for: 2.4 s")
    text = "\n".join(line for line in text.splitlines() if "lid:" not in line and "crow:" not in line)
    path = tmp_path_factory.mktemp("orchard") / "orchard.yaml"
    path.write_text(text)
    return path, play(*load_show(path), settle=False)


@pytest.mark.parametrize("supply", [WEAK, THIN])
def test_two_props_on_a_supply_move_as_one_rig_with_both_motors(supply: str, tmp_path: Path) -> None:
    """The one rig solves for the voltage at every step; the show runs its props beside each other until it stands."""
    one = simprop.simulate(
        simprop.parse_rig(BOTH.replace("MOTOR", MOTOR).replace("{SUPPLY}", supply)), settle=False
    )
    played = play(*load_show(_written(tmp_path, SHOW.replace("{SUPPLY}", supply))), settle=False)
    line = played.lines[0]
    assert line.settled
    assert 1 <= line.rounds <= 6
    for k, part in enumerate(played.parts):
        time = part.run.track.time + part.prop.standing.starts
        alone = np.interp(time, one.track.time, one.track.rate[:, k])
        assert part.run.track.rate[:, 0] == pytest.approx(alone, abs=0.01 * np.abs(alone).max())
        assert (
            np.abs(part.alone.track.rate[:, 0] - alone).max() > 0.03 * np.abs(alone).max()
        )  # the other is felt
    # the second's start pulls the line down, to the same voltage in both
    low = one.track.voltage[:, 0].min()
    assert line.voltage.min() == pytest.approx(low, rel=0.02)
    assert line.voltage.min() < 10.0


def test_a_prop_by_itself_moves_as_its_rig_does(tmp_path: Path) -> None:
    text = "show: 1\nname: One\nprops: {wheel: {rig: wheel.yaml, at: 2 0 0 m}}\nrun: {for: 1 s}"
    played = play(*load_show(_written(tmp_path, text)), settle=False)
    rig = simprop.parse_rig(WHEEL.replace("MOTOR", MOTOR))
    assert (played.parts[0].run.track.rate == simprop.simulate(rig, settle=False).track.rate).all()
    assert played.lines == ()
    assert effects(played)[0].late is None
    assert "No prop shares a supply" in markdown(show_report(played))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("supply: box}\n  second", "supply: bux}\n  second"), r"props\.first\.supply: no such supply .*mean 'box'"),
        (("starts: 0.4 s", "starts: 3 s"), r"props\.second\.starts: it would start after the end of the show"),
        (("rig: wheel.yaml, at", "rig: whel.yaml, at"), r"whel\.yaml: there is no such file"),
        (("starts: 0.4", "stars: 0.4"), r"show\.yaml:\d+: props\.second\.stars: unknown key .*mean 'starts'"),
        (("starts: 0.4 s", "starts: 0.4"), r"props\.second\.starts: .*unit"),
        (("limit: 7 A", "frequency: 50 Hz"), r"supplies\.box: the mains need no sharing"),
        (("run: {for: 2 s}", "run: {for: 2 s}\ncamera: {view: follow}"), r"camera\.view: a show is seen from one"),
        (("set: {run.step: 0.5 ms}, supply", "set: {run.stop: 0.5 ms}, supply"), r"run\.stop: there is no such field"),
        (("show: 1", "show: 2"), r"show\.yaml:\d+: show: "),
    ],
)  # fmt: skip
def test_faults_of_a_show_are_told_with_their_place(
    change: tuple[str, str], told: str, tmp_path: Path
) -> None:
    text = SHOW.replace("{SUPPLY}", WEAK)
    assert change[0] in text
    with pytest.raises(RigError, match=told):
        load_show(_written(tmp_path, text.replace(*change)))


def test_a_prop_without_a_drive_on_direct_current_cannot_hang_on_the_supply(tmp_path: Path) -> None:
    path = _written(tmp_path, SHOW.replace("{SUPPLY}", WEAK))
    wheel = tmp_path / "wheel.yaml"
    wheel.write_text(wheel.read_text().replace(", supply: 12 V", ""))
    with pytest.raises(
        RigError, match=r"show\.yaml:\d+: props\.first: nothing in wheel\.yaml hangs on a supply"
    ):
        load_show(path)


def test_the_shipped_show_stays_within_its_supply(orchard: tuple[Path, Played]) -> None:
    """What all take together is never more than the box gives, and its voltage is what is left of it there."""
    _, played = orchard
    line = played.lines[0]
    assert line.total.max() == pytest.approx(6.0, abs=1e-6)
    wire = (
        2 * 0.00499 * 10 / 0.3048
    )  # ohm: 4.99 ohm/kft of stranded 16 AWG at 75 degC (NEC chapter 9 table 8)
    free = ~line.limited
    assert line.voltage[free] == pytest.approx(12.0 - wire * line.total[free], abs=0.01)
    assert (line.voltage[line.limited] < 12.0 - wire * 6.0 + 1e-6).all()
    for part in played.parts:  # nobody draws before its start
        before = line.time < part.prop.standing.starts - 1e-9
        assert not line.current[part.prop.name][before].any()


def test_the_sag_names_who_is_fed_then(orchard: tuple[Path, Played]) -> None:
    _, played = orchard
    sag = sags(played)[0]
    line = played.lines[0]
    assert sag.voltage == line.voltage.min()
    row = int(np.argmin(np.abs(line.time - sag.time)))
    assert dict(sag.takers) == {n: pytest.approx(c[row]) for n, c in line.current.items() if c[row] > 0.05}
    assert [e.part.prop.name for e in effects(played)] == ["peeper", "ghost", "head"]


def test_the_whole_shipped_show_reads() -> None:
    show, props = load_show(ORCHARD)
    assert len(props) == 5
    for prop in props:
        drives = [*prop.rig.motors.values(), *prop.rig.pushers.values()]
        assert {d.supply.shared for d in drives if d.supply is not None} == {"box"}
        assert prop.rig.run.duration == pytest.approx(show.run.duration - prop.standing.starts)


def test_a_show_is_one_picture_in_which_each_prop_stands_in_its_place(orchard: tuple[Path, Played]) -> None:
    _, played = orchard
    film = show_film(played, (320, 240), 5.0)
    first = seen = 0
    for part in played.parts:
        bodies = part.run.assembly.bodies
        turn, at = part.prop.standing.turn, np.array(part.prop.standing.at[:3])
        way = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
        for k, body in enumerate(bodies):
            assert film.poses.shift[0, first + k] == pytest.approx(way @ body.com + at, abs=2e-3)
        alone = prepare(part.run.assembly, part.run.track, Shot((320, 240), 5.0, plain=True, whole=True))
        first += alone.poses.turn.shape[1]
        seen += len(alone.scene.vertices)
    assert (first, seen) == (film.poses.turn.shape[1], len(film.scene.vertices))
    still = film.scene.owner[: film.scene.moving_vertex]
    assert (film.poses.turn[:, np.unique(still)] == film.poses.turn[0, np.unique(still)]).all()
    assert film.scene.faces[: film.scene.moving_face].max() < film.scene.moving_vertex


def test_the_command_writes_clip_report_plot_and_cue_sheet(tmp_path: Path) -> None:
    path = _written(tmp_path, SHOW.replace("{SUPPLY}", WEAK))
    out = tmp_path / "out"
    words = ["show", str(path), "--one-step", "--no-gif", "--size", "320x240", "--out", str(out)]
    result = CliRunner().invoke(app, words)
    assert {p.name for p in out.iterdir()} == {
        "clip.mp4",
        "still.png",
        "show.md",
        "show.json",
        "supplies.png",
        "cues.csv",
    }
    assert "Who suffers: " in result.output
    assert max(map(len, result.output.splitlines())) <= 80
    rows = [r for r in csv.reader((out / "cues.csv").read_text().splitlines()) if not r[0].startswith("#")]
    assert rows[0][0] == "time_s"
    assert [(r[0], r[2], r[3]) for r in rows[1:]] == [
        ("0.000", "first", "switched on"), ("0.400", "second", "switched on"),
    ]  # fmt: skip
    assert result.exit_code == exit_code(play(*load_show(path), settle=False))


def test_a_fault_in_a_show_ends_with_code_2_and_writes_nothing(tmp_path: Path) -> None:
    path = _written(tmp_path, SHOW.replace("{SUPPLY}", "12"))
    result = CliRunner().invoke(app, ["show", str(path), "--out", str(tmp_path / "out")])
    assert isinstance(result.exception, RigError)
    assert not (tmp_path / "out").exists()
