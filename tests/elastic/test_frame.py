"""Frames of beams against closed forms of beam theory (Roark's Formulas for Stress and Strain, cases of straight beams;
Timoshenko, Strength of Materials: both from memory)."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from simprop.elastic.frame import Beam, answer, field_of

EI, GJ, EA = 123.0, 77.0, 1e7


def _bar(start: list[float], end: list[float], wide: list[float], mass: float = 0.0) -> Beam:
    return Beam(np.array(start), np.array(end), EA, (EI, 3 * EI), GJ, np.array(wide), mass)


def _least(c: np.ndarray, known: np.ndarray, free: np.ndarray) -> np.ndarray:
    """Loads with the least energy among `known` plus any sum of the columns of `free`."""
    return known - free @ np.linalg.solve(free.T @ c @ free, free.T @ c @ known)


@pytest.mark.parametrize(("way", "rate"), [([0.0, 0, 1], EI), ([0.0, 1, 0], 3 * EI)])
def test_cantilever_by_energy(way: list[float], rate: float) -> None:
    bar = _bar([0, 0, 0], [0.8, 0, 0], [0, 1, 0])
    q = np.zeros(24)
    q[6:9] = way
    q[:3], q[3:6] = -q[6:9], -np.cross([0.8, 0, 0], way)
    energy = q @ answer([bar], np.array([[0.0, 0, 0], [0.8, 0, 0]])).matrix @ q
    assert_allclose(energy, 0.8**3 / (3 * rate), rtol=1e-6)


def test_twist_and_stretch() -> None:
    bar = _bar([0, 0, 0], [0, 0, 0.5], [1, 0, 0])
    c = answer([bar], np.array([[0.0, 0, 0], [0, 0, 0.5]])).matrix
    q = np.zeros(24)
    q[5], q[11] = -1, 1
    assert_allclose(q @ c @ q, 0.5 / GJ, rtol=1e-6)
    q[:] = 0
    q[2], q[8] = -1, 1
    assert_allclose(q @ c @ q, 0.5 / EA, rtol=1e-6)


def test_corner_carries_twist_and_bending() -> None:
    """An L in plan, built in at one end, pushed at the other: L1^3/3EI + L2^3/3EI + L2^2 L1/GJ."""
    one, two = _bar([0, 0, 0], [0.6, 0, 0], [0, 1, 0]), _bar([0.6, 0, 0], [0.6, 0.4, 0], [1, 0, 0])
    places = np.array([[0.0, 0, 0], [0.6, 0.4, 0]])
    q = np.zeros(24)
    q[6:9] = [0, 0, 1]
    q[:3], q[3:6] = [0, 0, -1], -np.cross(places[1], [0, 0, 1])
    energy = q @ answer([one, two], places).matrix @ q
    assert_allclose(energy, 0.6**3 / (3 * EI) + 0.4**3 / (3 * EI) + 0.4**2 * 0.6 / GJ, rtol=1e-6)


def test_weight_of_a_beam_on_three_supports() -> None:
    """Ends 3/16 each, middle 10/16 of the weight."""
    bar = _bar([0, 0, 0], [1.2, 0, 0], [0, 1, 0], mass=2.0)
    places = np.array([[0.0, 0, 0], [0.6, 0, 0], [1.2, 0, 0]])
    q = np.zeros(30)
    q[18:] = field_of(np.array([0, 0, -10.0]), np.zeros((1, 3)), np.zeros((1, 3)), np.zeros((1, 3)))[0]
    q[2], q[14] = 10.0, 10.0
    free = np.zeros((30, 1))
    free[[2, 8, 14], 0] = [-0.5, 1.0, -0.5]
    got = _least(answer([bar], places).matrix, q, free)[[2, 8, 14]]
    assert_allclose(got, [20 * 3 / 16, 20 * 10 / 16, 20 * 3 / 16], rtol=1e-6)


def test_propped_cantilever_under_its_weight() -> None:
    """The prop takes 3/8 of the weight."""
    bar = _bar([0, 0, 0], [1.0, 0, 0], [0, 1, 0], mass=1.0)
    places = np.array([[0.0, 0, 0], [1.0, 0, 0]])
    q = np.zeros(24)
    q[12:15] = [0, 0, -8.0]
    q[2], q[4] = 8.0, -4.0
    free = np.zeros((24, 1))
    free[[2, 4, 8], 0] = [-1.0, 1.0, 1.0]
    got = _least(answer([bar], places).matrix, q, free)
    assert_allclose(got[8], 3.0, rtol=1e-6)


def test_a_turning_beam_pulls_evenly_on_its_two_halves() -> None:
    """A rod that turns about one end, held along its line at both: the inner end takes a third of m w^2 L / 2."""
    length, mass, w = 2.0, 3.0, 5.0
    bar = _bar([0, 0, 0], [length, 0, 0], [0, 1, 0], mass=mass)
    places = np.array([[0.0, 0, 0], [length, 0, 0]])
    q, free = np.zeros(24), np.zeros((24, 1))
    q[12:] = field_of(np.zeros(3), np.zeros((1, 3)), np.array([[0, 0, w]]), np.zeros((1, 3)))[0]
    q[0], free[[0, 6], 0] = -mass * w**2 * length / 2, [1, -1]
    got = _least(answer([bar], places).matrix, q, free)
    # stretch of both halves: int (N0 - m w^2 x^2 / 2L) dx = 0 gives N0 = m w^2 L / 6
    assert_allclose(got[0], -mass * w**2 * length / 6, rtol=1e-6)


def test_only_loads_in_balance_strain_a_body() -> None:
    bar = _bar([0, 0, 0], [1, 0, 0], [0, 1, 0])
    places = np.array([[0.3, 0.1, 0.0], [0.9, 0.0, 0.2]])
    c = answer([bar], places).matrix
    assert np.all(np.linalg.eigvalsh(c) > -1e-12)
    q = np.zeros(24)
    q[:3] = [0, 0, 1.0]
    whole = np.zeros(24)
    whole[:3] = [0, 0, 1.0]
    assert_allclose(q @ c @ q, whole @ c @ whole)
    assert answer([], places).matrix.max() == 0.0
