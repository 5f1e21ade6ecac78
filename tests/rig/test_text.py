"""The traps of YAML, one by one."""

from __future__ import annotations

import pytest

from simprop.errors import RigError
from simprop.reading.text import plain, read_text
from simprop.rig.load import parse_rig

POST = "rig: 1\nname: Post\nbodies: {post: {fixed: true}}\nrun: {for: 1 s}\n"


@pytest.mark.parametrize(("text", "value"), [("1e3", 1000.0), ("2e-3", 0.002), ("-1.5", -1.5), ("7", 7)])
def test_numbers_are_numbers(text: str, value: float) -> None:
    assert plain(text) == value


@pytest.mark.parametrize(
    "text", ["010", "1:30", "on", "no", "yes", "off", "0x10", "1_000", "2001-01-01", "."]
)
def test_these_stay_text(text: str) -> None:
    assert plain(text) == text


def test_exponents_work_in_quantities() -> None:
    rig = parse_rig(POST.replace("for: 1 s", "for: 1e1 s, seed: 3"))
    assert rig.run.duration == 10.0
    assert rig.run.seed == 3


@pytest.mark.parametrize("text", ["010", "1:30", "yes", "2.5"])
def test_whole_numbers_are_strict(text: str) -> None:
    with pytest.raises(RigError, match=r"whole number is wanted|integer"):
        parse_rig(POST.replace("for: 1 s", f"for: 1 s, seed: {text}"))


def test_a_repeated_key_is_a_fault_even_with_the_same_value() -> None:
    document = read_text("a: 1\nb: 2\na: 1\n")
    assert [f.line for f in document.faults] == [3]
    assert "first in line 1" in document.faults[0].message


def test_python_tags_run_nothing() -> None:
    document = read_text("a: !!python/object/apply:os.system ['true']")
    assert document.data == {"a": ["true"]}


def test_lines_of_nested_fields() -> None:
    document = read_text("a:\n  b:\n    - c: 1\n    - d: 2\n")
    assert document.lines[("a", "b", 1, "d")] == 4
