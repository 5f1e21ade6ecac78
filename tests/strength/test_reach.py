"""Gaps, lever force and energy."""

import numpy as np
import pytest

from simprop.geometry.convex import segment_gap
from simprop.rules import reach


def test_gaps_of_iso_13854():
    """ISO 13854: body 500, head 300, leg 180, foot 120, toes 50, arm 120, hand 100, finger 25 mm."""
    expected = {
        "body": 500,
        "head": 300,
        "leg": 180,
        "foot": 120,
        "toes": 50,
        "arm": 120,
        "hand": 100,
        "finger": 25,
    }
    assert {k: round(v * 1e3) for k, v in reach.CRUSH_GAPS.items()} == expected


def test_only_what_fits_in_is_crushed():
    assert reach.crushed(0.0, 0.024) == ()
    assert reach.crushed(0.026, 0.09) == ("toes",)
    assert reach.crushed(0.120, 0.119) == ()
    assert "head" in reach.crushed(0.2, 0.4)


def test_segment_gap_against_a_search():
    rng = np.random.default_rng(5)
    a0, a1, b0, b1 = rng.normal(size=(4, 40, 3))
    found = segment_gap(a0, a1, b0, b1)
    s = np.linspace(0, 1, 201)[:, None]
    for k in range(40):
        p = a0[k] + s * (a1[k] - a0[k])
        q = b0[k] + s * (b1[k] - b0[k])
        least = np.linalg.norm(p[:, None] - q[None], axis=2).min()
        assert found[k] <= least + 1e-12
        assert found[k] == pytest.approx(least, abs=0.02)


def test_segment_gap_of_points_and_parallels():
    point = np.array([[0.0, 0.0, 1.0]])
    line = np.array([[-1.0, 0.0, 0.0]]), np.array([[1.0, 0.0, 0.0]])
    assert segment_gap(point, point, *line) == pytest.approx([1.0])
    assert segment_gap(*line, point, point) == pytest.approx([1.0])
    assert segment_gap(point, point, point + 2, point + 2) == pytest.approx([np.sqrt(12)])
    far = line[0] + [3.0, 0.0, 0.0], line[1] + [3.0, 0.0, 0.0]
    assert segment_gap(*line, *far) == pytest.approx([1.0])


def test_lever_force_of_an_arm_is_torque_over_radius():
    """Virtual work: a point on a radius r moves at r w."""
    rate = np.full(10, 3.0)
    assert reach.lever_force(6.0, rate, 0.4 * rate) == pytest.approx(15.0)
    assert reach.lever_force(6.0, rate, np.zeros(10)) is None


def test_energy_of_a_rod_turning_about_its_end():
    """m L^2 w^2 / 6."""
    mass, length, w = 1.2, 0.8, 4.0
    inertia = np.diag([0.0, mass * length**2 / 12, mass * length**2 / 12])
    found = reach.kinetic_energy(
        mass, inertia, np.array([[0.0, w * length / 2, 0.0]]), np.array([[0.0, 0.0, w]])
    )
    assert found == pytest.approx([mass * length**2 * w**2 / 6])
