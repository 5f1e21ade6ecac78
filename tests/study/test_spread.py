"""What scattered builds come to: shares, what moves an answer, and the command that tells it."""

from __future__ import annotations

import csv
import json
from math import nan, sqrt
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from simprop.cli import app
from simprop.errors import RigError
from simprop.report.scatter import scatter_sections
from simprop.study.types import Answer, Ended, Outcome, Variant
from simprop.study.vary.limits import bounds_of
from simprop.study.vary.spread import spreads_of, wilson
from tests.study.test_scatter import WHEEL


def outcome(value: float | None, ended: Ended = "done") -> Outcome:
    answer = None if value is None else Answer(value, "N", value)
    return Outcome(ended, "draft", (answer,), "" if ended == "done" else "why", ("",))


def test_wilson() -> None:
    """p + z^2 / 2n -+ z sqrt(p (1 - p) / n + z^2 / 4n^2), all over 1 + z^2 / n: Wilson 1927, from memory."""
    z, n, p = 1.959964, 200, 181 / 200
    middle, half = p + z**2 / (2 * n), z * sqrt(p * (1 - p) / n + z**2 / (4 * n**2))
    assert wilson(181, 200) == pytest.approx(
        ((middle - half) / (1 + z**2 / n), (middle + half) / (1 + z**2 / n)), rel=1e-5
    )
    assert wilson(10, 10)[0] == pytest.approx(10 / (10 + z**2), rel=1e-5)
    assert np.isnan(wilson(0, 0)).all()


def test_shares_and_shifts_of_a_known_sum() -> None:
    """y = 10 + 3 a + b with a within 0.1 and b within 0.4: variances as 0.09 to 0.16; c does nothing."""
    rng = np.random.default_rng(2)
    rows = rng.uniform(-1, 1, (4000, 3)) * [0.1, 0.4, 1.0]
    variants = [Variant((), (("a", a), ("b", b), ("c", c))) for a, b, c in rows.tolist()]
    outcomes = [outcome(10 + 3 * a + b) for a, b, _ in rows.tolist()]
    (found,) = spreads_of(("peak(wrist)",), bounds_of(["peak(wrist) < 10 N"]), variants, outcomes)
    (answer,) = found.answers
    assert answer.deviation == pytest.approx(sqrt((0.3**2 + 0.4**2) / 3), rel=0.02)
    assert [m.key for m in answer.movers[:2]] == ["b", "a"]
    assert [m.share for m in answer.movers[:2]] == pytest.approx([0.64, 0.36], abs=0.03)
    assert [m.shift for m in answer.movers[:2]] == pytest.approx([0.4, 0.3], rel=0.04)
    assert sum(m.share for m in answer.movers if m.key == "c") < 0.01
    assert found.keeps[0].passed == sum(o.answers[0].value <= 10 for o in outcomes if o.answers[0])


def test_builds_that_do_not_work_do_not_pass_and_unknown_ones_are_told_apart() -> None:
    variants = [Variant((), (("a", 0.1 * k),)) for k in range(6)]
    outcomes = [
        outcome(1.0),
        outcome(3.0),
        outcome(None, "open"),
        outcome(None, "lost"),
        outcome(None),
        outcome(2.0),
    ]
    bounds = bounds_of(["peak(wrist) < 2.5 N"])
    (found,) = spreads_of(("peak(wrist)",), bounds, variants, outcomes)
    (kept,) = found.keeps
    assert (kept.passed, kept.of, kept.unknown) == (2, 4, 2)
    assert found.answers[0].mean == 2.0
    assert len(found.answers[0].known) == 3
    told = str(scatter_sections((found,), ["lengths=1 mm"], "seed 1"))
    assert "1 of 6 don't close, and don't pass" in told
    assert "of 2 more it isn't known" in told
    none = [outcome(None, "jams")] * 6
    (dead,) = spreads_of(("peak(wrist)",), bounds, variants, none)
    assert (dead.keeps[0].passed, dead.keeps[0].of) == (0, 6)
    assert str(dead.answers[0].mean) == str(nan)
    assert "'-'" in str(scatter_sections((dead,), ["lengths=1 mm"], "seed 1"))


def test_the_command(tmp_path: Path) -> None:
    rig, out = tmp_path / "wheel.yaml", tmp_path / "out"
    rig.write_text(WHEEL)
    done = CliRunner().invoke(
        app,
        ["vary", str(rig), "--scatter", "12", "--within", "motors=10 %", "--ask", "speed(rim)", "--keep",
         "speed(rim) > 0.18 m/s", "--over", "motors.turn.supply=8 V,9 V", "--seed", "3",
         "--processes", "1", "--out", str(out)],
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "of 12 builds pass speed(rim) > 0.18 m/s" in done.stdout
    assert "seed 3" in done.stdout
    data = json.loads((out / "scatter.json").read_text())
    assert [one["set"]["motors.turn.supply"] for one in data["builds"]] == ["8 V", "9 V"]
    assert {m["what"] for m in data["builds"][0]["answers"][0]["moved_by"]} <= {
        "motors.turn.speed",
        "motors.turn.torque",
    }
    rows = list(csv.DictReader((out / "builds.csv").open()))
    assert len(rows) == 24
    assert all(abs(float(row["motors.turn.torque off [%]"])) <= 10 for row in rows)
    assert (out / "scatter.png").stat().st_size > 5000
    kept = [k for one in data["builds"] for k in one["keep"]]
    by_hand = [
        sum(float(r["speed(rim) [m/s]"]) >= 0.18 for r in rows if r["motors.turn.supply"] == volts)
        for volts in ("8 V", "9 V")
    ]
    assert [k["passed"] for k in kept] == by_hand


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--scatter", "5", "--within", "frction=5 %"], "did you mean 'friction'"),
        (["--within", "friction=5 %", "--over", "motors.turn.supply=8 V,9 V"], "--scatter 200"),
        (["--scatter", "0"], "greater than or equal to 1"),
    ],
)
def test_what_is_refused(tmp_path: Path, options: list[str], said: str) -> None:
    rig = tmp_path / "wheel.yaml"
    rig.write_text(WHEEL)
    done = CliRunner().invoke(app, ["vary", str(rig), *options, "--out", str(tmp_path / "out")])
    assert done.exit_code == 2 or isinstance(done.exception, RigError)  # which the command line ends with 2
    assert said in " ".join(f"{done.output} {done.exception}".split())
    assert not (tmp_path / "out").exists()
