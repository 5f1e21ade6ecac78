"""How a picture lies, kept beside the rig and read back."""

from __future__ import annotations

from pathlib import Path

import pytest

from simprop.errors import RigError
from simprop.tracing.kept import kept_beside, load_placing, parse_placing, placing_text, save_placing
from simprop.tracing.types import Placing

PLACING = Placing(
    "bench.jpg", (4000, 3000), "side", ((512.25, 2100.5), (3200.0, 2011.0)), 0.254, (-0.1, 1.2), "level"
)


@pytest.mark.parametrize(
    "name",
    [
        "bench.jpg",
        "the bench.jpg",
        "a: b.jpg",
        "it's #1.png",
        "[x].png",
        "true",
        "1",
        "photos/café.jpg",
        "-.png",
    ],
)
def test_there_and_back(name: str, tmp_path: Path) -> None:
    placing = Placing(name, *list(vars(PLACING).values())[1:])
    path = save_placing(kept_beside(tmp_path / "wall_peeper.yaml"), placing)
    assert path.name == "wall_peeper.picture.yaml"
    assert load_placing(path) == placing


def test_written_by_hand() -> None:
    text = """\
picture: bench.jpg
size: 4000 x 3000
view: side
marks: [512.25 2100.5, 3200 2011]
distance: 10 in
at: [-10 cm, 1.2 m]
level: level
"""
    assert parse_placing(text) == PLACING


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("3200 2011", "4200 2011", 7, "marks.1: mark 2 is beside the picture"),
        ("3200 2011", "512 2100", 5, "on one spot"),
        ("3200 2011", "3200", 7, "two numbers are wanted"),
        ("254 mm", "0 mm", 8, "above zero"),
        ("254 mm", "3 kg", 8, "distance: kg is not a unit of length"),
        ("side", "top", 4, "view: not one of the words for this (got 'top'; allowed: front, side)"),
        ("4000 x 3000", "4000", 3, "whole pixels"),
        ("level: level", "level: levle", 9, "did you mean 'level'"),
        ("level: level", "level: upright", 9, "nearer to level"),
        ("at: ", "att: ", 10, "unknown key"),
        ("view: ", "size: 4 x 3\nview: ", 4, "stands twice"),
        ("-100 1200 mm", "-100 mm", 10, "2 numbers and one unit"),
        ("bench.jpg", "''", 2, "picture: string should have at least 1 character"),
    ],
)
def test_clear_faults(old: str, new: str, line: int, said: str) -> None:
    text = placing_text(PLACING)
    assert old in text
    with pytest.raises(RigError) as caught:
        parse_placing(text.replace(old, new, 1), "peeper.picture.yaml")
    assert any(said in str(f) and f.line == line for f in caught.value.faults), caught.value
    assert str(caught.value).startswith("peeper.picture.yaml:")


def test_no_mapping_or_no_file(tmp_path: Path) -> None:
    with pytest.raises(RigError, match="a mapping is wanted"):
        parse_placing("bench.jpg")
    with pytest.raises(RigError, match="there is no such file"):
        load_placing(tmp_path / "no.picture.yaml")
