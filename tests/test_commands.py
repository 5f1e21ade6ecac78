"""The commands as a person runs them: files, words on the terminal, exit codes."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import imageio_ffmpeg
import pytest
from PIL import Image

from tests.bending.rigs import mast

ROOT = Path(__file__).parents[1]
PEEPER = str(ROOT / "rigs" / "wall_peeper.yaml")
SHORT = ["--set", "run.for=0.4 s", "--engine", "mujoco"]


def _simprop(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "simprop", *words], capture_output=True, text=True, cwd=folder, check=False
    )


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    folder = tmp_path_factory.mktemp("run")
    return folder, _simprop("run", PEEPER, *SHORT, "--size", "320x240", folder=folder)


def test_run_writes_everything(run: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, result = run
    assert result.returncode == 0, result.stderr
    written = {p.name for p in (folder / "renders" / "wall_peeper").iterdir()}
    assert written >= {
        "clip.mp4", "clip.gif", "still.png", "loads.md", "loads.json", "loads.png", "recording.npz", "strength.md"
    }  # fmt: skip
    assert not [name for name in written if name.endswith(".part")]


def test_the_highest_joint_comes_first(run: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, result = run
    verdict, *rest = result.stdout.splitlines()
    assert verdict.startswith("Strength: PASS")
    first = next(line for line in rest if line.startswith("Highest load"))
    data = json.loads((folder / "renders/wall_peeper/loads.json").read_text())
    highest = max(data["joints"], key=lambda name: data["joints"][name]["force"]["value"])
    assert data["highest"] == highest
    assert first.startswith(f"Highest load: joint {highest}, ")
    assert "±" in first


def test_a_pipe_stays_quiet_and_narrow(run: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    """On a machine so slow that the clip takes seconds a line of progress may come now and then, and nothing else."""
    _, result = run
    assert all(re.fullmatch(r"[a-z0-9. ]+: \d+ %", line) for line in result.stderr.splitlines())
    assert len(result.stderr.splitlines()) <= 5
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert "\x1b" not in result.stdout


def test_loads_of_a_recording(run: tuple[Path, subprocess.CompletedProcess[str]], tmp_path: Path) -> None:
    folder, _ = run
    saved = folder / "renders/wall_peeper/recording.npz"
    again = _simprop("loads", str(saved), "--out", str(tmp_path), folder=tmp_path)
    assert again.returncode == 0, again.stderr
    assert json.loads((tmp_path / "loads.json").read_text()) == json.loads(
        (folder / "renders/wall_peeper/loads.json").read_text()
    )
    assert not (tmp_path / "loads.png").exists()
    assert "loads.png" not in (tmp_path / "loads.md").read_text()
    drawn = _simprop("loads", str(saved), "--plot", "--out", str(tmp_path), folder=tmp_path)
    assert drawn.returncode == 0, drawn.stderr
    assert Image.open(tmp_path / "loads.png").size[0] > 400
    assert "loads.png" in (tmp_path / "loads.md").read_text()


def test_check_tells_bodies_freedoms_and_loops(tmp_path: Path) -> None:
    result = _simprop("check", PEEPER, folder=tmp_path)
    assert result.returncode == 0
    assert "Degrees of freedom: 1" in result.stdout
    assert "Loops: 1, closed at wrist" in result.stdout
    assert "Over-constrained by 3" in result.stdout
    assert not list(tmp_path.iterdir())


def test_a_draft_is_half_the_size_and_frames_and_has_no_gif(tmp_path: Path) -> None:
    result = _simprop("preview", PEEPER, *SHORT, "--draft", "--out", str(tmp_path), folder=tmp_path)
    assert result.returncode == 0, result.stderr
    assert {p.name for p in tmp_path.iterdir()} == {"clip.mp4", "still.png"}
    assert Image.open(tmp_path / "still.png").size == (320, 240)
    clip = imageio_ffmpeg.read_frames(str(tmp_path / "clip.mp4"))
    facts = next(clip)
    clip.close()
    assert facts["fps"] == 12.5  # half of the rig's 25


def test_a_failing_prop_exits_with_1(tmp_path: Path) -> None:
    light = str(ROOT / "rigs" / "gate_ghost_too_light.yaml")
    result = _simprop("strength", light, "--engine", "mujoco", "--brief", folder=tmp_path)
    assert result.returncode == 1, result.stderr
    assert "FAIL:" in result.stdout
    assert "change:" in result.stdout


@pytest.mark.parametrize("command", ["loads", "strength", "size"])
def test_a_second_opinion_stands_beside(command: str, tmp_path: Path) -> None:
    words = [command, PEEPER, "--set", "run.for=0.2 s", "--engine", "both", "--out", str(tmp_path / "out")]
    result = _simprop(*words, folder=tmp_path)
    assert result.returncode == 0, result.stderr
    names = {"loads": "loads.json", "strength": "strength.json", "size": "sizes.json"}
    told = json.loads((tmp_path / "out" / names[command]).read_text())["second_opinion"]
    assert told["engines"] == ["mujoco", "exudyn"]
    one, two = told["peaks"]["joint.crankpin.force"]["values"]
    assert one == pytest.approx(two, rel=0.01)
    assert one != two
    row = next(line for line in result.stdout.splitlines() if line.startswith("crankpin force"))
    assert row.split()[-1] == "%"
    assert "one load solver" in " ".join(result.stdout.split())
    assert "Exudyn solves for joint forces itself" in " ".join(result.stdout.split())


def test_version(tmp_path: Path) -> None:
    assert _simprop("--version", folder=tmp_path).stdout == "simprop 0.1.0\n"


def test_a_missing_fastener_exits_with_3(tmp_path: Path) -> None:
    result = _simprop(
        "strength", PEEPER, *SHORT, "--set", "joints.wrist.held_by=null", "--brief", folder=tmp_path
    )
    assert result.returncode == 3, result.stdout
    assert "could not be computed" in result.stdout


def test_rigid_and_bending_side_by_side(tmp_path: Path) -> None:
    """One option, whether the rig lets something bend itself or not; panes and columns say which is which."""
    pytest.importorskip("exudyn")
    (tmp_path / "mast.yaml").write_text(mast(0.3, run="{for: 0.1 s, gravity: 1 0 -9.81 m/s^2}"))
    words = ["compare", "mast.yaml", "--bend", "--engine", "exudyn", "--exaggerate", "5", "--out", "side"]
    result = _simprop(*words, folder=tmp_path)
    assert result.returncode == 0, result.stderr
    assert "rigid" in result.stdout
    assert "bending" in result.stdout
    assert Image.open(tmp_path / "side" / "compare.png").size == (1124, 480)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["run", "nowhere.yaml"], "there is no such file"),
        (["run", PEEPER, "--engine", "bulet"], "'bulet' is not a known engine; did you mean 'bullet'?"),
        (["run", PEEPER, "--set", "thrw=60 mm"], "did you mean 'throw'?"),
        (["run", PEEPER, "--size", "big"], "640x480"),
        (["loads", PEEPER.replace("wall_peeper.yaml", "../README.md")], "not YAML"),
        (["compare", PEEPER], "can't be compared"),
        (["preview", PEEPER, "--engine", "both"], "compares peaks"),
        *(
            ([c, PEEPER, "--exaggerate", "5"], "nothing bends in")
            for c in ("run", "preview", "sheets", "export")
        ),
        (["compare", PEEPER, PEEPER, "--exaggerate", "5"], "nothing bends in"),
        (["preview", PEEPER, "--exaggerate", "0.5"], "greater than or equal to 1"),
    ],
)
def test_bad_input_exits_with_2(words: list[str], said: str, tmp_path: Path) -> None:
    result = _simprop(*words, folder=tmp_path)
    assert result.returncode == 2
    assert said in result.stderr
    assert "Traceback" not in result.stderr
    assert not list(tmp_path.iterdir())
