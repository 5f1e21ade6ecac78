"""What the commands about drives print and write."""

import json
import math
import re
from pathlib import Path

import pytest

from simprop.commands.drives import cues, list_drives, size
from simprop.errors import EngineMissingError
from simprop.recording import save_recording
from simprop.rig.load import load_rig
from simprop.run.simulate import simulate
from tests.drives.rigs import wheel

RIGS = Path(__file__).parents[2] / "rigs"


def test_listing_and_one_class(capsys, tmp_path):
    assert list_drives(None, None, {}, None, None) == 0
    assert "wiper medium low" in capsys.readouterr().out
    plot = tmp_path / "wiper.png"
    assert list_drives("Wiper", RIGS / "wall_peeper.yaml", {"run.for": "1 s"}, "mujoco", plot) == 0
    out = capsys.readouterr().out
    assert out.startswith("wiper medium low")
    assert plot.stat().st_size > 10_000


def test_size_exits_with_1_where_the_supply_holds_back(capsys, tmp_path):
    file = tmp_path / "bench.yaml"
    text = "motors: {lift: {joint: hub, motor: wiper medium low, supply: 12 V %s A}}\nrun: {for: 3 s}"
    file.write_text(wheel(text % 2, "0.5 N*m"))
    assert size(file, {}, "mujoco", tmp_path, hours=4, ambient=20) == 1
    assert "the supply, not the motor, limits it" in " ".join(capsys.readouterr().out.split())
    file.write_text(wheel(text % 5, "0.5 N*m"))
    save_recording(simulate(load_rig(file), "mujoco", settle=False).recording, tmp_path / "bench.npz")
    assert size(tmp_path / "bench.npz", {}, None, None, hours=4, ambient=20) == 0
    assert "the supply carries it" in (tmp_path / "sizes.md").read_text()


def test_cues_writes_sheet_and_plot(tmp_path, capsys):
    assert cues(RIGS / "barn_owl.yaml", {}, "mujoco", tmp_path, plot=True) == 0
    assert "jaw travel" in " ".join(capsys.readouterr().out.split())
    assert (tmp_path / "cues.csv").read_text().startswith("# Barn owl; length 8 s; seed 1\n")
    assert (tmp_path / "cues.png").stat().st_size > 10_000


def test_a_recording_without_its_engine_says_what_it_cant_tell(capsys, tmp_path, monkeypatch):
    """The supply limits it: what the prop asks for needs one more run, which is said, and left out with the reason."""
    file = tmp_path / "bench.yaml"
    file.write_text(
        wheel(
            "motors: {lift: {joint: hub, motor: wiper medium low, supply: 12 V 2 A}}\nrun: {for: 1 s}",
            "0.5 N*m",
        )
    )
    save_recording(simulate(load_rig(file), "mujoco", settle=False).recording, tmp_path / "bench.npz")
    assert size(tmp_path / "bench.npz", {}, None, None, hours=4, ambient=20) == 1
    assert "the run was repeated without its limit" in " ".join(capsys.readouterr().out.split())

    def missing(name):
        raise EngineMissingError(name)

    monkeypatch.setattr("simprop.run.again.choose_engine", missing)
    assert size(tmp_path / "bench.npz", {}, None, None, hours=4, ambient=20) == 3
    assert "what the prop would ask for is not computed" in " ".join(capsys.readouterr().out.split())


def row(text, name):
    return next(line for line in text.splitlines() if line.strip().startswith(name))


def test_listing_shows_each_class_where_it_is_made_to_run(capsys):
    """Figures of the catalogue at the voltages that its classes are rated for; scaled ones by the straight line."""
    assert list_drives(None, None, {}, None, None) == 0
    text = capsys.readouterr().out
    heads = next(line for line in text.splitlines() if line.startswith("RC servos"))
    assert heads.split()[-6:] == ["at", "6", "V", "at", "7.4", "V"]
    # 60 deg in 0.11 s at 6 V are 90.9 rpm, 2 kgf*cm are 0.196 N*m; 60 deg in 0.15 s at 7.4 V are 66.7 rpm
    assert "90.9 rpm 0.196" in row(text, "servo micro")
    assert row(text, "servo large digital").split()[-3:] == ["66.7", "rpm", "2.45"]
    # bore and pressure, and the free air of both strokes: (2 d^2 - rod^2) pi / 4 s (p + 1 atm) / 1 atm
    air = row(text, "air cylinder 25 mm")
    assert air.split("  ")[-1] == "25 mm, 6 bar, 0.63 l/cycle"
    d, rod, stroke = 0.025, 0.010, 0.100
    litres = 1e3 * math.pi / 4 * (2 * d**2 - rod**2) * stroke * (6e5 + 101325) / 101325
    assert litres == pytest.approx(0.63, abs=0.01)
    # mains with volts, frequency and watts
    assert row(text, "synchronous 5/6 rpm").endswith("5.00 rpm 0.400  230 V 50 Hz, 4 W")
    assert row(text, "synchronous 120 V 6 rpm").endswith("6.00 rpm 0.400  120 V 60 Hz, 4 W")


def test_listing_of_a_class_stands_beside_its_own_stall(capsys):
    assert list_drives("servo large digital", None, {}, None, None) == 0
    text = capsys.readouterr().out
    assert "7.4 V  66.7 rpm 2.45 N*m  idle 0.273 A  stall 3 A" in row(text, "7.4 V")
    assert list_drives("linear 330", None, {}, None, None) == 0
    text = capsys.readouterr().out
    assert "12 V" in row(text, "12 V")


@pytest.mark.parametrize("name", ["gate_grabber", "cider_press", "well_lid"])
def test_no_line_begins_with_a_lone_unit(capsys, tmp_path, name):
    size(RIGS / f"{name}.yaml", {"run.for": "2 s"}, "mujoco", tmp_path, hours=4, ambient=20)
    for line in capsys.readouterr().out.splitlines():
        assert not re.match(r"\s*(%|N|N\*m|A|V|rpm|s|mm)\b|\s*%", line), line


def test_size_that_ends_with_1_says_why_in_its_last_words(capsys, tmp_path):
    file = tmp_path / "bench.yaml"
    file.write_text(
        wheel("motors: {lift: {joint: hub, motor: wiper, supply: 3.3 V}}\nrun: {for: 1 s}", "4 N*m")
    )
    assert size(file, {}, "mujoco", tmp_path, hours=4, ambient=20) == 1
    text = " ".join(capsys.readouterr().out.split())
    assert "Not as it should be - lift: it stalls" in text
    assert json.loads((tmp_path / "sizes.json").read_text())["lift"]["faults"]
