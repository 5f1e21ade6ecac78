"""The schema that editors read, against a library that validates by it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from simprop.commands.fields import schema_text
from simprop.errors import RigError
from simprop.reading.text import read_text
from simprop.rig.json_schema import json_schema
from simprop.rig.load import parse_rig
from tests.kinds import examples

ROOT = Path(__file__).parents[2]
RIGS = sorted((ROOT / "rigs").glob("*.yaml"))
BROKEN = Path(__file__).parent / "broken"
FORM = (
    "03_unknown_key",
    "04_missing_key",
    "13_yes",
    "15_two_kinds",
    "16_unknown_kind",
    "26_several",
    "28_not_a_mapping",
    "29_wrong_version",
)
"""Those that are wrong in form; the others are wrong in what a value says."""


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def data(path: Path) -> Any:
    return read_text(path.read_text(encoding="utf-8"), path.name).data


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_it_takes_every_shipped_rig(validator: Any, path: Path) -> None:
    assert [e.message for e in validator.iter_errors(data(path))] == []
    assert path.read_text().splitlines()[0] == "# yaml-language-server: $schema=rig.schema.json"


@pytest.mark.parametrize("sort", examples.EXAMPLES)
def test_it_takes_every_kind(validator: Any, sort: str, tmp_path: Path) -> None:
    assert [e.message for e in validator.iter_errors(data(examples.write_rig(sort, tmp_path)))] == []


@pytest.mark.parametrize("name", FORM)
def test_it_rejects_what_is_wrong_in_form(validator: Any, name: str) -> None:
    assert list(validator.iter_errors(data(BROKEN / f"{name}.yaml")))


@pytest.mark.parametrize(
    "path", [p for p in sorted(BROKEN.glob("*.yaml")) if p.stem not in FORM], ids=lambda p: p.stem
)
def test_what_is_wrong_in_a_value_is_left_to_check(validator: Any, path: Path) -> None:
    """A bare number has no unit, a name points nowhere: the rig is refused when it is read."""
    text = path.read_text(encoding="utf-8")
    with pytest.raises(RigError):
        parse_rig(text, path.name)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"run": {"for": 3}}, ["run", "for"]),
        ({"run": {"for": "3 s", "begin": "hanging"}}, ["run", "begin"]),
        ({"bodies": {}, "run": {"fro": "3 s"}}, ["run"]),
        ({"joints": {"a": {"pin": ["x"], "at": "0 0 0 mm", "axis": "y"}}}, ["joints", "a"]),
        ({"camera": {"view": "above"}}, ["camera", "view"]),
        ({"couplings": {"m": {"gears": ["a", "b"], "teeth": ["ten", 20]}}}, ["couplings", "m"]),
    ],
)
def test_it_says_where(validator: Any, change: dict[str, Any], place: list[str]) -> None:
    plain = {"rig": 1, "name": "P", "bodies": {"post": {"fixed": True}}, "run": {"for": "1 s"}}
    assert not list(validator.iter_errors(plain))
    found = [list(e.absolute_path) for e in validator.iter_errors({**plain, **change})]
    assert place in [f[: len(place)] for f in found]


def test_the_file_beside_the_rigs_is_that_of_the_command() -> None:
    """Made by ``simprop schema --out rigs/rig.schema.json``."""
    assert (ROOT / "rigs" / "rig.schema.json").read_text(encoding="utf-8") == schema_text()


def test_it_tells_what_things_are() -> None:
    made = json.loads(schema_text())
    pin = made["$defs"]["Pin"]
    assert pin["description"] == "A hinge: turns about its axis."
    assert pin["properties"]["axis"]["examples"] == ["x, -z, 0 0.6 0.8"]
    assert pin["required"] == ["at", "pin", "axis"]
