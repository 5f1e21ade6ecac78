"""What is said of readings, and of what is to be measured."""

from __future__ import annotations

import json
from math import degrees, pi

import numpy as np
import pytest

from simprop.report.structure import Report, Table
from simprop.report.tune_sheet import tune_up
from simprop.report.tuned import tuned_report
from simprop.report.writers import as_json, markdown, plain
from simprop.rig.load import parse_rig
from simprop.tuning.measured import parse_measured
from simprop.tuning.tune import Tuned, base_run, tune
from tests.tuning.props import LANTERN, TWO_SPRINGS

MOVING = """
measured: 1
motors:
  drive:
    no_load_speed: 100 rpm +- 1 %
    no_load_current: 0.3 A +- 1 %
    resistance: 2 ohm +- 1 %
    stall_torque: 3 N*m +- 1 %
    cycle_time: 0.614 s +- 1 %
    peak_current: 0.94 A +- 2 %
bodies: {arm: {weight: 400 g +- 1 %}}
joints: {shaft: {drag_torque: 0.05 N*m +- 3 %}}
"""


@pytest.fixture(scope="module")
def tuned() -> Tuned:
    return tune(parse_rig(TWO_SPRINGS), parse_measured(MOVING))


def test_it_says_what_it_can_not_tell(tuned: Tuned) -> None:
    report = tuned_report(tuned)
    data = json.loads(as_json(report))
    group = next(g for g in data["not_told_apart"] if "rate of lift" in g)
    assert "rate of twin" in group
    told = plain(report)
    assert max(map(len, told.splitlines())) <= 80
    words = " ".join(told.split())
    assert "- Can't tell apart: " in words
    assert "the readings tell them only together one further reading would: pull of " in words
    assert "open, see below" in words
    assert ".;" not in markdown(report)


def test_two_equal_springs_are_moved_alike(tuned: Tuned) -> None:
    """Nothing speaks for one of them rather than the other."""
    moved = {f.what: v / f.value for f, v in zip(tuned.figures, tuned.values, strict=True)}
    assert moved["rate of lift"] == pytest.approx(moved["rate of twin"], rel=1e-6)


def test_the_sheet_in_words() -> None:
    """The current is largest where the energy of weight and spring rises fastest, but for what the swing lends."""
    run = base_run(parse_rig(LANTERN))
    section = tune_up(run)
    assert section is not None
    table = next(b for b in section.blocks if isinstance(b, Table))
    row = next(r for r in table.rows if str(r[0]).startswith("most current"))
    told = float(str(row[0]).partition("near ")[2].split(" ")[0])
    angle = np.linspace(0.0, 2 * pi, 721)
    x, z = np.cos(angle), -np.sin(angle)  # of the arm, turned about y by the right hand
    stretch = np.hypot(0.06 * x, 0.3 - 0.06 * z) - 0.2
    held = 0.4 * 9.80665 * 0.12 * z + 60 * stretch**2 / 2
    worst = degrees(angle[int(np.argmax(np.gradient(held, angle)))])
    assert told == pytest.approx(worst, abs=25.0)
    assert str(section.brief)
    assert max(map(len, plain(Report("x", [section])).splitlines())) <= 80
