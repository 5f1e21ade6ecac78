"""Laws of contact against theory worked out another way."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simprop.catalog.load import material
from simprop.laws import contact
from tests.touch.closed_forms import bounce_force, restitution, touch_time


def test_ball_chord_lies_on_the_curve_of_hertz() -> None:
    """F = 4/3 E* sqrt(R) d^(3/2) (Johnson, Contact Mechanics)."""
    for load in (0.5, 20.0, 300.0):
        depth = load / contact.ball_stiffness(2e9, 0.03, load)
        assert 4 / 3 * 2e9 * np.sqrt(0.03) * depth**1.5 == pytest.approx(load, rel=1e-12)


def test_steel_on_steel_as_in_tables() -> None:
    """E* of two steel bodies is 110 GPa (E 200 GPa, nu 0.3)."""
    plane = contact.plane_modulus(200e9, 0.3)
    assert contact.joint_modulus(plane, plane) / 1e9 == pytest.approx(109.9, abs=0.05)


@pytest.mark.parametrize("loss", [0.0, 0.05, 0.2, 0.45, 0.6, 0.9])
def test_damped_bounce_against_its_equation(loss: float) -> None:
    """Restitution, time of touch and largest force without weight."""
    mass, stiffness, speed = 0.3, 2e4, 0.7
    damping = contact.damping(stiffness, loss, mass)
    frequency = np.sqrt(stiffness / mass)

    def force(state: np.ndarray) -> float:
        return stiffness * state[0] + damping * state[1]

    def slope(_: float, state: np.ndarray) -> list[float]:
        return [state[1], -force(state) / mass]

    def ends(_: float, state: np.ndarray) -> float:
        return force(state) if state[1] < 0 else 1.0

    ends.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        slope, (0, 10 / frequency), [0.0, speed], events=ends, rtol=1e-11, atol=1e-14, max_step=1e-5
    )
    assert -found.y[1, -1] / speed == pytest.approx(restitution(loss), rel=1e-4)
    assert found.t[-1] == pytest.approx(touch_time(loss, frequency), rel=1e-4)
    largest = max(force(s) for s in found.y.T)
    assert largest == pytest.approx(bounce_force(stiffness, loss, mass, speed), rel=1e-5)


def test_loss_by_material() -> None:
    found = [contact.loss_of(material(name)) for name in ("rubber", "plywood", "PVC", "steel", "aluminium")]
    assert found == [0.15, 0.10, 0.08, 0.03, 0.03]
