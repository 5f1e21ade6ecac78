"""Choices out of the catalogue: what fits, and fastenings in short."""

from __future__ import annotations

from dataclasses import replace

import pytest

import simprop
from simprop.errors import RigError
from simprop.rig.load import rig_of
from simprop.rig.model import Rig
from simprop.study.trial.tried import tried
from simprop.study.types import Study, Variant
from simprop.study.vary.choices import choices_of
from simprop.study.vary.ranges import spans, values


def rig(name: str) -> Rig:
    return simprop.load_rig(f"rigs/{name}.yaml")


def with_set(own: Rig, field: str, text: str) -> Rig:
    return rig_of(replace(own.source, sets={**own.source.sets, field: text}))


def test_any_motor_is_one_that_its_supply_can_run() -> None:
    peeper = rig("wall_peeper")
    found = choices_of(peeper, "motors.drive.motor", "any")
    assert {"wiper medium low", "vent actuator", "gearmotor 25 mm"} <= set(found)
    assert not any(
        word in name for name in found for word in ("synchronous", "servo", "stepper", "linear", "plastic")
    )
    for name in found:
        other = with_set(peeper, "motors.drive.motor", name).motors["drive"]
        assert other.figures.turns
        assert not other.figures.too_much(12.0)
    nodder = choices_of(rig("harvest_nodder"), "motors.drive.motor", "any")
    assert nodder
    assert all(name.startswith("synchronous") for name in nodder)
    assert choices_of(rig("cellar_lid"), "pushers.lift.motor", "any") == (
        "linear 150", "linear 330", "linear 600", "linear 1200",
    )  # fmt: skip


@pytest.mark.parametrize(
    "name", ["barn_owl", "twitch_crow", "air_popup", "fence_owl", "barrel_riser", "well_ghost"]
)
def test_every_choice_of_a_drive_reads(name: str) -> None:
    """What is there now is among them, where it is of the catalogue."""
    own = rig(name)
    for section in ("motors", "pushers"):
        for drive in getattr(own, section):
            field = f"{section}.{drive}.motor"
            found = choices_of(own, field, "any")
            assert found
            now = getattr(own, section)[drive].motor
            assert not isinstance(now, str) or now in found


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("M5 bolt", "{bolt: M5, grade: 5.8, nut: nylon insert}"),  # SAE 2, 74 ksi: 510 MPa, and 5.8 has 520
        ("5/16-18 bolt", "{bolt: 5/16-18, grade: 2, nut: nylon insert}"),
        ("M6 rod end", "{rod_end: M6}"),
        ("4 mm roll pin", "{roll_pin: 4 mm}"),
        ("#8 screw", '{screw: "#8 wood"}'),
        ("{bolt: M8}", "{bolt: M8}"),
    ],
)
def test_a_fastening_in_short(text: str, made: str) -> None:
    assert choices_of(rig("wall_peeper"), "joints.wrist.held_by", text) == (made,)


def test_the_nearest_grade_of_the_other_system() -> None:
    """SAE 5 for 8.8 and the other way: 120 ksi are 827 MPa (SAE J429, ISO 898-1, from memory)."""
    popup = rig("air_popup")
    (inch,) = choices_of(popup, "joints.pivot.held_by", "3/8-16 bolt")
    assert inch == "{bolt: 3/8-16, grade: 5, nut: nylon insert}"
    back = with_set(popup, "joints.pivot.held_by", inch)
    assert choices_of(back, "joints.pivot.held_by", "M8 bolt") == (
        "{bolt: M8, grade: 8.8, nut: nylon insert}",
    )


def test_sizes_and_supplies() -> None:
    peeper = rig("wall_peeper")
    assert choices_of(peeper, "bodies.mast.parts.0.pipe", "any")[-1] == "2 in PVC"
    assert len(choices_of(peeper, "bodies.mast.parts.0.pipe", "any")) == 6
    assert [c.split(",")[0] for c in choices_of(peeper, "joints.wrist.held_by", "any")] == [
        f"{{bolt: {size}" for size in ("8-32", "10-24", "1/4-20", "5/16-18", "3/8-16")
    ]
    screws = choices_of(peeper, "joints.shaft.held_by", "any")
    assert len(screws) == 5
    for text in screws:
        assert with_set(peeper, "joints.shaft.held_by", text).joints["shaft"].held_by is not None
    assert "12 V 10 A" in choices_of(peeper, "motors.drive.supply", "any")
    assert "24 V 5 A" not in choices_of(peeper, "motors.drive.supply", "any")
    box = choices_of(rig("barn_owl"), "supplies.box", "any")
    assert "{voltage: 5 V, limit: 2 A, wire: 22 AWG 3 m}" in box
    assert not any("12 V" in text for text in box)


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("joints.wrist.held_by", "M6 bold", "did you mean 'bolt'"),
        ("joints.wrist.held_by", "M7 bolt", "not a bolt of the catalogue"),
        ("bodies.crank.parts.0.of", "any", "there is no list"),
        ("joints.tee.held_by", "any", "no sizes to choose from"),
        ("joints.tee.friction", "any", "there is no list"),
    ],
)
def test_what_does_not_fit_is_refused(field: str, text: str, said: str) -> None:
    with pytest.raises(RigError, match=said) as caught:
        choices_of(rig("wall_peeper"), field, text, "--by")
    assert str(caught.value).startswith(f"--by: {field}: ")


def test_ranges_take_them_and_some_run() -> None:
    peeper = rig("wall_peeper")
    every = values(spans("motors.drive.motor=any", peeper, "--by"))
    assert every == choices_of(peeper, "motors.drive.motor", "any")
    study = Study(peeper.source.text, "rigs/wall_peeper.yaml", {"run.for": "40 ms"}, asks=("current(drive)",))
    for field, text in (("motors.drive.motor", every[-1]), *(
        ("joints.wrist.held_by", t) for t in values(spans("joints.wrist.held_by=M5 bolt", peeper))
    )):  # fmt: skip
        found = tried(study, Variant(((field, text),)))
        assert found.ended == "done", found.reason
        assert found.answers[0] is not None
