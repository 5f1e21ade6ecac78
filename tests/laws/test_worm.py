"""Worm gears."""

from math import cos, radians, tan

import pytest

from simprop.errors import SimpropError
from simprop.laws.worm import backward_from_forward


def test_rule_from_forward_efficiency_holds_at_small_lead_angles():
    # J. E. Shigley, Mechanical Engineering Design, worm gearing (from memory): pressure angle 14.5 deg, friction 0.02
    pressed, lead, mu = cos(radians(14.5)), tan(radians(3)), 0.02
    forward = (pressed - mu * lead) / (pressed + mu / lead)
    backward = (pressed - mu / lead) / (pressed + mu * lead)
    assert backward_from_forward(forward) == pytest.approx(backward, abs=0.01)


def test_nonsense_is_refused():
    with pytest.raises(SimpropError):
        backward_from_forward(1.2)
