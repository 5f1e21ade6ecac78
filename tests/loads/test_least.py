"""Least-squares solutions against numpy's, and the order of bodies against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import reverse_cuthill_mckee

from simprop.loads.least import Blocks, _order, dense, least


def _random(seed: int) -> Blocks:
    """A tree of bodies with a few loops, each joint with five unknowns."""
    rng = np.random.default_rng(seed)
    bodies = int(rng.integers(2, 30))
    tree = [(int(rng.integers(max(-1, k - 3), k)), k) for k in range(bodies)]
    loops = [tuple(sorted(rng.choice(bodies, 2, replace=False))) for _ in range(int(rng.integers(0, 5)))]
    pairs = np.array([*tree, *loops])
    rows = np.where(pairs >= 0, 6 * pairs, -1)
    data = rng.normal(size=(3, len(rows), 12, 6))
    return Blocks(data, rows, np.full(len(rows), 5), 6 * bodies)


@pytest.mark.parametrize("seed", range(20))
def test_the_solution_of_least_norm(seed: int) -> None:
    blocks = _random(seed)
    matrices = dense(blocks)
    some = np.random.default_rng(seed).normal(size=(3, matrices.shape[2]))
    right = np.einsum("nij,nj->ni", matrices, some)
    found, rest, _ = least(blocks, right)
    for step, matrix in enumerate(matrices):
        want = np.linalg.lstsq(matrix, right[step], rcond=None)[0]
        assert found[step] == pytest.approx(want, abs=1e-6 * np.abs(want).max())
        assert rest[step] == pytest.approx(0.0, abs=1e-8 * np.abs(right[step]).max())


@pytest.mark.parametrize("seed", range(6))
def test_directions_left_open(seed: int) -> None:
    """As many as columns less rank, square to each other; where one more is asked for, it is 0."""
    blocks = _random(seed)
    blocks = Blocks(
        np.concatenate([blocks.data, blocks.data], axis=1),
        np.tile(blocks.rows, (2, 1)),
        np.tile(blocks.counts, 2),
        blocks.height,
    )
    for step, matrix in enumerate(dense(blocks)):
        count = matrix.shape[1] - int(np.linalg.matrix_rank(matrix, 1e-9))
        free = least(blocks, np.zeros((3, blocks.height)), count + 1)[2][step]
        assert free.T @ free == pytest.approx(np.diag([*np.ones(count), 0.0]), abs=1e-7)
        assert matrix @ free == pytest.approx(0.0, abs=1e-7 * np.abs(matrix).max())


def test_bands_are_as_narrow_as_scipys() -> None:
    ours, theirs = [], []
    for seed in range(100):
        blocks = _random(seed)
        pairs = blocks.rows[(blocks.rows >= 0).all(axis=1)] // 6
        bodies = blocks.height // 6
        both = (pairs.ravel(), pairs[:, ::-1].ravel())
        order = reverse_cuthill_mckee(csr_matrix((np.ones(2 * len(pairs)), both), (bodies, bodies)), True)
        place = np.empty(bodies, dtype=int)
        place[order] = np.arange(bodies)
        theirs.append(6 * int(np.abs(place[pairs[:, 0]] - place[pairs[:, 1]]).max(initial=0)) + 6)
        found, width = _order(blocks)
        assert sorted(found) == list(range(bodies))
        ours.append(width)
    assert np.mean(ours) <= 1.05 * np.mean(theirs)
