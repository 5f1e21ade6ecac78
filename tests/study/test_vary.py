"""Variants of a four-bar: their answers against what the mechanism says, and the files that tell of them."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Iterable, Iterator
from math import acos, degrees
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner, Result

from simprop.cli import app
from simprop.errors import RigError
from simprop.picture.chart.variants import Axis, Marks, variants_plot
from simprop.report.vary import shown_rows
from simprop.study.types import Answer, Level, Limit, Outcome, Study, Variant
from simprop.study.vary.worth import held, missed, ranked, slack, spread_out, worth
from simprop.study.work.run import Runs

GROUND, COUPLER, ROCKER = 100.0, 120.0, 80.0
RIG = """
rig: 1
name: Crank and rocker
params: {arm: 30 mm}
points:
  crank_shaft: 0 0 0 mm
  pin: [0 mm, 0 mm, arm]
  rocker_shaft: 100 0 0 mm
  knuckle: 109 0 79 mm
bodies:
  frame: {fixed: true}
  crank: {parts: [{bar: 12 x 3 mm, of: steel, from: crank_shaft, to: pin}]}
  coupler:
    hold: {from: pin, to: knuckle, length: 120 mm}
    parts: [{bar: 12 x 3 mm, of: steel, from: pin, to: knuckle}]
  rocker:
    hold: {from: rocker_shaft, to: knuckle, length: 80 mm}
    parts: [{bar: 12 x 3 mm, of: steel, from: rocker_shaft, to: knuckle}]
joints:
  crank_pivot: {pin: [frame, crank], at: crank_shaft, axis: y}
  pin: {pin: [crank, coupler], at: pin, axis: y}
  knuckle: {pin: [coupler, rocker], at: knuckle, axis: y}
  rocker_pivot: {pin: [frame, rocker], at: rocker_shaft, axis: y}
motors: {drive: {joint: crank_pivot, motor: {synchronous: {speed: 180 rpm, pull_out_torque: 5 N*m}}}}
run: {for: 0.5 s, step: 2 ms}
"""


def swing(arm: float) -> float:
    """What the rocker swings, deg: crank and coupler in line, law of cosines (any text on mechanisms)."""
    low, high = (
        degrees(acos((ROCKER**2 + GROUND**2 - d**2) / (2 * ROCKER * GROUND)))
        for d in (COUPLER - arm, COUPLER + arm)
    )
    return high - low


def vary(folder: Path, *words: str) -> Result:
    rig = folder / "four_bar.yaml"
    rig.write_text(RIG)
    return CliRunner().invoke(
        app, ["vary", str(rig), "--processes", "1", "--out", str(folder / "out"), *words]
    )


def rows_of(folder: Path) -> list[dict[str, str]]:
    with (folder / "out" / "variants.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, Path]:
    """Arms of 20 to 40 mm, and one of 320 mm that no coupler of 120 mm reaches."""
    folder = tmp_path_factory.mktemp("vary")
    words = ["--over", "arm=20mm,30mm,40mm,320mm", "--ask", "swing(rocker_pivot)", "--ask", "mass(crank)"]
    result = vary(folder, *words, "--keep", "mass(crank) < 10 g")
    assert result.exit_code == 0, result.output
    return result, folder


def test_answers_are_those_of_the_mechanism(grown: tuple[Result, Path]) -> None:
    rows = rows_of(grown[1])
    assert [row["arm"] for row in rows] == ["20 mm", "30 mm", "40 mm", "320 mm"]
    for row, arm in zip(rows, (20, 30), strict=False):
        assert float(row["swing(rocker_pivot) [deg]"]) == pytest.approx(swing(arm), rel=1e-3)
    assert [row["keeps all"] for row in rows] == ["yes", "yes", "no", ""]


def test_what_misses_a_cheap_limit_is_not_run(grown: tuple[Result, Path]) -> None:
    """A bar of 12 x 3 x 40 mm of steel weighs 11.3 g by its size and 7.85 g/cm^3 (handbooks of steel)."""
    third = rows_of(grown[1])[2]
    assert third["ended"] == "ruled out"
    assert float(third["mass(crank) [kg]"]) == pytest.approx(0.012 * 0.003 * 0.040 * 7850, rel=0.02)
    assert third["swing(rocker_pivot) [deg]"] == ""


def test_what_has_no_answer_is_an_empty_cell_with_its_reason(grown: tuple[Result, Path]) -> None:
    last = rows_of(grown[1])[-1]
    assert last["ended"] == "open"
    assert last["swing(rocker_pivot) [deg]"] == ""
    assert "close" in last["reason"] or "apart" in last["reason"], last["reason"]


def test_the_table_says_all_of_it_in_80_columns(grown: tuple[Result, Path]) -> None:
    lines = grown[0].output.splitlines()
    assert max(map(len, lines)) <= 80
    told = " ".join(grown[0].output.split())
    assert "4 variants: every combination" in told
    assert "2 of 4 keep mass(crank) < 10 g" in told
    assert "1 of 4 doesn't close arm 320 mm:" in told
    assert "keeps, best" in told
    assert "Settling moved no answer by more than 0.1 %" in told


def test_settled_are_the_best_and_those_near_a_limit(grown: tuple[Result, Path]) -> None:
    """Two that ran are among the best three; what was ruled out or doesn't close isn't tried again."""
    assert [row["level"] for row in rows_of(grown[1])] == ["settled", "settled", "still", "still"]


def test_parquet_holds_what_the_csv_does(grown: tuple[Result, Path]) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    table = parquet.read_table(grown[1] / "out" / "variants.parquet").to_pylist()
    for own, row in zip(table, rows_of(grown[1]), strict=True):
        assert {k: "" if v is None else str(v) for k, v in own.items()} == row


def test_other_files_are_there_and_can_be_read(grown: tuple[Result, Path]) -> None:
    out = grown[1] / "out"
    data = json.loads((out / "vary.json").read_text())
    assert data["study"]["asked"] == ["swing(rocker_pivot)", "mass(crank)"]
    assert data["study"]["variants"] == 4
    assert "![Answers over what varies](vary.png)" in (out / "vary.md").read_text()
    assert Image.open(out / "vary.png").size[0] > 1000


def test_a_grid_of_two_with_a_clip_and_drafts_alone(tmp_path: Path) -> None:
    words = ["--over", "arm=20..30mm:2", "--over", "motors.drive.motor.synchronous.speed=120..180rpm:2"]
    result = vary(tmp_path, *words, "--settle", "none", "--clips", "2", "--set", "run.for=0.4 s")
    assert result.exit_code == 0, result.output
    rows = rows_of(tmp_path)
    assert [
        (row["arm [mm]"], row["speed [rpm]"]) if "speed [rpm]" in row else row["arm [mm]"] for row in rows
    ]
    assert {row["level"] for row in rows} == {"draft"}
    assert "All are drafts" in result.output
    assert (tmp_path / "out" / "vary_clip.mp4").stat().st_size > 1000


def test_a_sample_says_its_seed_and_gives_the_same_again(tmp_path: Path) -> None:
    words = [
        "--over",
        "arm=20..40mm",
        "--sample",
        "3",
        "--seed",
        "5",
        "--ask",
        "mass(crank)",
        "--settle",
        "none",
    ]
    first = vary(tmp_path, *words)
    kept = (tmp_path / "out" / "variants.csv").read_text()
    assert "Latin hypercube, seed 5" in first.output
    assert "0 from the store, 3 run" in first.output
    assert "3 from the store, 0 run" in vary(tmp_path, *words).output
    assert (tmp_path / "out" / "variants.csv").read_text() == kept
    arms = sorted(float(row["arm [mm]"]) for row in rows_of(tmp_path))
    assert [int((arm - 20) / 20 * 3) for arm in arms] == [0, 1, 2]


def test_a_stopped_study_tells_what_is_done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while the third of four is told: exit code 130, and two rows."""
    whole = Runs.outcomes

    def stopped(
        self: Runs, study: Study, variants: Iterable[Variant], level: Level = "draft"
    ) -> Iterator[Any]:
        for found in whole(self, study, variants, level):
            if found[0] == 2:
                raise KeyboardInterrupt
            yield found

    monkeypatch.setattr(Runs, "outcomes", stopped)
    result = vary(tmp_path, "--over", "arm=20..35mm:4", "--ask", "mass(crank)", "--clips", "2")
    assert result.exit_code == 130
    assert len(rows_of(tmp_path)) == 2
    assert "Stopped before the end: 2 of 4 weren't tried" in result.output


def test_without_the_package_for_parquet_csv_is_written_and_the_line_to_type_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    result = vary(tmp_path, "--over", "arm=30mm", "--ask", "mass(crank)", "--settle", "none")
    assert result.exit_code == 0
    assert 'pip install "simprop[parquet]"' in " ".join(result.output.split())
    assert (tmp_path / "out" / "variants.csv").exists()
    assert not (tmp_path / "out" / "variants.parquet").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--over: nothing varies"),
        (["--over", "arm=20..40"], "--over: arm: the range has no unit"),
        (["--over", "arm=20..40mm"], "how many values it takes isn't said"),
        (["--over", "arm=20..40mm:2", "--ask", "swnig(rocker_pivot)"], "did you mean 'swing'"),
        (["--over", "arm=20..40mm:2", "--ask", "swing(rocker_pivto)"], "did you mean 'rocker_pivot'"),
        (["--over", "arm=20..40mm:2", "--keep", "mass < 3 s"], "--keep: mass: second is not a unit"),
        (["--over", "arm=20..40mm", "--sample", "9000000"], "the sample has 9,000,000 variants"),
    ],
)
def test_bad_input_is_told_before_anything_is_written(tmp_path: Path, words: list[str], told: str) -> None:
    result = vary(tmp_path, *words)
    assert isinstance(result.exception, RigError)
    assert told in str(result.exception)
    assert [path.name for path in tmp_path.iterdir()] == ["four_bar.yaml"]


def outcome(value: float | None, ended: str = "done") -> Outcome:
    answer = None if value is None else Answer(value, "", value)
    return Outcome(ended, "draft", (answer,))  # type: ignore[arg-type]


LIMIT = (Limit(0, least=1.0),)


def test_slack_is_a_share_of_the_limit_and_of_half_a_range() -> None:
    assert slack(1.5, LIMIT[0]) == 0.5
    assert slack(119.0, Limit(0, 118.0, 122.0)) == 0.5
    assert slack(123.0, Limit(0, 118.0, 122.0)) == -0.5
    assert missed(outcome(0.9), LIMIT) == (0,)
    assert [held(outcome(v), LIMIT) for v in (0.9, 1.1, None)] == [False, True, None]


def test_worth_settling_are_the_best_few_and_what_is_near_a_limit() -> None:
    outcomes = [outcome(v) for v in (0.2, 0.93, 1.05, 1.2, 3.0, 4.0, 5.0)] + [outcome(9.0, "wrong")]
    assert ranked(outcomes, LIMIT) == [6, 5, 4, 3, 2, 1, 0]
    assert worth(outcomes, LIMIT) == [1, 2, 4, 5, 6]
    assert worth(outcomes, ()) == [0, 1, 2, 4, 5, 6]
    assert spread_out(outcomes, LIMIT, 3) == [6, 3, 0]
    many = [outcome(1.0 + 0.001 * k) for k in range(80)]
    assert len(worth(many, LIMIT)) == 24


def test_a_long_table_shows_best_and_worst_and_others_evenly() -> None:
    outcomes = [outcome(float(k % 37)) for k in range(500)]
    rows = shown_rows(outcomes, LIMIT, 12)
    assert 8 <= len(rows) == len(set(rows)) <= 12
    assert rows == sorted(rows)
    order = ranked(outcomes, LIMIT)
    assert {order[0], order[-1], 0, 499} <= set(rows)


@pytest.mark.parametrize("fields", [1, 2, 3])
def test_plots_of_one_two_and_more_fields_are_drawn_with_failures(tmp_path: Path, fields: int) -> None:
    places = np.array([(a, b) for a in range(3) for b in range(2)], dtype=float)
    axes = [
        Axis("throw, mm", places[:, 0] * 10),
        Axis("motor", places[:, 1], ("wiper", "gearmotor large")),
        Axis("mass, kg", places[:, 0] + places[:, 1]),
    ]
    values = np.array([1.0, 2.0, np.nan, 3.0, 4000.0, np.nan])
    answers = [Axis("force, N", values, (), (2.5,)), Axis("all unknown", np.full(6, np.nan))]
    failed = np.isnan(values)
    path = tmp_path / "vary.png"
    marks = Marks(failed, np.array([False, False, False, True, True, False]))
    fine = variants_plot(axes[:fields], answers, marks, path, gridded=fields < 3, title="Toy")
    with_failures = np.asarray(Image.open(fine).convert("L"), dtype=float)
    none = Marks(np.zeros(6, bool), marks.missed)
    variants_plot(axes[:fields], answers, none, tmp_path / "none.png", gridded=fields < 3, title="Toy")
    without = np.asarray(Image.open(tmp_path / "none.png").convert("L"), dtype=float)
    assert with_failures.shape != without.shape or (with_failures != without).any() or fields == 2
