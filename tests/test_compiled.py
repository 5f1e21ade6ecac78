"""Compiled code follows its sources, and a disk that can't keep it stops nobody."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
RUN = """
import numpy as np
from simprop import parse_rig, simulate
rig = parse_rig('''
rig: 1
name: Arm
bodies: {post: {fixed: true}, arm: {parts: [{lump: 1 kg, at: 100 0 0 mm}]}}
joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y, diameter: 20 mm, friction: 0.3}}
run: {for: 0.1 s}
''')
print(float(np.abs(simulate(rig, "mujoco", settle=False).track.coordinate[-1, 0])))
"""


def _run(folder: Path, **more: str) -> tuple[float, str]:
    env = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "NUMBA_CACHE_DIR")}
    env |= {"PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"} | more
    done = subprocess.run(
        [sys.executable, "-c", RUN], env=env, cwd=folder, capture_output=True, text=True, check=True
    )
    return float(done.stdout.split()[-1]), done.stderr


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "simprop", tmp_path / "simprop", ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path


def test_a_law_of_another_file_is_taken_up(copy: Path) -> None:
    """The friction of a pin made ten times larger, in a file whose function is called from compiled ones elsewhere."""
    before, _ = _run(copy)
    assert _run(copy)[0] == before
    law = copy / "simprop" / "laws" / "friction.py"
    text = law.read_text()
    start = text.index("def pin_torque")
    at = text.index("    return ", start) + len("    return ")
    law.write_text(text[:at] + "10.0 * " + text[at:])
    after, _ = _run(copy)
    assert after < 0.97 * before


def test_nowhere_to_keep_it(copy: Path, tmp_path: Path) -> None:
    """Neither beside the package nor in the home: one line, and the same numbers."""
    before, quiet = _run(copy)
    assert "compiled" not in quiet
    package = copy / "simprop"
    for cache in package.rglob("__pycache__"):
        shutil.rmtree(cache)
    for folder in {path.parent for path in package.rglob("*.py")}:
        (
            folder / "__pycache__"
        ).touch()  # a file where the folder would be: as a folder that can't be written
    home = tmp_path / "home"
    home.touch()
    after, said = _run(copy, HOME=str(home), XDG_CACHE_HOME=str(home))
    assert after == before
    assert said.count("compiled code can't be kept") == 1
    assert "Traceback" not in said


def test_a_broken_file_is_made_anew(copy: Path) -> None:
    before, _ = _run(copy)
    kept = list(copy.rglob("*.nbc"))
    assert kept
    for file in kept:
        file.write_bytes(file.read_bytes()[:100])
    assert _run(copy)[0] == before
