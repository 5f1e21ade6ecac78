"""Explicit dry friction slows and stops, and never turns a motion round."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simprop.laws.friction import coulomb


@given(st.floats(0.0, 100.0), st.floats(-100.0, 100.0), st.floats(1e-6, 0.01), st.floats(1e-6, 10.0))
def test_never_reverses(limit: float, rate: float, step: float, mass: float) -> None:
    after = rate + step * coulomb(limit, rate, step, mass) / mass
    assert after * rate >= -1e-9
    assert abs(after) <= abs(rate)


def test_block_slides_to_rest() -> None:
    # v^2 / (2 mu g) and v / (mu g) for 2 m/s, mu = 0.3, g = 9.81 m/s^2: 0.67958 m in 0.67958 s (elementary mechanics).
    place, speed, time, step = 0.0, 2.0, 0.0, 1e-4
    while speed > 0.0:
        speed += step * coulomb(0.3 * 9.81 * 0.5, speed, step, 0.5) / 0.5
        place += step * speed
        time += step
    assert place == pytest.approx(0.67957866, rel=1e-3)
    assert time == pytest.approx(0.67957866, rel=1e-3)
