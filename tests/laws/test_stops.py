"""End stops and the assumed pads behind them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simprop.errors import UnknownNameError
from simprop.laws.stops import PADS, StopLaw, force, pad_pin, pad_slide

LAW = StopLaw(below=-0.1, above=0.2, stiffness=1000.0, damping=20.0)


@given(st.floats(-0.5, 0.5), st.floats(-5.0, 5.0))
def test_only_pushes_back_into_the_free_range(q: float, rate: float) -> None:
    value = force(LAW, q, rate)
    if q > 0.2:
        assert value <= 0.0
    elif q < -0.1:
        assert value >= 0.0
    else:
        assert value == 0.0


def test_spring_and_damper_in_contact() -> None:
    assert force(LAW, 0.21, 0.1) == pytest.approx(-1000.0 * 0.01 - 2.0)
    assert force(LAW, -0.11, -0.1) == pytest.approx(1000.0 * 0.01 + 2.0)


def test_open_sides() -> None:
    assert force(StopLaw(None, 0.1, 1.0, 0.0), -9.0, 0.0) == 0.0
    assert force(StopLaw(-0.1, None, 1.0, 0.0), 9.0, 0.0) == 0.0


def test_pads() -> None:
    # k = E A / t by hand: 4 MPa * 1 cm^2 / 10 mm = 40 N/mm.
    assert pad_slide("rubber", 1.0)[0] == pytest.approx(4e4)
    assert pad_pin("rubber", 0.1, 1.0)[0] == pytest.approx(400.0)
    stiff = [pad_slide(name, 1.0)[0] for name in ("rubber", "wood", "plastic", "steel")]
    assert stiff == sorted(stiff)
    for name, pad in PADS.items():
        k, c = pad_slide(name, 0.7)
        assert c / (2.0 * (k * 0.7) ** 0.5) == pytest.approx(pad.loss)


def test_unknown_pad() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'rubber'"):
        pad_slide("ruber", 1.0)
