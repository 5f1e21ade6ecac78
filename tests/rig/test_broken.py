"""Broken rig files, each with the exact message beside it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from simprop.errors import RigError
from simprop.rig.load import load_rig

FOLDER = Path(__file__).parent / "broken"
CASES = sorted(FOLDER.glob("*.yaml"))


def test_there_are_enough() -> None:
    assert len(CASES) >= 25


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_exact_message(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FOLDER)
    with pytest.raises(RigError) as caught:
        load_rig(path.name)
    assert str(caught.value) == path.with_suffix(".txt").read_text().rstrip("\n")


def test_the_command_exits_with_2_and_writes_nothing(tmp_path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "simprop", "run", str(FOLDER / "26_several.yaml")],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    assert result.returncode == 2
    assert "Traceback" not in result.stderr
    assert "3 faults found" in result.stderr
    assert list(tmp_path.iterdir()) == []
