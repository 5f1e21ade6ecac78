"""Rooms import downwards only, and each heavy package is imported by the one file that needs it."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "simprop"
# In the order in which data meets them: a room imports itself and what stands before it.
ROOMS = [
    "errors",
    "quantities",
    "compiled",
    "catalog",
    "rig",
    "assembly",
    "laws",
    "engine",
    "recording",
    "loads",
    "simulation",
    "drives",
    "strength",
    "picture",
    "notes",
    "commands",
    "cli",
    "__main__",
]
ALONE = {
    "pybullet": {"engine/bullet.py"},
    "mujoco": {"engine/mujoco_engine.py"},
    "trimesh": {"assembly/mesh.py"},
}
FILES = sorted(ROOT.rglob("*.py"))


def _imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full"
            found.append(node.module or "")
    return found


def _room(path: Path) -> str:
    first = path.relative_to(ROOT).parts[0]
    return first.removesuffix(".py")


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_downwards_only(path: Path) -> None:
    room = _room(path)
    if room == "__init__":
        return
    for name in _imports(path):
        if name.startswith("simprop."):
            other = name.split(".")[1]
            assert ROOMS.index(other) <= ROOMS.index(room), f"{room} imports {name}"
        package = name.split(".")[0]
        if package in ALONE:
            assert str(path.relative_to(ROOT)) in ALONE[package], f"{path} imports {package}"


def test_import_loads_nothing_heavy() -> None:
    code = (
        "import sys, simprop;"
        "heavy = {'pybullet', 'mujoco', 'matplotlib', 'numba', 'trimesh', 'imageio', 'numpy', 'pint'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"


def test_loads_need_no_engine_and_no_plotting() -> None:
    code = (
        "import sys, simprop; simprop.joint_loads, simprop.load_recording;"
        "print(sorted({'pybullet', 'mujoco', 'matplotlib', 'trimesh', 'imageio'} & set(sys.modules)))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"
