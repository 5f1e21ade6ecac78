"""The sheet: what it predicts against closed forms, and that its blank reads."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from simprop.quantities import show
from simprop.rig.load import load_rig, parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.tuning import motion
from simprop.tuning.fit import cover
from simprop.tuning.measured import parse_measured, readings_of
from simprop.tuning.sheet import LISTS, blank, sheet
from simprop.tuning.tune import base_run, tune
from tests.tuning.props import LANTERN

RIGS = Path(__file__).parents[2] / "rigs"
LEVEL = """
rig: 1
name: Level crank
bodies: {post: {fixed: true}, arm: {parts: [{lump: 0.5 kg, at: 0 0 0 mm}]}}
joints: {shaft: {pin: [post, arm], at: 0 0 0 mm, axis: z, friction: 0.4 N*m}}
motors:
  drive:
    joint: shaft
    motor:
      dc: {rated_voltage: 12 V, no_load_speed: 60rpm, stall_torque: 2 N*m, no_load_current: 0.5 A, stall_current: 4.5 A}
    supply: {voltage: 12 V, resistance: 0.5 ohm}
run: {for: 4 s}
"""


@pytest.fixture(scope="module")
def lantern() -> Run:
    return base_run(parse_rig(LANTERN))


def test_a_cycle_under_a_steady_load() -> None:
    """kt I = T + kt I0 and V - I (R + Rs) = k w, of any text on electrical machines; a voltmeter at the motor."""
    rows = {row.sort.key: row.predicted for row in sheet(base_run(parse_rig(LEVEL)))}
    resistance, kt = 12 / 4.5, 2.0 / 4.0
    current = 0.5 + 0.4 / kt
    speed = (12 - current * (resistance + 0.5)) / ((12 - 0.5 * resistance) / (60 * pi / 30))
    assert rows["peak_current"] == pytest.approx(current, rel=2e-3)
    assert rows["cycle_time"] == pytest.approx(2 * pi / speed, rel=2e-3)
    assert rows["loaded_voltage"] == pytest.approx(12 - 0.5 * current, rel=2e-3)
    assert rows["resistance"] == pytest.approx(resistance)
    assert rows["stall_torque"] == pytest.approx(2.0)
    assert rows["drag_torque"] == pytest.approx(0.4)
    assert rows["weight"] == pytest.approx(0.5)


def test_a_supply_that_sags_is_told() -> None:
    """Its resistance, of which the rig says nothing, by a voltmeter and an ammeter: (12 V - 11.22 V) / 1.3 A."""
    text = LEVEL.replace("{voltage: 12 V, resistance: 0.5 ohm}", "12 V 5 A")
    inside = "{no_load_current: 0.5 A, peak_current: 1.3 A, loaded_voltage: 11.22 V}"
    tuned = tune(parse_rig(text), parse_measured(f"measured: 1\nmotors: {{drive: {inside}}}"))
    j = [f.what for f in tuned.figures].index("resistance of supply of drive")
    assert j in tuned.fitted.told
    assert not tuned.figures[j].stated
    off = cover(tuned.fitted) * tuned.fitted.deviation[j] * tuned.figures[j].spread
    assert tuned.values[j] == pytest.approx(0.6, rel=off)


def test_spring_pulls(lantern: Run) -> None:
    """k (L - L0), half and all of the way to the longest that the run has."""
    rows = [row for row in sheet(lantern) if row.sort.key == "pull"]
    longest = motion.lengths(lantern, "lift").max()
    assert rows[1].at == pytest.approx(longest, abs=5e-4)
    assert [row.predicted for row in rows] == pytest.approx([60 * (row.at - 0.2) for row in rows])


def test_an_actuator_is_timed_over_its_stroke() -> None:
    """Its load is light beside the 100 N of its class: it keeps more than nine tenths of its free 100 mm/s."""
    run = base_run(load_rig(RIGS / "barrel_riser.yaml"))
    rows = {row.sort.key: row.predicted for row in sheet(run) if row.sort.section == "pushers"}
    assert 0.09 < rows["stroke_speed"] < 0.1
    assert rows["stroke_current"] > rows["idle_current"] == 1.0


def test_the_blank_reads_and_filled_in_as_predicted_changes_nothing(lantern: Run) -> None:
    text = blank(lantern, "lantern.yaml")
    empty = parse_measured(text).measured
    assert empty.motors["drive"] is not None
    assert empty.motors["drive"].cycle_time is None
    assert max(map(len, text.splitlines())) <= 120
    for row in sheet(lantern):
        key = row.sort.key
        lines = text.splitlines()
        first = next(
            k for k, line in enumerate(lines)
            if line.strip().startswith(f"{key}:  ") and (key not in LISTS or show(row.at, "length", 4) in lines[k - 1])
        )  # fmt: skip
        lines[first] = lines[first].split("#")[0].rstrip() + f" {show(row.predicted, row.sort.unit, 9)}"
        text = "\n".join(lines)
    tuned = tune(lantern.rig, parse_measured(text))
    assert len(tuned.readings) == len(sheet(lantern)) == len(readings_of(parse_measured(text), lantern))
    assert tuned.changed == ()
    assert tuned.values == pytest.approx([f.value for f in tuned.figures])


@pytest.mark.parametrize("name", ["wall_peeper", "cider_press", "talking_pumpkin", "harvest_nodder"])
def test_any_sort_of_rig_has_a_sheet_that_reads(name: str) -> None:
    run = base_run(load_rig(RIGS / f"{name}.yaml", {"run.for": "0.5 s"}))
    assert parse_measured(blank(run, name)).measured.rig == run.rig.name
    if name == "harvest_nodder":  # on the mains: no meter in its wires
        assert not [row for row in sheet(run) if row.sort.unit in ("current", "voltage")]


def test_a_run_is_long_enough_to_time_what_is_slower() -> None:
    """A motor that makes two turns in the rig's own run makes four in that by which it is tuned."""
    rig = parse_rig(LANTERN.replace("for: 1.6 s", "for: 1.3 s"))
    run = base_run(rig)
    assert 3.9 < motion.cycles(run, "drive") < 4.2
    assert run.rig.run.duration == pytest.approx(
        1.3 * 4 / motion.cycles(simulate(rig, settle=False), "drive"), rel=1e-3
    )
