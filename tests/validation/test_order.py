"""Halving the step cuts the errors of places and loads at each engine's stated order: four on mujoco, two on bullet."""

from __future__ import annotations

from math import log2

import numpy as np
import pytest

from tests.rigs import fourbar
from tests.validation.harness import Outcome, run_text
from tests.validation.pendulums import A01

ENGINES = {
    # order, how far a measured one may lie from it, steps of the four-bar, time to compare, its angle and force in O2
    "mujoco": (4, 0.5, (1e-3, 5e-4), (0.35, 611.4123471356, 58.56019731734)),
    "bullet": (2, 0.1, (5e-4, 2.5e-4), (0.2, 139.8889888728, 1.559623848085)),
}


def orders(coarse: list[float], fine: list[float]) -> list[float]:
    return [log2(abs(a) / abs(b)) for a, b in zip(coarse, fine, strict=True)]


@pytest.mark.parametrize("engine", ENGINES)
def test_four_bar_angle_and_pin_force(engine: str) -> None:
    """The four-bar 40/120/80/100 under 0.05 N*m; the reference agrees between four methods to 1e-8."""
    pytest.importorskip({"mujoco": "mujoco", "bullet": "pybullet"}[engine])
    order, slack, steps, (time, angle, force) = ENGINES[engine]

    def errors(out: Outcome) -> list[float]:
        turned = 40 + np.degrees(float(out.at(time, out.coordinate("O2"))))
        return [turned - angle, float(out.at(time, out.size("O2"))) - force]

    measured = orders(*(errors(run_text(fourbar(run="for: 0.4 s"), engine, step)) for step in steps))
    assert measured == pytest.approx([order, order], abs=slack)


@pytest.mark.parametrize(("engine", "steps"), [("mujoco", (8e-3, 4e-3)), ("bullet", (1e-3, 5e-4))])
def test_pendulum_place(engine: str, steps: tuple[float, float]) -> None:
    """A01 at 5 s against elliptic functions."""
    pytest.importorskip({"mujoco": "mujoco", "bullet": "pybullet"}[engine])
    order, slack, *_ = ENGINES[engine]
    coarse, fine = ([A01.quantities[1].ours(run_text(A01.text, engine, step))] for step in steps)
    assert orders(coarse, fine) == pytest.approx([order], abs=slack)
