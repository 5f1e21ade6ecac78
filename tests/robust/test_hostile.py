"""Files made to do harm: refused at once, nothing in them is run, nothing else is read or written."""

from __future__ import annotations

import json
import os
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import AssemblyError, RigError
from simprop.quantities import is_unit
from simprop.reading.fields import Scope, read_scalar
from simprop.rig.load import load_rig, parse_rig
from tests.robust.guarded import guarded
from tests.robust.started import simprop

POST = "rig: 1\nname: Post\nbodies: {post: {fixed: true}}\nrun: {for: 1 s}\n"

EXPRESSIONS = [
    *(
        "9**9**9",
        "9**9**9 mm",
        "2 mm ** 4000",
        "(1 mm)**99",
        "1 mm ** 1 mm",
        "sqrt(-1 mm^2)",
        "sqrt(-1)",
        "acos(2)",
    ),
    *(
        "().__class__.__bases__",
        "long.__class__",
        "__import__('os')",
        "[9]*99",
        "lambda: 1",
        "1 mm; 2 mm",
        "'a' * 9",
    ),
    *(
        "1 mm if 1 else 2 mm",
        "{}",
        "f'{long}'",
        "1 mm or 2 mm",
        "abs(*long)",
        "max(key=1)",
        "(" * 99 + "1" + ")" * 99,
    ),
    *(
        "1" * 1_000_000 + "!",
        "a" * 1_000_000,
        "-" * 250 + "1 mm",
        "m^" + "9" * 90,
        "1e" + "9" * 90 + " mm",
        "0" * 200,
    ),
]


@pytest.mark.parametrize("text", EXPRESSIONS, ids=lambda t: t[:24])
def test_expressions_are_refused_at_once(text: str) -> None:
    def case() -> str:
        try:
            return f"taken as {read_scalar(text, 'length', Scope({'long': 1.0}))}"
        except Exception as error:
            return type(error).__name__

    assert [o.value for o in guarded([case])] == ["PydanticCustomError"]


def test_a_long_word_is_no_unit_in_no_time() -> None:
    cases: list[Callable[[], bool]] = [
        lambda: is_unit("m*" * 200_000),
        lambda: is_unit("9**9**9"),
        lambda: is_unit("m^9" * 9),
    ]
    outcomes = list(guarded(cases))
    assert [o.value for o in outcomes] == [False, False, False]
    assert max(o.seconds for o in outcomes) < 1.0


BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{b}: &{b} [{', '.join(['*' + a] * 9)}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BOMB, "too many fields"),
        ("a: &a [*a]\n", "nested too deep"),
        ("a: &a {b: *a}\n", "nested too deep"),
        ("[" * 1500, "nested too deep"),
        ("# " + "x" * 2_000_000, "larger than a rig file can be"),
        ("a: *nowhere\n", "undefined alias"),
        ("a: !!binary !!binary\n", "not YAML"),
        ('a: "\\x1b[2J"\n', "control"),
        ('"a\\nb": 1\n', "control"),
        ("%YAML 9.9\n---\na: 1\n", "not YAML"),
        ("a: 1\n---\nb: 2\n", "not YAML"),
    ],
    ids=[
        "aliases",
        "list in itself",
        "mapping in itself",
        "brackets",
        "2 MB",
        "alias",
        "tags",
        "escape",
        "line in a key",
        "version",
        "two documents",
    ],
)
def test_yaml_tricks(text: str, said: str) -> None:
    with pytest.raises(RigError, match=said) as caught:
        parse_rig(text)
    assert all(f.file for f in caught.value.faults)


def test_tags_make_nothing(tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    with pytest.raises(RigError):
        parse_rig(
            f"rig: 1\nname: !!python/object/apply:os.mkdir ['{mark}']\nrun: {{for: 1 s}}\nbodies: {{}}\n"
        )
    assert not mark.exists()


BOX = "bodies: {{post: {{fixed: true, parts: [{{mesh: {file}, of: pine, at: 0 0 0 mm{rest}}}]}}}}"


def boxed(file: str, rest: str = "") -> str:
    return "rig: 1\nname: Post\nrun: {for: 1 s}\n" + BOX.format(file=json.dumps(file), rest=rest)


def stl(faces: np.ndarray, count: int | None = None) -> bytes:
    head = b"\0" * 80 + struct.pack("<I", len(faces) if count is None else count)
    return head + b"".join(struct.pack("<12fH", 0, 0, 0, *map(float, face.ravel()), 0) for face in faces)


CORNERS = np.array([[x, y, z] for x in (0, 50) for y in (0, 50) for z in (0, 50)], dtype=float)
SIDES = [[0, 1, 3], [0, 3, 2], [4, 7, 5], [4, 6, 7], [0, 5, 1], [0, 4, 5]]
SIDES += [[2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]]
CUBE = CORNERS[np.array(SIDES)]


def test_a_sound_mesh_reads(tmp_path: Path) -> None:
    (tmp_path / "box.stl").write_bytes(stl(CUBE))
    assembly = assemble(parse_rig(boxed("box.stl"), str(tmp_path / "rig.yaml")))
    assert assembly.bodies[0].mass == pytest.approx(0.05**3 * 392, rel=0.3)


@pytest.mark.parametrize(
    ("content", "rest"),
    [
        (stl(CUBE[:-1]), ""),
        (stl(CUBE * np.nan), ""),
        (stl(CUBE * 1e30), ""),
        (stl(CUBE[:0]), ""),
        (stl(CUBE[:1], count=4_000_000_000), ""),
        (b"", ""),
        (os.urandom(4096), ""),
        (b"solid x\n" * 10_000, ""),
        (stl(CUBE), ", scale: 0"),
        (stl(CUBE), ", scale: -1"),
        (stl(CUBE), ", scale: 1e9"),
        (stl(CUBE * 1e-12), ""),
    ],
    ids=[
        "open",
        "not numbers",
        "huge",
        "empty",
        "4e9 triangles",
        "no bytes",
        "noise",
        "words",
        "scale 0",
        "scale -1",
        "scale 1e9",
        "a speck",
    ],
)
def test_meshes_that_are_none(content: bytes, rest: str, tmp_path: Path) -> None:
    (tmp_path / "box.stl").write_bytes(content)

    def case() -> str:
        try:
            return str(assemble(parse_rig(boxed("box.stl", rest), str(tmp_path / "rig.yaml"))).bodies[0].mass)
        except (AssemblyError, RigError) as error:
            return f"refused: {error}"

    (outcome,) = guarded([case])
    assert outcome.ended == "well", outcome
    assert str(outcome.value).startswith("refused: "), outcome.value
    assert "bodies.post.parts.0" in str(outcome.value)


@pytest.mark.parametrize("ending", ["glb", "ply", "3mf", "dae", "zip", "xaml", "yaml", "off"])
def test_meshes_are_stl_or_obj_alone(ending: str, tmp_path: Path) -> None:
    (tmp_path / f"box.{ending}").write_bytes(stl(CUBE))
    with pytest.raises(RigError, match="STL or OBJ"):
        parse_rig(boxed(f"box.{ending}"), str(tmp_path / "rig.yaml"))


def test_an_obj_reads_no_further_file(tmp_path: Path) -> None:
    rows = [f"v {x} {y} {z}" for x, y, z in CORNERS] + [f"f {a + 1} {b + 1} {c + 1}" for a, b, c in SIDES]
    (tmp_path / "box.obj").write_text("mtllib ../secret.mtl\nusemtl a\n" + "\n".join(rows))
    fifo = tmp_path.parent / "secret.mtl"
    os.mkfifo(fifo)  # whoever opens it waits for ever
    try:
        path = str(tmp_path / "rig.yaml")
        (outcome,) = guarded([lambda: assemble(parse_rig(boxed("box.obj"), path)).bodies[0].mass])
        assert outcome.ended == "well"
    finally:
        fifo.unlink()


SOUND = "cues: {scenes: {a: {do: [{at: 0 s, sound: %s}]}}}\n"


@pytest.mark.parametrize(
    "where", ["../secret.stl", "{tmp}/secret.stl", "link.stl", "sub/../../secret.stl", "/etc/passwd.stl"]
)
@pytest.mark.parametrize("kind", ["mesh", "sound"])
def test_files_outside_the_folder_of_the_rig(kind: str, where: str, tmp_path: Path) -> None:
    folder = tmp_path / "rig"
    (folder / "sub").mkdir(parents=True)
    (tmp_path / "secret.stl").write_bytes(stl(CUBE))
    (folder / "link.stl").symlink_to(tmp_path / "secret.stl")
    name = where.format(tmp=tmp_path)
    text = boxed(name) if kind == "mesh" else POST + SOUND % json.dumps(name)
    (folder / "rig.yaml").write_text(text)
    field = "bodies.post.parts.0.mesh" if kind == "mesh" else "cues.scenes.a.do.0.sound"
    with pytest.raises(RigError, match="outside the folder") as caught:
        assemble(load_rig(folder / "rig.yaml"))
    assert [f.field for f in caught.value.faults] == [field]


def test_files_elsewhere_when_asked_for(tmp_path: Path) -> None:
    (tmp_path / "rig").mkdir()
    (tmp_path / "secret.stl").write_bytes(stl(CUBE))
    (tmp_path / "rig" / "rig.yaml").write_text(boxed("../secret.stl"))
    assert assemble(load_rig(tmp_path / "rig" / "rig.yaml", files_elsewhere=True)).bodies[0].mass > 0
    words = ("check", "rig/rig.yaml")
    assert simprop(*words, folder=tmp_path).code == 2
    assert simprop("--files-elsewhere", *words, folder=tmp_path).code == 0


NASTY = "a|b *c* <script>alert(1)</script> `d` [e](f) ../../../g"


@pytest.fixture(scope="module")
def nasty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder in which all files of a prop with nasty names were written; nothing else is in the one above it."""
    top = tmp_path_factory.mktemp("nasty")
    name = json.dumps(NASTY)
    text = f"""rig: 1
name: {name}
about: {name}
points: {{tip: 300 0 500 mm}}
bodies:
  post: {{fixed: true, parts: [{{block: 60 x 60 x 500 mm, of: pine, at: 0 0 250 mm}}]}}
  {name}: {{parts: [{{bar: 25 x 3 mm, of: steel, from: 0 0 500 mm, to: tip, name: {name}}}]}}
joints: {{{name}: {{pin: [post, {name}], at: 0 0 500 mm, axis: y, friction: 0.1 N*m}}}}
motors: {{{name}: {{joint: {name}, motor: wiper, supply: 12 V 30 A}}}}
springs:
  {name}: {{extension: [post, {name}], from: 0 0 800 mm, to: tip, rate: 50 N/m, free_length: 300 mm}}
cues: {{scenes: {{{name}: {{do: [{{at: 0.1 s, on: {name}}}]}}}}}}
watch: [tip]
run: {{for: 0.2 s}}
"""
    (top / "in").mkdir()
    (top / "in" / "nasty.yaml").write_text(text)
    for words in (("run", "--size", "160x120"), ("sheets",), ("export", "--csv"), ("size",), ("cues",)):
        engine = () if words[0] == "cues" else ("--engine", "mujoco")
        done = simprop(words[0], "nasty.yaml", *words[1:], *engine, "--out", "out", folder=top / "in")
        assert done.code in (0, 1, 3), (words, done.err)
        assert "Traceback" not in done.err
    return top / "in" / "out"


def test_names_write_nowhere_else(nasty: Path) -> None:
    assert [p.name for p in nasty.parent.parent.iterdir()] == ["in"]
    assert sorted(p.name for p in nasty.parent.iterdir()) == ["nasty.yaml", "out"]
    assert {p.name for p in nasty.iterdir()} >= {
        "loads.md",
        "strength.md",
        "motion.glb",
        "cues.csv",
        "sheets",
    }
    assert all("<" not in p.name and "|" not in p.name for p in nasty.rglob("*"))


def test_names_stay_text_in_markdown(nasty: Path) -> None:
    for path in nasty.rglob("*.md"):
        text = path.read_text()
        assert "<script>" not in text, path
        rows = [line for line in text.splitlines() if line.startswith("|")]
        tables = [rows[i : i + 2] for i in range(len(rows) - 1) if set(rows[i + 1]) <= set("|-: ")]
        assert tables or path.name != "loads.md"
        widths = {_cells(row) for row in rows if NASTY[4:7] in row or "script" in row}
        assert widths <= {_cells(head) for head, _ in tables}, path


def _cells(row: str) -> int:
    return row.replace("\\|", "").count("|")


def test_names_stay_text_in_drawings(nasty: Path) -> None:
    drawings = list(nasty.rglob("*.svg"))
    assert drawings
    for path in drawings:
        root = ElementTree.fromstring(path.read_text())
        assert not [e for e in root.iter() if e.tag.endswith("script")], path


def test_a_zip_that_names_a_place_above_writes_nothing(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "recording.npz", "w") as file:
        file.writestr("../../above.npy", b"x")
    done = subprocess.run(
        [sys.executable, "-m", "simprop", "loads", "recording.npz"],
        cwd=tmp_path, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    assert done.returncode == 2
    assert "recording.npz" in done.stderr
    assert not (tmp_path.parent.parent / "above.npy").exists()
