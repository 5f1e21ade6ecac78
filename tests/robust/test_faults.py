"""Commands that are killed, hindered, or given odd places: results whole or absent, nothing left, a word why."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from simprop.commands.terminal import Lines
from tests.bench.faults import RIG, killed
from tests.robust.started import ROOT, simprop
from tests.robust.whole import broken_files, strays

pytestmark = pytest.mark.skipif(
    not Path("/proc").is_dir() or shutil.which("bash") is None, reason="needs Linux"
)

QUICK = ("--set", "run.for=0.1 s", "--engine", "mujoco")
LOADS = ("loads", RIG, *QUICK, "--one-step")
CLIP = ("preview", RIG, *QUICK, "--size", "160x120", "--no-gif")


@pytest.mark.parametrize("seed", range(3))
def test_killed_at_a_random_moment(seed: int) -> None:
    lasts = {"run": 6.0, "compare": 8.0, "sheets": 6.0, "export": 4.0}
    said, _, found = killed(random.Random(seed), lasts)
    assert not found, said


@pytest.mark.parametrize("kind", [signal.SIGTERM, signal.SIGKILL, signal.SIGINT])
def test_no_worker_of_a_comparison_outlives_it(kind: signal.Signals, tmp_path: Path) -> None:
    words = (
        "compare",
        RIG,
        "--set",
        "run.for=20 s",
        "--set",
        "throw=40 mm",
        "--set",
        "throw=50 mm",
        "--engine",
        "mujoco",
    )
    ended = simprop(*words, "--out", "out", folder=tmp_path, kill=(8.0, kind))
    assert ended.code != 0
    assert ended.orphans == ()
    assert "Traceback" not in ended.err
    assert kind == signal.SIGKILL or not list(tmp_path.iterdir())


def test_ctrl_c_ends_at_once_with_130_and_a_word(tmp_path: Path) -> None:
    ended = simprop(
        "run", RIG, "--set", "run.for=60 s", "--out", "out", folder=tmp_path, kill=(8.0, signal.SIGINT)
    )
    assert ended.code == 130
    assert "Stopped" in ended.err
    assert "Traceback" not in ended.err
    assert ended.after < 5.0  # a second on a machine that isn't busy: the bench job tells
    assert not strays(tmp_path)


def test_a_stopped_run_leaves_the_results_of_the_one_before(tmp_path: Path) -> None:
    words = ("run", RIG, *QUICK, "--one-step", "--no-gif", "--size", "160x120", "--out", "out")
    assert simprop(*words, folder=tmp_path).code in (0, 3)
    before = {p.name: p.stat().st_mtime_ns for p in (tmp_path / "out").iterdir()}
    longer = [w.replace("0.2 s", "0.4 s") for w in words]
    for at in (3.0,):
        ended = simprop(*longer, folder=tmp_path, kill=(at, signal.SIGTERM))
        after = {p.name: p.stat().st_mtime_ns for p in (tmp_path / "out").iterdir()}
        assert after == before or (ended.code in (0, 3) and not set(after.items()) & set(before.items()))


def test_two_runs_into_one_folder_leave_the_files_of_one(tmp_path: Path) -> None:
    def run(seconds: str) -> int:
        words = (
            "run",
            RIG,
            "--set",
            f"run.for={seconds} s",
            "--engine",
            "mujoco",
            "--one-step",
            "--no-gif",
            "--size",
            "160x120",
        )
        return simprop(*words, "--out", "out", folder=tmp_path).code

    with ThreadPoolExecutor(2) as pool:
        assert set(pool.map(run, ("0.2", "0.24"))) <= {0, 3}
    out = tmp_path / "out"
    assert not broken_files(out) + strays(out)
    steps = json.loads((out / "loads.json").read_text())["steps"]
    import numpy as np

    with np.load(out / "recording.npz") as data:
        assert len(data["time"]) == steps


@pytest.fixture
def full(tmp_path: Path) -> Iterator[Path]:
    """A disk of 16 kB."""
    place = tmp_path / "full"
    place.mkdir()
    if os.system(f"mount -t tmpfs -o size=16k tmpfs {place} 2> /dev/null") != 0:
        pytest.skip("only a system administrator can make a small disk")
    yield place
    os.system(f"umount {place}")


@pytest.mark.parametrize(
    "words", [LOADS, CLIP, ("export", RIG, *QUICK, "--csv"), ("sheets", RIG, *QUICK)], ids=lambda w: w[0]
)
def test_disk_full(words: tuple[str, ...], full: Path, tmp_path: Path) -> None:
    ended = simprop(*words, "--out", str(full), folder=tmp_path)
    assert ended.code == 2, ended.err
    assert "No space left" in ended.err
    assert str(full) in ended.err
    assert "Traceback" not in ended.err
    assert not list(full.iterdir())


@pytest.mark.parametrize("words", [LOADS, CLIP, ("export", RIG, *QUICK)], ids=lambda w: w[0])
def test_files_may_not_grow(words: tuple[str, ...], tmp_path: Path) -> None:
    ended = simprop(*words, "--out", "out", folder=tmp_path, before="ulimit -f 8")
    assert ended.code == 2, ended.err
    assert "Traceback" not in ended.err
    assert not list(tmp_path.rglob("*.*"))


@pytest.mark.parametrize("words", [("cues", RIG), ("export", RIG)], ids=lambda w: w[0])
@pytest.mark.parametrize("out", ["file", "locked", "locked/deeper", "file/deeper"])
def test_places_that_cannot_be_written(words: tuple[str, ...], out: str, tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    (tmp_path / "file").write_text("mine\n")
    (tmp_path / "locked").mkdir(mode=0o555)
    (tmp_path / "locked").chmod(0o555)
    ended = simprop(*words, "--out", out, folder=tmp_path, held=True, env={"HOME": None})
    assert ended.code == 2, ended.err
    assert out.split("/", maxsplit=1)[0] in ended.err
    assert "Traceback" not in ended.err
    assert (tmp_path / "file").read_text() == "mine\n"


@pytest.mark.parametrize(
    ("env", "other"),
    [
        ({"HOME": None, "XDG_CACHE_HOME": None}, False),
        ({"HOME": "/nonexistent", "XDG_CACHE_HOME": "/nonexistent", "MPLCONFIGDIR": "/nonexistent"}, True),
        ({"LC_ALL": "C", "LANG": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, False),
        ({"PYTHONIOENCODING": "ascii"}, False),
        ({"TERM": "dumb", "COLUMNS": "20"}, False),
        ({"TMPDIR": "/nonexistent"}, False),
    ],
    ids=["no home", "nothing can be kept", "C locale", "ASCII only", "narrow", "no temporary folder"],
)
def test_poor_surroundings(env: dict[str, str | None], other: bool, tmp_path: Path) -> None:
    tmp_path.chmod(0o777)
    out = tmp_path / "out"
    out.mkdir()
    out.chmod(0o777)
    ended = simprop(*LOADS, "--out", "out", folder=tmp_path, env=env, held=other)
    assert ended.code == 0, ended.err
    assert "Traceback" not in ended.err
    assert not broken_files(out) + strays(out)


@pytest.mark.parametrize("words", [("fields",), ("drives",), ("check", RIG), LOADS], ids=lambda w: w[0])
@pytest.mark.parametrize("reader", ["head -1", "true"])
def test_nobody_reads_on(words: tuple[str, ...], reader: str, tmp_path: Path) -> None:
    ended = simprop(*words, folder=tmp_path, pipe=reader)
    assert ended.code == 0, ended.err
    assert ended.err == "" or "Traceback" not in ended.err
    assert "Broken" not in ended.err


def test_standard_output_is_full(tmp_path: Path) -> None:
    ended = simprop("check", RIG, folder=tmp_path, before="exec > /dev/full")
    assert ended.code == 2
    assert "No space left" in ended.err
    assert "Traceback" not in ended.err


@pytest.mark.parametrize("name", ["night:2", "-x", "a|b *c* <d>", "%d\u540d\u524d 'é\""])
def test_odd_names_of_folders_and_rigs(name: str, tmp_path: Path) -> None:
    rig = tmp_path / f"{name}.yaml"
    shutil.copy(RIG, rig)
    for words in (CLIP, ("cues", RIG)):
        said = [f"./{rig.name}" if w == RIG else w for w in words]
        ended = simprop(*said, f"--out={name}", folder=tmp_path)
        assert ended.code == 0, ended.err
    written = {p.name for p in (tmp_path / name).iterdir()}
    assert written >= {"clip.mp4", "still.png", "cues.csv"}
    assert not broken_files(tmp_path / name) + strays(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted({name, rig.name})


def test_it_tells_of_its_work_on_a_plain_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    """A line now and then, at most one in ten seconds, on standard error alone."""
    clock = iter(range(1000))
    lines = Lines(lambda: float(next(clock)))
    for done in range(40):
        lines.report("simulating", done, 40)
    out, err = capsys.readouterr()
    assert out == ""
    assert 2 <= len(err.splitlines()) <= 8
    assert "simulating: " in err
    assert "\x1b" not in err


@pytest.mark.parametrize(
    "size",
    [
        "²00x120",
        "\u0663\u0662\u0660x240",
        "1e3x200",
        "320x",
        "x",
        "320x240x3",
        "-320x240",
        "9" * 5000 + "x240",
    ],
)
def test_sizes_that_are_none(size: str, tmp_path: Path) -> None:
    ended = simprop("preview", RIG, f"--size={size}", folder=tmp_path)
    assert ended.code == 2
    assert "640x480" in ended.err
    assert "Traceback" not in ended.err


def test_the_package_itself_may_be_read_only(tmp_path: Path) -> None:
    tmp_path.chmod(0o777)
    package = tmp_path / "lib"
    shutil.copytree(ROOT / "simprop", package / "simprop", ignore=shutil.ignore_patterns("__pycache__"))
    for path in [package, *package.rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    nowhere = {"PYTHONPATH": str(package), "HOME": "/nonexistent", "PYTHONDONTWRITEBYTECODE": "1"}
    ended = simprop("check", RIG, folder=tmp_path, env=nowhere, held=True)
    assert ended.code == 0, ended.err
    assert not list(package.rglob("__pycache__"))
