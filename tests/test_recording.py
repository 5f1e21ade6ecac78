"""A recording holds all that its loads need; what isn't one, or was changed, ends with one clear error."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
import tracemalloc
import wave
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh

from simprop.errors import RecordingError
from simprop.recording import load_recording, save_recording
from simprop.rig.load import load_rig, parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

RIGS = Path(__file__).parents[1] / "rigs"
Arrays = dict[str, np.ndarray]


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("saved") / "recording.npz"
    rig = load_rig(RIGS / "wall_peeper.yaml", {"run.for": "0.2 s"})
    save_recording(simulate(rig, "mujoco", settle=False).recording, path)
    return path


def changed(path: Path, into: Path, change: Callable[[Arrays, dict], None]) -> Path:
    """A copy of a recording with its arrays and head changed."""
    with np.load(path) as data:
        arrays = dict(data)
    head = json.loads(str(arrays.pop("head")))
    change(arrays, head)
    np.savez(into, head=np.array(json.dumps(head)), **arrays)
    return into


def test_sounds_and_meshes_come_along(tmp_path: Path) -> None:
    """The beak follows a sound file: with the file and its rig gone the loads of the recording are the same."""
    at_home = tmp_path / "home"
    shutil.copytree(RIGS / "sounds", at_home / "sounds")
    shutil.copy(RIGS / "barn_owl.yaml", at_home)
    run = simulate(load_rig(at_home / "barn_owl.yaml", {"run.for": "2.2 s"}), "mujoco", settle=False)
    save_recording(run.recording, tmp_path / "away.npz")
    peaks = [(f.key, f.value, m.value) for f, m in run.loads.joints]
    shutil.rmtree(at_home)
    again = Run(load_recording(tmp_path / "away.npz"))
    assert [(f.key, f.value, m.value) for f, m in again.loads.joints] == peaks
    assert again.rig.source.files.keys() == {"sounds/hoot.wav"}
    assert again.recording.versions == run.recording.versions != {}
    save_recording(again.recording, tmp_path / "twice.npz")
    with np.load(tmp_path / "away.npz") as one, np.load(tmp_path / "twice.npz") as two:
        assert {k: v.tobytes() for k, v in one.items()} == {k: v.tobytes() for k, v in two.items()}


def test_a_mesh_comes_along(tmp_path: Path) -> None:
    cube = trimesh.creation.box((100.0, 100.0, 100.0))
    cube.export(tmp_path / "head.stl")
    (tmp_path / "rig.yaml").write_text(
        "rig: 1\nname: Nod\nbodies: {post: {fixed: true}, head: {parts: [{mesh: head.stl, of: foam, at: 0.2 0 0 m}]}}\n"
        "joints: {neck: {pin: [post, head], at: 0 0 0 m, axis: y}}\nrun: {for: 0.1 s}\n"
    )
    run = simulate(load_rig(tmp_path / "rig.yaml"), "mujoco", settle=False)
    save_recording(run.recording, tmp_path / "away.npz")
    cube.apply_scale(2.0).export(tmp_path / "head.stl")
    again = Run(load_recording(tmp_path / "away.npz"))
    assert again.loads.worst == run.loads.worst
    assert again.assembly.bodies[1].mass == run.assembly.bodies[1].mass > 0


def test_a_changed_copy_of_a_file_is_seen(tmp_path: Path) -> None:
    run = simulate(load_rig(RIGS / "barn_owl.yaml", {"run.for": "0.1 s"}), "mujoco", settle=False)
    save_recording(run.recording, tmp_path / "a.npz")
    tone = io.BytesIO()
    with wave.open(tone, "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes(bytes(16000))

    def swap(arrays: Arrays, head: dict) -> None:
        arrays["file0"] = np.frombuffer(tone.getvalue(), np.uint8)

    with pytest.raises(RecordingError, match=r"its copy of .*hoot.wav was changed"):
        load_recording(changed(tmp_path / "a.npz", tmp_path / "b.npz", swap))


def test_the_first_format_is_read(saved: Path, tmp_path: Path) -> None:
    def older(arrays: Arrays, head: dict) -> None:
        head.update(format=1, file=str(RIGS / "wall_peeper.yaml"))
        del head["versions"], head["files"]
        del arrays["touch_force"], arrays["touch_point"]

    first = load_recording(changed(saved, tmp_path / "first.npz", older))
    assert Run(first).loads.worst.value == Run(load_recording(saved)).loads.worst.value  # type: ignore[union-attr]
    assert first.versions == {}


def _cut(n: int) -> Callable[[Arrays, dict], None]:
    return lambda arrays, head: arrays.update({k: v[:n] for k, v in arrays.items() if v.ndim})


CHANGES: dict[str, tuple[Callable[[Arrays, dict], None], str]] = {
    "no rows": (_cut(0), "its time has the shape"),
    "rows cut": (_cut(50), "its time has the shape"),
    "flat": (lambda a, h: a.update(position=a["position"].reshape(len(a["time"]), -1)), "its position has the shape"),
    "short": (lambda a, h: a.update(rotation=a["rotation"].astype(np.float32)), "its rotation is of the type float32"),
    "text": (lambda a, h: a.update(rate=a["rate"].astype(str)), "its rate is of the type"),
    "NaN": (lambda a, h: a["velocity"].__setitem__((7, 1, 2), np.nan), "its velocity holds values that aren't numbers"),
    "inf": (lambda a, h: a["current"].__setitem__((7, 0), np.inf), "its current holds values"),
    "no step": (lambda a, h: a.update(step=np.array(0.0)), "its step of 0 s"),
    "NaN step": (lambda a, h: a.update(step=np.array(np.nan)), "its step of nan s"),
    "missing": (lambda a, h: a.pop("applied") is None, "applied.npy"),
    "time": (lambda a, h: a["time"].__setitem__(9, 0.0), "aren't a step apart"),
    "turns": (lambda a, h: a.update(rotation=2 * a["rotation"]), "aren't unit quaternions"),
    "moved": (lambda a, h: a.update(position=a["position"] + 0.1), "doesn't begin where its rig puts it"),
    "another rig": (
        lambda a, h: h.update(text=(RIGS / "sway_head.yaml").read_text()), "its rig calls for"
    ),
    "format": (lambda a, h: h.update(format=7), "it has format 7; this version reads 1, 2"),
    "engine": (lambda a, h: h.update(engine=["mujoco"]), "its engine should be text"),
    "sets": (lambda a, h: h.update(sets={"run.for": 2}), "its sets aren't all text"),
    "bands": (lambda a, h: h.update(bands={"joint.tee.force": [1.0, "0.1", True]}), "the band of joint.tee.force"),
    "nested": (lambda a, h: h.update(bands=[]), "its bands should be a mapping"),
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_changed_recordings_are_refused(name: str, saved: Path, tmp_path: Path) -> None:
    change, said = CHANGES[name]
    with pytest.raises(RecordingError) as caught:
        load_recording(changed(saved, tmp_path / "changed.npz", change))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_what_is_no_recording_at_all(saved: Path, tmp_path: Path) -> None:
    whole = saved.read_bytes()
    pickled = io.BytesIO()
    np.savez(pickled, head=np.array([{"format": 2}], dtype=object))
    for content in (b"", b"PK", whole[: len(whole) // 2], b"rig: 1\n", pickled.getvalue(), whole[:-30]):
        (tmp_path / "not.npz").write_bytes(content)
        with pytest.raises(RecordingError, match=r"not\.npz"):
            load_recording(tmp_path / "not.npz")


def test_a_bomb_is_not_unpacked(saved: Path, tmp_path: Path) -> None:
    """400 MB of zeros packed into less than 1 MB, in place of the motion."""
    bomb = tmp_path / "bomb.npz"
    with zipfile.ZipFile(saved) as source, zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in source.namelist():
            if name == "position.npy":
                with packed.open(name, "w") as file:
                    np.lib.format.write_array_header_1_0(
                        file, {"descr": "<f8", "fortran_order": False, "shape": (50_000_000,)}
                    )
                    for _ in range(100):
                        file.write(bytes(4_000_000))
            else:
                packed.writestr(zipfile.ZipInfo(name), source.read(name))
    assert bomb.stat().st_size < 3_000_000
    tracemalloc.start()
    with pytest.raises(RecordingError, match="its position is compressed"):
        load_recording(bomb)
    assert tracemalloc.get_traced_memory()[1] < 50_000_000
    tracemalloc.stop()


def test_commands_refuse_what_a_recording_cant_take(saved: Path, tmp_path: Path) -> None:
    for words, said in ((["--set", "throw=60 mm"], "--set"), (["--engine", "mujoco"], "--engine"), ([], "")):
        done = subprocess.run(
            [sys.executable, "-m", "simprop", "loads", str(saved), *words, "--out", str(tmp_path / "out")],
            capture_output=True, text=True, check=False, cwd=tmp_path,
        )  # fmt: skip
        assert done.returncode == (2 if said else 0), done.stderr
        assert (f"{said} can't change" in done.stderr) == bool(said)
        assert (tmp_path / "out").exists() == (not said)


def test_the_energy_of_a_recording_must_add_up(tmp_path: Path) -> None:
    """A falling rod with every speed a tenth too small: 0.19 / 0.81 of its energy is missing."""
    text = "rig: 1\nname: Rod\nbodies: {post: {fixed: true}, rod: {parts: [{slender: 1 kg, from: 0 0 0 m, "
    text += "to: 1 0 0 m}]}}"
    text += "\njoints: {hook: {pin: [post, rod], at: 0 0 0 mm, axis: y}}\nrun: {for: 0.4 s}"
    run = simulate(parse_rig(text), "mujoco")
    save_recording(run.recording, tmp_path / "good.npz")
    slow = changed(
        tmp_path / "good.npz",
        tmp_path / "slow.npz",
        lambda a, h: a.update(velocity=0.9 * a["velocity"], spin=0.9 * a["spin"]),
    )
    done = subprocess.run(
        [sys.executable, "-m", "simprop", "loads", str(slow)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 3
    assert "doesn't add up" in done.stderr
