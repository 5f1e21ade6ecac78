"""Friction that goes with the load, against statics."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.catalog.friction import surfaces
from simprop.catalog.load import table
from simprop.errors import UnknownNameError
from simprop.laws.friction import (
    CREEP,
    coefficient,
    end_reactions,
    pin_torque,
    slide_force,
)


def test_pin_of_6_mm_under_80_n() -> None:
    """0.084 N*m at mu 0.35 (mu F r)."""
    assert pin_torque(0.35, 80.0, 0.003) == pytest.approx(0.084)


def test_end_reactions_balance_force_and_moment() -> None:
    """Two forces at the ends of the guide, added up again."""
    rng = np.random.default_rng(3)
    for _ in range(20):
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        force, moment, length = rng.normal(size=3), rng.normal(size=3), 0.2
        side = force - axis * (force @ axis)
        twist = np.cross(axis, moment) / length
        # On the guide at -b/2 and +b/2: sum is the side force, moment about the middle the tilting part.
        one, two = side / 2 + twist, side / 2 - twist
        arm = axis * length / 2
        assert one + two == pytest.approx(side)
        tilting = moment - axis * (moment @ axis)
        assert np.cross(-arm, one) + np.cross(arm, two) == pytest.approx(tilting)
        ends = end_reactions(tuple(force), tuple(moment), tuple(axis), length)
        assert sorted(ends) == pytest.approx(sorted([np.linalg.norm(one), np.linalg.norm(two)]))


def test_drawer_locks_where_friction_meets_the_push() -> None:
    push, offset, length = 7.0, 0.09, 0.05
    ends = end_reactions((push, 0.0, 0.0), (0.0, push * offset, 0.0), (1.0, 0.0, 0.0), length)
    assert slide_force(length / (2 * offset), ends) == pytest.approx(push)


def test_coefficient_falls_from_rest_to_sliding() -> None:
    assert coefficient(0.5, 0.3, 0.0) == 0.5
    assert coefficient(0.5, 0.3, 10 * CREEP) == pytest.approx(0.3)
    assert coefficient(0.5, 0.3, -CREEP) == pytest.approx(0.3 + 0.2 * np.exp(-1))


def test_every_pair_reads_both_ways_and_says_its_source() -> None:
    for name in table("friction"):
        found = surfaces(name)
        assert found.source
        assert 0 < found.kinetic < 1.5
        one, on, two = name.removeprefix("greased ").partition(" on ")
        if on:
            turned = ("greased " if name.startswith("greased") else "") + f"{two} on {one}"
            assert surfaces(turned).kinetic == found.kinetic
    with pytest.raises(UnknownNameError):
        surfaces("steel on cheese")
