"""Margins, ranking, suggestions and exit codes."""

from dataclasses import replace
from math import inf, nan

import pytest

from simprop.checking.check import (
    Remedy,
    exit_code,
    judge,
    not_computed,
    ranked,
    suggest,
    warning,
    worst,
)


def check(demand, capacity, factor=1.0):
    return judge("member", "bending", "arm", demand, capacity, unit="Pa", factor=factor)


@pytest.mark.parametrize(
    ("demand", "capacity", "factor", "margin", "verdict"),
    [
        (10, 30, 3, 1.0, "pass"),
        (10, 29.9, 3, 0.99667, "fail"),
        (0, 5, 2, inf, "pass"),
        (1, 0, 1, 0.0, "fail"),
    ],
)
def test_margin_and_verdict(demand, capacity, factor, margin, verdict):
    found = check(demand, capacity, factor)
    assert found.margin == pytest.approx(margin, rel=1e-4)
    assert found.verdict == verdict


@pytest.mark.parametrize(("demand", "capacity"), [(nan, 1.0), (inf, 1.0), (1.0, nan)])
def test_what_is_not_a_number_is_not_computed_and_never_a_pass(demand, capacity):
    found = check(demand, capacity)
    assert found.verdict == "not computed"
    assert found.margin is None
    assert found.reason


def test_ranking_leaves_out_what_was_not_computed():
    missing = not_computed("member", "bending", "rod", "no strength")
    assert [c.capacity for c in ranked([check(1, 5), missing, check(1, 2)])] == [2, 5]
    assert worst([missing]) == inf


def test_exit_codes():
    missing = not_computed("fastener", "bolt", "wrist", "nothing said")
    look = warning("reach", "gap", "arm", "closes")
    assert exit_code([check(1, 5), look]) == 0
    assert exit_code([check(1, 5), missing]) == 3
    assert exit_code([check(5, 1), missing]) == 1


def test_suggestion_is_the_first_that_is_enough():
    failing = replace(check(5, 1), remedies=(Remedy("a", 0.9), Remedy("b", 1.1), Remedy("c", 3.0)))
    assert suggest(failing).change == "b"
    assert suggest(check(5, 1)) is None
