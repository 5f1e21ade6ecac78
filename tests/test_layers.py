"""Rooms import downwards only, and each heavy package is imported by the one file that needs it."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "simprop"
# In the order in which data meets them: a room imports itself and what stands before it. A room of its own inside
# another is named by its path.
ROOMS = [
    "errors",
    "quantities",
    "written",
    "compiled",
    "geometry",
    "catalog",
    "reading",
    "laws",
    "elastic",
    "rules",
    "checking",
    "parts",
    "fasteners",
    "joints",
    "couplings",
    "cords",
    "strips",
    "forces",
    "pulls",
    "drives",
    "cues",
    "rig",
    "assembly",
    "engine/track",
    "engine/contact",
    "engine/acting",
    "engine/world",
    "engine/mobility",
    "engine/trouble",
    "engine/bullet",
    "engine/mujoco",
    "engine/exudyn",
    "engine",
    "recording",
    "loads",
    "sizing",
    "strength/setting",
    "strength/members",
    "strength/context",
    "strength/checks",
    "strength",
    "run",
    "making",
    "show",
    "picture/encode",
    "picture/render",
    "picture/chart",
    "picture/clip",
    "picture/export",
    "picture",
    "scene",
    "tuning",
    "study/ask",
    "study/types",
    "study/vary",
    "study/trial",
    "study/work",
    "study/find",
    "study",
    "report",
    "tracing",
    "live",
    "commands",
    "options",
    "cli_study",
    "cli",
    "__init__",
    "__main__",
]
ALONE = {
    "pybullet": {"engine/bullet/engine.py"},
    "mujoco": {"engine/mujoco/engine.py"},
    "exudyn": {"engine/exudyn/engine.py"},
    "trimesh": {"parts/mesh.py"},
    "mapbox_earcut": {"geometry/prism.py"},
    "viser": {"scene/viewer.py"},
    "schemdraw": {"picture/chart/wiring.py"},
}
FILES = sorted(ROOT.rglob("*.py"))


def _imports(path: Path) -> list[str]:
    """Modules that a file imports, in full."""
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: write imports in full"
            module = node.module or ""
            for alias in node.names:
                inner = ROOT.parent / f"{module}.{alias.name}".replace(".", "/")
                whole = inner.with_suffix(".py").exists() or inner.is_dir()
                found.append(f"{module}.{alias.name}" if whole else module)
    return found


def _room(name: str) -> str:
    """The room of a file or module, given by its path inside the package without the ending."""
    inside = [room for room in ROOMS if name == room or name.startswith(room + "/")]
    assert inside, f"{name} is in no room of ROOMS"
    return max(inside, key=len)


def _name(path: Path) -> str:
    return str(path.relative_to(ROOT).with_suffix("")).removesuffix("/__init__")


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_downwards_only(path: Path) -> None:
    room = _room(_name(path))
    for name in _imports(path):
        if name.startswith("simprop."):
            other = _room(name.removeprefix("simprop.").replace(".", "/"))
            assert ROOMS.index(other) <= ROOMS.index(room), f"{room} imports {name}"
        package = name.split(".")[0]
        if package in ALONE:
            assert str(path.relative_to(ROOT)) in ALONE[package], f"{path} imports {package}"


def test_no_circle_of_imports() -> None:
    arrows = {
        _name(path): {
            name.removeprefix("simprop.").replace(".", "/")
            for name in _imports(path)
            if name.startswith("simprop.")
        }
        for path in FILES
    }
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, " -> ".join((*way[way.index(name) :], name))
        if name in done:
            return
        for other in arrows.get(name, ()):
            if other != name:
                walk(other, (*way, name))
        done.add(name)

    for name in arrows:
        walk(name, ())


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


def _loaded_by(words: list[str], heavy: set[str], folder: Path) -> dict[str, list[str]]:
    """What a command has imported of some modules when it ends, and the compiled functions that it took from disk."""
    code = (
        "import atexit, json, sys\n"
        f"sys.argv = ['simprop', *{words!r}]\n"
        "import simprop.cli\n"
        "taken = []\n"
        "if 'loads' in sys.argv:\n"
        "    from simprop.compiled import _Kept\n"
        "    whole = _Kept.load_overload\n"
        "    def load(self, sig, target):\n"
        "        taken.append(self._function.__qualname__)\n"
        "        return whole(self, sig, target)\n"
        "    _Kept.load_overload = load\n"
        f"heavy = {heavy!r}\n"
        "def tell():\n"
        "    print(json.dumps({'modules': sorted(heavy & set(sys.modules)), 'compiled': sorted(taken)}))\n"
        "atexit.register(tell)\n"
        "simprop.cli.main()\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=folder
    )
    return dict(json.loads(result.stdout.splitlines()[-1]))


PEEPER = str(ROOT.parent / "rigs" / "wall_peeper.yaml")
PICTURES = {
    "matplotlib",
    "trimesh",
    "imageio",
    "imageio_ffmpeg",
    "PIL",
    "simprop.picture",
    "simprop.picture.render",
}
ONLY_RUNS = {
    "pybullet", "mujoco", "numba", "scipy.linalg", "scipy.sparse", "scipy.spatial", "soundfile", "rainflow",
    "rich.live", "concurrent.futures.process", "multiprocessing",
}  # fmt: skip


def test_check_loads_nothing_that_only_a_run_needs(tmp_path: Path) -> None:
    others = (
        {"concurrent.futures.process", "multiprocessing"} if find_spec("dask") else set()
    )  # by way of pint
    found = _loaded_by(["check", PEEPER], PICTURES | ONLY_RUNS - others, tmp_path)
    assert found["modules"] == []


def test_loads_draw_nothing_and_take_few_compiled_functions(tmp_path: Path) -> None:
    words = ["loads", PEEPER, "--set", "run.for=0.4 s", "--out", str(tmp_path)]
    heavy = PICTURES | {
        "pybullet",
        "scipy.optimize",
        "scipy.sparse",
        "scipy.spatial",
        "soundfile",
        "rainflow",
    }
    found = _loaded_by(words, heavy, tmp_path)
    assert found["modules"] == []
    # Each takes some 50 ms to bring in: one that calls others brings them with it, so few outer ones are enough.
    assert 1 <= len(found["compiled"]) <= 6, found["compiled"]
