"""What the commands about drives print and write."""

from pathlib import Path

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

    monkeypatch.setattr("simprop.run.once.choose_engine", missing)
    assert size(tmp_path / "bench.npz", {}, None, None, hours=4, ambient=20) == 3
    assert "what the prop would ask for is not computed" in " ".join(capsys.readouterr().out.split())
