"""What `simprop fields` tells: places, kinds, single keys and how values are written."""

from __future__ import annotations

import re

import pytest

from simprop.commands.fields import show_fields
from simprop.errors import SimpropError
from simprop.rig.model import Rig
from simprop.rig.reference import TOPICS, looked_up, reference


def _told(capsys: pytest.CaptureFixture[str], place: str) -> str:
    assert show_fields(place) == 0
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("key", ["params", "points", "watch", "temperature", "about"])
def test_a_key_of_the_whole_file_is_told(key: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert re.search(rf"the whole file: {key}( \(.*?\))?: \w", _told(capsys, key))


@pytest.mark.parametrize("place", ["run.gravity", "run.start_speeds", "gravity", "start_speeds"])
def test_a_key_inside_is_told_with_and_without_its_place(
    place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert f"run: {place.removeprefix('run.')}: " in _told(capsys, place)


def test_a_kind_is_told_key_by_key(capsys: pytest.CaptureFixture[str]) -> None:
    told = _told(capsys, "joints.pin")
    assert "clearance (length, as 12 mm): of a loose pin" in told
    assert "slider" not in told
    assert _told(capsys, "joints.NAME.pin") == told


@pytest.mark.parametrize("topic", TOPICS)
def test_how_values_are_written_is_told(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert TOPICS[topic][0][:40] in _told(capsys, topic)
    assert TOPICS[topic][0][:40] in _told(capsys, "all")


def test_every_key_of_the_file_has_a_word_on_it() -> None:
    """Those of the whole file and of the run; of every other record those whose docstring has a list of them."""
    silent = [k.name for e in reference() if e.place in ("", "run") for k in e.keys if not k.about]
    assert silent == []
    assert {k.name for k in next(e for e in reference() if not e.place).keys} == {
        info.alias or name for name, info in Rig.model_fields.items()
    }


def test_words_that_many_kinds_share_stand_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert _told(capsys, "bodies.NAME.parts").count("lantern") == 1


def test_no_place_tells_every_place_in_few_lines(capsys: pytest.CaptureFixture[str]) -> None:
    show_fields("")
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) < 100  # all of it is six times as long
    told = " ".join(lines)
    assert all(e.place in told for e in reference())


def test_a_key_of_many_kinds_is_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    looks = _told(capsys, "looks")
    assert looks.count("lantern") == 1
    assert "bodies.NAME.parts (any kind): looks" in looks
    assert "stud_in_slot): friction (force, coefficient or pair, as 12 N or 0.35 or PVC on PVC)" in _told(
        capsys, "friction"
    )


@pytest.mark.parametrize(
    ("key", "form"),
    [
        ("joints.pin", "pin (two bodies, as [a, b])"),
        ("bodies.parts.bar", "of (material, as PVC)"),
        ("joints.held_by.bolt", "bolt (bolt, as M3)"),
        ("joints.held_by.weld", "of (material, as PVC)"),
        ("stops.pin_stop", "pin_stop (a joint)"),
        ("cords.from", "of a round thing (pulley, bar, drum), to the middle of the cord; an eye has none"),
        ("motors.NAME.reverse", "reverse (true | false): it turns"),
    ],
)
def test_what_a_key_names_is_told(key: str, form: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert form in _told(capsys, key)


def test_a_file_knows_neither_none_nor_bare_units() -> None:
    told = [k.about for e in reference() for k in e.keys]
    assert not [t for t in told if re.search(r"\bNone\b|\(\w+ in the file\)", t)]
    assert not [k for e in reference() for k in e.keys if k.form.startswith("length") and ", m" in k.about]


def test_names_of_the_catalogue_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    names = _told(capsys, "names")
    assert "A36 (steel, mild steel" in names  # the other names that a rig may write
    assert "3/4 in PVC" in names


def test_nothing_misleads_by_its_example() -> None:
    shown = [str(k) for e in reference() for k in e.keys]
    assert "scale (number)" in shown
    assert "winding_limit (20 degC)" not in shown
    assert not any("(0.3)" in one for one in shown)


def test_what_is_nowhere_gets_the_nearest() -> None:
    with pytest.raises(SimpropError, match=r"no field begins with 'clearence'.*did you mean 'clearance'"):
        show_fields("clearence")
    assert looked_up("nosuch") == ([], [])
