"""Springs: sides, slack, preload, damping, and that they lose no more energy than their damping takes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simprop.laws.springs import GIVE, Compression, Extension, Torsion, TwoWay


def test_extension() -> None:
    law = Extension(rate=200.0, free_length=0.1, preload=5.0, slack=0.01)
    assert law.tension(0.1099, 0.0) == 0.0
    assert law.tension(0.15, 0.0) == pytest.approx(200.0 * 0.04 + 5.0)


def test_compression_is_the_mirror_image() -> None:
    pull = Extension(200.0, 0.1, preload=5.0, slack=0.01, damping=3.0)
    push = Compression(200.0, 0.1, preload=5.0, slack=0.01, damping=3.0)
    for stretch in np.linspace(-0.08, 0.08, 33):
        for rate in (-0.5, 0.0, 0.5):
            mirrored = -push.tension(0.1 - stretch, -rate)
            assert pull.tension(0.1 + stretch, rate) == pytest.approx(mirrored, abs=1e-12)


def test_two_way_has_play_to_both_sides() -> None:
    law = TwoWay(100.0, 0.2, slack=0.01)
    assert [law.tension(0.2 + s, 0.0) for s in (-0.03, -0.01, 0.0, 0.01, 0.03)] == pytest.approx(
        [-2.0, 0.0, 0.0, 0.0, 2.0], abs=1e-12
    )


@given(st.floats(0.0, 0.5), st.floats(-5.0, 5.0))
def test_one_sided_springs_keep_their_side(length: float, rate: float) -> None:
    assert Extension(200.0, 0.1, 5.0, damping=50.0).tension(length, rate) >= 0.0
    assert Compression(200.0, 0.1, 5.0, damping=50.0).tension(length, rate) <= 0.0


def test_preload_comes_in_without_a_jump() -> None:
    law = Extension(200.0, 0.1, preload=5.0)
    stretch = np.linspace(0.0, 0.003, 3001)
    pulls = np.array([law.tension(0.1 + s, 0.0) for s in stretch])
    assert np.diff(pulls).max() < 2.0 * (5.0 / (GIVE * 0.1) + 200.0) * 1e-6


def test_torsion_as_the_rig_states_it() -> None:
    law = Torsion(rate=0.5, free_angle=0.2, preload=0.1, slack=0.05, damping=0.02)
    assert law.torque(0.2, 1.0) == -0.1
    assert law.torque(0.6, 1.0) == pytest.approx(-0.5 * 0.35 - 0.1 - 0.02)
    assert law.torque(-0.2, 0.0) == pytest.approx(0.5 * 0.35 - 0.1)
