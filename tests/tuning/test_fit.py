"""The fit against general libraries, and against figures that are known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from simprop.rig.load import parse_rig
from simprop.tuning.figures import figures_of
from simprop.tuning.fit import Contradiction, contradicting, cover, fit, further, tied
from simprop.tuning.measured import Reading
from simprop.tuning.sheet import sheet
from simprop.tuning.tune import Runs, base_run, fitted_to
from tests.tuning.props import LANTERN, TWO_SPRINGS

A = np.array([[9.0, 1.0], [2.0, 8.0], [5.0, -4.0], [1.0, 1.0]])
"""Slopes of four rows by two figures."""


def test_a_straight_model_as_curve_fit_has_it() -> None:
    """Place, covariance and residuals of scipy's curve_fit, which knows nothing of singular directions."""
    sd, read = np.array([0.5, 0.4, 0.6, 0.3]), np.array([4.0, 3.1, -0.2, 0.6])
    found = fit(lambda x: A @ x, 2, range(4), read, sd)
    place, covariance = optimize.curve_fit(
        lambda _, a, b: A @ np.array([a, b]), np.zeros(4), read, sigma=sd, absolute_sigma=True
    )
    assert found.strong == 2
    assert found.x == pytest.approx(place, abs=1e-4)
    assert found.covariance == pytest.approx(covariance, rel=1e-6)
    hat = (A / sd[:, None]) @ covariance @ (A / sd[:, None]).T
    assert found.leverage == pytest.approx(np.diag(hat), rel=1e-6)


def test_a_further_reading_as_a_new_fit_has_it() -> None:
    """The deviation that a further row is said to leave is that of the fit with it."""
    sd = np.array([0.5, 0.4, 0.6, 0.3])
    one = fit(lambda x: A @ x, 2, [0], np.zeros(1), sd)
    assert tied(one) == ((1,),) or tied(one) == ((0, 1),)
    found = further(one, (0, 1))
    assert found is not None
    assert found.row == 1
    both = fit(lambda x: A @ x, 2, [0, 1], np.zeros(2), sd)
    assert found.deviation == pytest.approx(
        both.deviation, rel=0.1
    )  # what was open counts as known to its spread


def test_the_width_of_the_bands() -> None:
    """1.96 for one figure, and by Bonferroni's bound a little less for two than 2.241 (tables of the normal law)."""
    one = fit(lambda x: 10 * x, 1, [0], np.zeros(1), np.ones(1))
    two = fit(lambda x: 10 * x, 2, [0, 1], np.zeros(2), np.ones(2))
    assert cover(one) == pytest.approx(1.960, abs=5e-4)
    assert 2.23 < cover(two) < 2.241


def test_one_wrong_reading_is_named() -> None:
    """Of three readings of one thing, the one that is ten deviations off; of two, both."""
    same = np.ones((3, 1))
    three = fit(lambda x: 0.1 * (same @ x), 1, range(3), np.array([0.1, 0.1, 0.2]), np.full(3, 0.01))
    assert contradicting(three) == Contradiction((2,), True)
    two = fit(lambda x: 0.1 * (same[:2] @ x), 1, range(2), np.array([0.1, 0.2]), np.full(2, 0.01))
    assert contradicting(two) == Contradiction((0, 1), True)


def test_two_wrong_readings_of_many() -> None:
    """Five readings of one thing, two of them ten deviations off to either side: neither alone mends it."""
    five = fit(
        lambda x: 0.1 * (np.ones((5, 1)) @ x),
        1,
        range(5),
        np.array([0.0, 0.0, 0.0, 0.1, -0.1]),
        np.full(5, 0.01),
    )
    assert contradicting(five) == Contradiction((3, 4), False)


def test_chance_alone_contradicts_hardly_ever() -> None:
    """Of 400 sheets with no more noise than stated two in a thousand are refused at most: rarely more than 5."""
    rng, sd = np.random.default_rng(1), np.full(8, 0.02)
    slopes = rng.normal(0.0, 0.1, (8, 3))
    refused = sum(
        bool(contradicting(fit(lambda x: slopes @ x, 3, range(8), rng.normal(0.0, 0.02, 8), sd)))
        for _ in range(400)
    )
    assert refused <= stats.poisson.isf(1e-3, 0.8)


def test_known_figures_are_found_again() -> None:
    """Readings with 2 % of noise, of a prop whose eight figures lie up to 0.8 spreads off what its rig says.

    In at least 18 of 20 all bands that are printed hold the true figures together (19 are expected, by 95 of 100; of
    200 it were 193).
    """
    before = base_run(parse_rig(LANTERN))
    rows, figures = sheet(before), figures_of(before, ())
    runs = Runs(before.rig, figures, rows)
    truth = np.random.default_rng(7).uniform(-0.8, 0.8, len(figures))
    right, held = runs(truth), 0
    for seed in range(20):
        noise = np.random.default_rng(seed).normal(0.0, 0.02, len(rows))
        values = np.exp(right) * (1.0 + noise)
        readings = [Reading(row, float(v), 0.04, "") for row, v in zip(rows, values, strict=True)]
        found = fitted_to(runs, len(figures), readings, rows)
        told = list(found.told)
        assert len(told) == len(figures) - 1  # all but the free length, which 2 % on two pulls tell to 1.4 %
        off = np.abs(found.x - truth)[told]
        held += bool((off <= cover(found) * found.deviation[told]).all())
        assert not contradicting(found)
    assert held >= 18


def test_two_springs_between_the_same_points() -> None:
    """Motion tells what they pull together and never each alone; one pull of one of them would."""
    before = base_run(parse_rig(TWO_SPRINGS))
    rows, figures = sheet(before), figures_of(before, ())
    names = [f.what for f in figures]
    moving = [k for k, row in enumerate(rows) if row.sort.section in ("motors", "bodies", "joints")]
    ordered = [rows[k] for k in moving] + [row for k, row in enumerate(rows) if k not in moving]
    runs = Runs(before.rig, figures, ordered)
    readings = [Reading(row, row.predicted, 0.01, "") for row in ordered[: len(moving)]]
    found = fitted_to(runs, len(figures), readings, ordered)
    lift, twin = names.index("rate of lift"), names.index("rate of twin")
    group = next(g for g in tied(found) if lift in g)
    assert twin in group
    assert names.index("mass of arm") in found.told
    apart = np.zeros(len(figures))
    apart[[lift, twin]] = 1.0, -1.0
    assert found.open @ apart == pytest.approx(apart, abs=1e-3)  # by construction no reading sees that
    more = further(found, group)
    assert more is not None
    assert ordered[more.row].sort.key == "pull"
    assert {lift, twin} & set(more.tells)
