"""A kind has a home: nobody outside its room asks which kind it is, and the map of the rooms is true."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from simprop.reading.kinds import Kinds
from tests.kinds.test_walk import SORTS
from tests.test_layers import FILES, ROOMS, ROOT

GUIDE = (ROOT.parent / "DEVELOPERS.md").read_text()
# Places that still ask a kind by its class or its name; each entry must still be needed, and none may be added.
BY_CLASS: set[tuple[str, str]] = set()
BY_NAME = {
    ("engine/bullet/direct.py", "ball"),
    ("engine/bullet/links.py", "ball"),
    ("engine/bullet/result.py", "ball"),
    ("engine/bullet/starting.py", "ball"),
    ("engine/bullet/world.py", "ball"),
    ("engine/bullet/world.py", "fixed"),
}


def _homes(sorts: dict[str, Kinds]) -> dict[str, str]:
    """Class of a kind, or of what kinds of one sort share, to the room it stands in."""
    found = {}
    for sort in sorts.values():
        for kind in sort:
            for cls in kind.__mro__:
                if cls.__module__.startswith("simprop.") and not cls.__module__.startswith(
                    "simprop.reading."
                ):
                    found[cls.__name__] = cls.__module__.split(".")[1]
    return found


HOMES = _homes(SORTS)
NAMES = {name for sort in SORTS.values() for name in sort.names}


def _words(node: ast.AST) -> Iterator[str]:
    """Every name, attribute and text in an expression."""
    for inside in ast.walk(node):
        if isinstance(inside, ast.Name):
            yield inside.id
        elif isinstance(inside, ast.Attribute):
            yield inside.attr


def _by_class(path: Path) -> Iterator[tuple[str, str]]:
    room = path.relative_to(ROOT).parts[0].removesuffix(".py")
    for node in ast.walk(ast.parse(path.read_text())):
        called = (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "isinstance"
        )
        asked = node.args[1] if called else node.pattern if isinstance(node, ast.match_case) else None
        for name in set(_words(asked)) if asked is not None else ():
            if HOMES.get(name, room) != room:
                yield str(path.relative_to(ROOT)), name


def _by_name(path: Path) -> Iterator[tuple[str, str]]:
    room = path.relative_to(ROOT).parts[0].removesuffix(".py")
    if room in {*HOMES.values(), "reading"}:
        return
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Compare) and "kind" in _words(node):
            for text in ast.walk(node):
                if isinstance(text, ast.Constant) and text.value in NAMES:
                    yield str(path.relative_to(ROOT)), str(text.value)


def test_no_kind_is_asked_by_its_class() -> None:
    assert {found for path in FILES for found in _by_class(path)} == BY_CLASS


def test_no_kind_is_asked_by_its_name() -> None:
    assert {found for path in FILES for found in _by_name(path)} == BY_NAME


def test_such_a_question_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.test_structure.ROOT", tmp_path)
    (tmp_path / "picture").mkdir()
    file = tmp_path / "picture" / "some.py"
    file.write_text("if isinstance(part, (Pipe, int)) or joint.kind == 'pin' or kind in ('rope', 'x'): pass")
    assert set(_by_class(file)) == {("picture/some.py", "Pipe")}
    assert set(_by_name(file)) == {("picture/some.py", "pin"), ("picture/some.py", "rope")}


def _rows() -> dict[str, tuple[str, ...]]:
    """The rooms' map: room to the names of where to start reading."""
    table = GUIDE[GUIDE.index("| room |") :].split("\n\n")[0].splitlines()[2:]
    rows = {}
    for line in table:
        rooms, _, start = (cell.strip() for cell in line.strip("|").split("|"))
        for room in re.findall(r"`([^`]+)`", rooms):
            rows[room.rstrip("/").removesuffix(".py")] = tuple(re.findall(r"`([^`]+)`", start))
    return rows


def test_the_map_has_every_room() -> None:
    whole = {room.split("/")[0] for room in ROOMS} - {"__init__", "__main__"}
    assert {room.split("/")[0] for room in _rows()} == whole
    for room in _rows():
        assert (ROOT / room).is_dir() or (ROOT / f"{room}.py").is_file(), room


@pytest.mark.parametrize("room", _rows())
def test_the_map_names_what_is_there(room: str) -> None:
    for name in _rows()[room]:
        if name.endswith(".py"):
            assert (ROOT / room / name).is_file(), name
        else:
            files = (
                [ROOT / f"{room}.py"]
                if (ROOT / f"{room}.py").is_file()
                else sorted((ROOT / room).glob("*.py"))
            )
            assert any(re.search(rf"^(class|def) {name}\b|^{name}\b", f.read_text(), re.M) for f in files), (
                name
            )


def _hops(title: str) -> list[str]:
    """The functions of a trace: ``room/file.py: name`` in the order in which a value passes them."""
    text = re.split(r"\n(?:- |\n)", GUIDE[GUIDE.index(f"**{title}**") :])[0]
    return re.findall(r"`([\w/]+\.py: [\w.]+)`", text)


@pytest.mark.parametrize(
    "title", ["The supply voltage of a motor", "The length of a pipe", "The peak load of a pin"]
)
def test_a_trace_is_true(title: str) -> None:
    """At most six hops; each names what is there, and calls its neighbour or takes what the one before hands back."""
    hops = _hops(title)
    assert 3 <= len(hops) <= 6
    for hop in hops:
        file, name = hop.split(": ")
        found = importlib.import_module("simprop." + file.removesuffix(".py").replace("/", "."))
        for part in name.split("."):
            found = getattr(found, part)
    for one, other in pairwise(hops):
        nodes = _definition(one), _definition(other)
        calls = nodes[1].name in _words(nodes[0]) or nodes[0].name in _words(nodes[1])
        assert calls or _hands_on(*nodes), f"{one} -> {other}"


def _definition(hop: str) -> ast.FunctionDef | ast.ClassDef:
    """The definition of a function or class, also inside a class."""
    file, name = hop.split(": ")
    body = ast.parse((ROOT / file).read_text()).body
    for part in name.split("."):
        found = next(n for n in body if isinstance(n, ast.FunctionDef | ast.ClassDef) and n.name == part)
        body = found.body
    return found


def _hands_on(one: ast.FunctionDef | ast.ClassDef, other: ast.FunctionDef | ast.ClassDef) -> bool:
    """True if the other takes what the one hands back; a class hands on itself."""
    if isinstance(other, ast.ClassDef):
        return False
    made = {one.name} if isinstance(one, ast.ClassDef) else set(_words(one.returns)) if one.returns else set()
    taken = {w for arg in other.args.args if arg.annotation for w in _words(arg.annotation)}
    return bool(made & taken)
