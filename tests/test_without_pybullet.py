"""A saved recording gives the same loads where pybullet can't be imported."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from simprop.recording import load_recording, save_recording
from simprop.report.loads import LOADS
from simprop.report.writers import as_json
from simprop.rig.load import load_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

RIG = Path(__file__).parents[1] / "rigs" / "wall_peeper.yaml"
BLOCKED = "import sys; sys.modules['pybullet'] = None; sys.modules['mujoco'] = None; "


def test_same_numbers_without_an_engine(tmp_path: Path) -> None:
    pytest.importorskip("pybullet")
    run = simulate(load_rig(RIG, {"run.for": "2 s"}), "bullet")
    path = tmp_path / "recording.npz"
    save_recording(run.recording, path)
    code = (
        f"{BLOCKED}from pathlib import Path; from simprop.commands.run import loads_of;"
        f"loads_of(Path({str(path)!r}), {{}}, None, None, settle=True, plot=False)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    assert json.loads((tmp_path / "loads.json").read_text()) == json.loads(as_json(LOADS.of(run)))


def test_saved_and_loaded_without_loss(tmp_path: Path) -> None:
    run = simulate(load_rig(RIG, {"run.for": "1 s"}), settle=False)
    save_recording(run.recording, tmp_path / "a.npz")
    again = load_recording(tmp_path / "a.npz")
    for name, value in vars(run.track).items():
        other = getattr(again.track, name)
        assert (value == other) if isinstance(value, float) else (value.tobytes() == other.tobytes()), name
    assert as_json(LOADS.of(Run(again))) == as_json(LOADS.of(run))


def test_same_numbers_on_two_runs() -> None:
    rig = load_rig(RIG, {"run.for": "1 s"})
    one, two = (simulate(rig, settle=False).track for _ in range(2))
    assert one.position.tobytes() == two.position.tobytes()
    assert one.applied.tobytes() == two.applied.tobytes()
