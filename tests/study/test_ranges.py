"""Ranges and choices of fields, and the grids and samples made of them."""

from __future__ import annotations

from functools import cache

import pytest

from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.rig.model import Rig
from simprop.study.vary.ranges import all_spans, at_share, grid, sampled, size, spans, values, written

TEXT = """
rig: 1
name: Geared arm
params: {arm: 100 mm, grip: 0.3}
points: {shaft: 0 0 0 mm, hub: 60 0 0 mm, end: [60 mm + arm, 0 mm, 0 mm]}
bodies:
  stand: {fixed: true}
  handle: {parts: [{bar: 20 x 3 mm, of: steel, from: shaft, to: 0 0 60 mm}]}
  arm: {parts: [{bar: 20 x 3 mm, of: steel, from: hub, to: end}]}
joints:
  shaft: {pin: [stand, handle], at: shaft, axis: y, diameter: 6 mm, friction: grip}
  hub: {pin: [stand, arm], at: hub, axis: y}
couplings: {mesh: {gears: [shaft, hub], teeth: [12, 36]}}
motors: {drive: {joint: shaft, motor: wiper, supply: 12 V 5 A}}
run: {for: 1 s}
"""


@cache
def rig() -> Rig:
    return parse_rig(TEXT)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("arm=80..120mm:5", ("80 mm", "90 mm", "100 mm", "110 mm", "120 mm")),
        ("arm=1..2in:4", ("1 in", "1.3333 in", "1.6667 in", "2 in")),
        ("arm=8cm..120mm:3", ("80 mm", "100 mm", "120 mm")),
        ("arm=1/2..3/4 in:2", ("0.5 in", "0.75 in")),
        ("params.arm=90.5mm..91:3", ("90.5 mm", "90.75 mm", "91 mm")),
        ("grip=0..1:6", ("0", "0.2", "0.4", "0.6", "0.8", "1")),
        ("couplings.mesh.teeth.0=12..24:4", ("12", "16", "20", "24")),
        ("couplings.mesh.teeth.1=24..36:3", ("24", "30", "36")),
        ("joints.hub.friction=0.1..0.3N*m:3", ("0.1 N*m", "0.2 N*m", "0.3 N*m")),
        ("motors.drive.supply=5 V 5 A,12 V 5 A", ("5 V 5 A", "12 V 5 A")),
        ('motors.drive.supply="5 V 5 A", 12 V', ("5 V 5 A", "12 V")),
        ("motors.drive.motor=wiper", ("wiper",)),
        ("points.shaft.0=-1..1mm:3", ("-1 mm", "0 mm", "1 mm")),
        ("motors.drive={joint: shaft, motor: wiper, supply: 5 V}", None),
        ("arm=120mm,80mm,120mm", ("120 mm", "80 mm")),
    ],
)
def test_values_are_those_that_people_would_write(text: str, told: tuple[str, ...] | None) -> None:
    if text.startswith("points"):
        moved = parse_rig(TEXT.replace("shaft: 0 0 0 mm,", "shaft: [0 mm, 0 mm, 0 mm],"))
        assert values(spans(text, moved)) == told
        return
    assert values(spans(text, rig())) == (told or (text.partition("=")[2],))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("arm=80..120", r"arm: the range has no unit .*allowed: 80..120 mm"),
        ("run.for=2..4:3", r"run.for: the range has no unit .*allowed: 2..4 s"),
        ("arm=80..120kg", "kg is not a unit of what stands there.*100 mm"),
        ("joints.hub.friction=1..3kg", "kg is not a unit of torque"),
        ("grip=1..3mm", "mm doesn't fit a plain number"),
        ("arm=120..80mm", "the range is empty"),
        ("arm=80..80mm:3", "the range is empty"),
        ("arm=80..120mm:0", "0 values.*allowed: 2 to 100,000"),
        ("arm=80..120mm:1000000000", "1000000000 values"),
        ("arm=80..120mm:many", "'many' is not how many"),
        ("arm=80..120mmm", "'mmm' is not a unit; did you mean 'mm'"),
        ("arm=80mm..3kg", "two dimensions"),
        ("arm=80..wide", "'wide' is not an end of a range"),
        ("arm=80mm,90..99mm", "a range stands alone"),
        ("arm=80mm,,90mm", "a choice is empty"),
        ("armm=80..120mm", "armm: there is no such field.*did you mean 'arm'"),
        ("joints.hub.frction=0.1..0.2", "no such field.*did you mean 'friction'"),
        ("motors.drive.motor=wiper,wipr", "not a motor of the catalogue .got 'wipr'.*did you mean 'wiper'"),
        ("couplings.mesh.teeth.0=12..14:9", "only 3 whole numbers"),
        ("arm", "nothing is said to go through"),
    ],
)
def test_what_cannot_be_gone_through_is_told_in_one_line(text: str, told: str) -> None:
    with pytest.raises(RigError, match=told) as error:
        spans(text, rig())
    (fault,) = error.value.faults
    assert fault.file == "--over"
    assert "\n" not in str(fault)


def test_a_field_stands_once_and_all_faults_are_told() -> None:
    with pytest.raises(RigError) as error:
        all_spans(["arm=80..120mm:3", "params.arm=80 mm", "arn=3 mm"], rig(), "--by")
    assert [f.message for f in error.value.faults] == ["stands twice", "there is no such field"]
    assert {f.file for f in error.value.faults} == {"--by"}


def test_a_grid_has_every_combination_once() -> None:
    found = all_spans(["arm=80..120mm:3", "motors.drive.supply=5 V,12 V"], rig())
    made = [dict(v.sets) for v in grid(found)]
    assert len(made) == size(found) == 6
    assert made[0] == {"arm": "80 mm", "motors.drive.supply": "5 V"}
    assert made[1] == {"arm": "80 mm", "motors.drive.supply": "12 V"}
    assert len({tuple(m.items()) for m in made}) == 6


def test_a_grid_of_too_many_or_without_a_count_is_refused_before_it_begins() -> None:
    with pytest.raises(RigError, match=r"allowed: arm=80\.\.120mm:9 for nine values, or --sample N"):
        grid(all_spans(["arm=80..120mm"], rig()))
    found = all_spans(["arm=80..120mm:90000", "grip=0..1:100"], rig())
    with pytest.raises(RigError, match="the grid has 9,000,000 variants"):
        grid(found)


def test_a_sample_meets_each_strip_of_each_range_once() -> None:
    """What a Latin hypercube is (McKay, Beckman and Conover, Technometrics 21, 1979; from memory)."""
    count = 24
    found = all_spans(
        ["arm=80..128mm", "couplings.mesh.teeth.0=12..23", "motors.drive.supply=5 V,12 V"], rig()
    )
    made = [dict(v.sets) for v in sampled(found, count, seed=7)]
    arms = [float(m["arm"].removesuffix(" mm")) for m in made]
    assert sorted(int((a - 80) / 48 * count) for a in arms) == list(range(count))
    assert sorted(m["couplings.mesh.teeth.0"] for m in made) == sorted([str(k) for k in range(12, 24)] * 2)
    assert [m["motors.drive.supply"] for m in made].count("5 V") == count / 2
    assert made == [dict(v.sets) for v in sampled(found, count, seed=7)]
    assert made != [dict(v.sets) for v in sampled(found, count, seed=8)]


def test_a_number_of_a_range_is_written_as_finely_as_it_is_wide() -> None:
    found = spans("arm=80..120mm", rig())
    assert written(found, 100.123456) == "100.1235 mm"
    assert written(found, 80.0) == "80 mm"
    assert [at_share(found, u) for u in (0.0, 0.5, 1.0)] == ["80 mm", "100 mm", "120 mm"]
