"""Every validation case on every engine that runs it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.validation.cases import CASES, IMPLICIT
from tests.validation.harness import ENGINES, Case, run
from tests.validation.linkages import lift_torque
from tests.validation.table import BEGIN, END

pytest.importorskip("mujoco")
RUNS = [pytest.param(case, engine, id=f"{engine}-{case.name}") for case in CASES for engine in case.step]


@pytest.mark.parametrize(("case", "engine"), RUNS)
def test_case(case: Case, engine: str) -> None:
    if engine == "bullet":
        pytest.importorskip("pybullet")
    if engine == "exudyn":
        pytest.importorskip("exudyn")
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


def test_lifting_formula_gives_the_textbook_torques() -> None:
    """In-line slider-crank 50/200 mm under 5 kg, massless links."""
    assert lift_torque(60) == pytest.approx(2.395868327834)
    assert lift_torque(90) == pytest.approx(2.4525)
    assert lift_torque(76.72097680962) == pytest.approx(2.528239818099)


def test_developers_page_lists_every_case() -> None:
    """``python -m tests.validation.table DEVELOPERS.md`` makes the table anew."""
    page = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text()
    table = page.partition(BEGIN)[2].partition(END)[0]
    for case in CASES:
        for quantity in case.quantities:
            assert f"| {case.name} | {quantity.name}, {quantity.unit} |" in table, (case.name, quantity.name)
        assert f"- **{case.name}**" in table, case.name


def test_cases_of_the_implicit_engine_exist() -> None:
    assert set(IMPLICIT) <= {case.name for case in CASES}


def test_names_differ() -> None:
    assert len({case.name for case in CASES}) == len(CASES)
