"""Every validation case on every engine that runs it."""

from __future__ import annotations

import pytest

from tests.validation.cases import CASES
from tests.validation.harness import ENGINES, Case, run

pytest.importorskip("mujoco")
RUNS = [pytest.param(case, engine, id=f"{engine}-{case.name}") for case in CASES for engine in case.step]


@pytest.mark.parametrize(("case", "engine"), RUNS)
def test_case(case: Case, engine: str) -> None:
    if engine == "bullet":
        pytest.importorskip("pybullet")
    outcome = run(case, engine)
    for quantity in case.quantities:
        if engine in quantity.tolerance:
            error = quantity.error(outcome)
            assert error <= quantity.tolerance[engine], (
                f"{quantity.name}: {quantity.ours(outcome):.8g} {quantity.unit}, reference {quantity.reference:.8g}"
            )


def test_every_case_names_its_source_and_argues_its_tolerances() -> None:
    for case in CASES:
        assert case.source, case.name
        assert case.why, case.name
        assert case.quantities, case.name
        assert set(case.step) <= set(ENGINES), case.name


def test_names_differ() -> None:
    assert len({case.name for case in CASES}) == len(CASES)
