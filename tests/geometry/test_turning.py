"""Rotations against scipy's, which the package itself doesn't load."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from simprop.geometry.turning import matrices, matrix_about, of_matrix, of_vector, to_vector

TURNS = [
    *np.random.default_rng(3).normal(size=(40, 3)),
    np.zeros(3),
    np.array([1e-12, 0.0, 0.0]),
    np.array([0.0, np.pi, 0.0]),
    np.array([np.pi - 1e-9, 0.0, 1e-9]),
    np.array([0.0, 0.0, -3.0]),
]


@pytest.mark.parametrize("vector", TURNS)
def test_a_rotation_vector_as_matrix_quaternion_and_back(vector: np.ndarray) -> None:
    turn = Rotation.from_rotvec(vector)
    assert matrix_about(vector) == pytest.approx(turn.as_matrix(), abs=1e-15)
    assert matrices(of_vector(vector)) == pytest.approx(turn.as_matrix(), abs=1e-15)
    assert matrices(of_matrix(turn.as_matrix())) == pytest.approx(turn.as_matrix(), abs=1e-15)
    assert Rotation.from_rotvec(to_vector(of_matrix(turn.as_matrix()))).as_matrix() == pytest.approx(
        turn.as_matrix(), abs=1e-12
    )


def test_many_matrices_at_once() -> None:
    turns = Rotation.random(200, random_state=5).as_matrix()
    one_by_one = np.array([of_matrix(turn) for turn in turns])
    assert np.array_equal(of_matrix(turns), one_by_one)
