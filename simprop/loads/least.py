"""Least-squares solutions of least norm of many small sparse systems: the balance equations of every step.

Each column block of the matrix (the unknown components of one joint) touches the rows of at most two bodies. The
equations are solved by the normal equations of the second kind, A A' y = b, x = A' y, with a vanishing damping and one
refinement: as exact as a singular value decomposition here (to 1e-9 of the largest entry). With the bodies in a good
order A A' is a narrow band, so that the cost of a step grows in proportion to the number of bodies.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.compiled import compiled
from simprop.geometry.arrays import Array

DAMPING = 1e-11
_summed = partial(compiled, fastmath={"reassoc", "contract", "arcp", "nsz"})
WIDE = 6
"""Most columns of a block."""


@dataclass(frozen=True)
class Blocks:
    """Column blocks of many matrices of one pattern.

    Attributes:
        data: entries of the (up to) two bodies of each block, (n, blocks, 12, 6): six rows of the one, then six of
            the other.
        rows: first row of each of the two bodies, (blocks, 2); -1 for a body that stands still.
        counts: columns of each block, (blocks,).
        height: rows of the whole matrix.
    """

    data: Array
    rows: NDArray[np.int64]
    counts: NDArray[np.int64]
    height: int


def dense(blocks: Blocks) -> Array:
    """The matrices written out, (n, rows, columns)."""
    result = np.zeros((len(blocks.data), blocks.height, int(blocks.counts.sum())))
    column = 0
    for k, count in enumerate(blocks.counts):
        for half, row in enumerate(blocks.rows[k]):
            if row >= 0:
                result[:, row : row + 6, column : column + count] = blocks.data[
                    :, k, 6 * half : 6 * half + 6, :count
                ]
        column += count
    return result


def least(blocks: Blocks, right: Array, count: int = 0) -> tuple[Array, Array, Array]:
    """Least-squares solution of least norm of each system, what is left over, and what the system leaves open.

    Args:
        right: right-hand sides, (n, rows).
        count: how many directions the systems usually leave open.

    Returns:
        Solutions, (n, columns); remainders, (n, rows); directions that a matrix makes nothing of, square to each other
        and of length 1, (n, columns, count): zeros where a system has fewer.

    Source: normal equations of the second kind, any text on numerical linear algebra.

    Example:
        >>> data = np.zeros((1, 1, 12, 6))
        >>> data[0, 0, :6, :] = np.eye(6)
        >>> one = Blocks(data, np.array([[0, -1]]), np.array([6]), 6)
        >>> x, rest, _ = least(one, np.arange(6.0)[None, :])
        >>> [round(float(v), 6) for v in x[0]], float(abs(rest).max()) < 1e-9
        ([0.0, 1.0, 2.0, 3.0, 4.0, 5.0], True)
    """
    columns = int(blocks.counts.sum())
    if not blocks.height or not columns:
        return np.zeros((len(right), columns)), right.copy(), np.zeros((len(right), columns, count))
    place, width = _order(blocks)
    rows = np.where(blocks.rows >= 0, place[np.maximum(blocks.rows, 0) // 6] * 6, -1)
    start = np.concatenate([[0], np.cumsum(blocks.counts)])[:-1]
    spread = (6 * place[:, None] + np.arange(6)).ravel()
    b = np.empty_like(right)
    b[:, spread] = right
    tried = np.random.default_rng(0).standard_normal((count, columns))
    layout = (rows, blocks.counts, start)
    x, rest, open_ = _solve(np.ascontiguousarray(blocks.data), *layout, b, tried, width)
    return x, rest[:, spread], open_


def _order(blocks: Blocks) -> tuple[NDArray[np.int64], int]:
    """Place of each body in a narrow order, and the band's width in rows.

    Source: E. Cuthill and J. McKee, Reducing the bandwidth of sparse symmetric matrices, Proc. 24th ACM National
    Conference (1969) 157; the places needn't be turned round here, as the width is the same.
    """
    bodies = blocks.height // 6
    pairs = blocks.rows[(blocks.rows >= 0).all(axis=1)] // 6
    beside: list[set[int]] = [set() for _ in range(bodies)]
    for one, other in pairs.tolist():
        beside[one].add(other)
        beside[other].add(one)
    order: dict[int, None] = {}
    for start in sorted(range(bodies), key=lambda k: len(beside[k])):
        found = [start] if start not in order else []
        while found:
            order |= dict.fromkeys(found)
            ahead = (k for body in found for k in sorted(beside[body], key=lambda k: len(beside[k])))
            found = list(dict.fromkeys(k for k in ahead if k not in order))
    place = np.empty(bodies, dtype=np.int64)
    place[list(order)] = np.arange(bodies)
    apart = int(np.abs(place[pairs[:, 0]] - place[pairs[:, 1]]).max(initial=0))
    return place, 6 * apart + 6


@_summed
def _solve(data: Any, rows: Any, counts: Any, start: Any, b: Any, tried: Any, width: int) -> Any:
    n, height = b.shape
    count, columns = tried.shape
    x_all, rest_all, open_all = np.zeros((n, columns)), np.empty((n, height)), np.zeros((n, columns, count))
    directions, made = np.empty((count, columns)), np.empty(height)
    band = np.empty((height, width))
    y = np.empty(height)
    for step in range(n):
        _gram(data[step], rows, counts, band)
        trace = 0.0
        for i in range(height):
            trace += band[i, width - 1]
        damping = DAMPING * trace / height
        for i in range(height):
            band[i, width - 1] += damping
        _factor(band)
        x, rest = x_all[step], rest_all[step]
        rest[:] = b[step]
        for _ in range(2):
            y[:] = rest
            _back(band, y)
            _apply(data[step], rows, counts, start, y, x, rest)
        for s in range(count):
            # What is left of any vector when all that the matrix answers to is taken from it.
            v = directions[s]
            v[:] = tried[s]
            for _ in range(2):
                _make(data[step], rows, counts, start, v, made)
                y[:] = -made
                _back(band, y)
                _apply(data[step], rows, counts, start, y, v, made)
        _square_up(directions)
        for s in range(count):
            for c in range(columns):
                open_all[step, c, s] = directions[s, c]
    return x_all, rest_all, open_all


@_summed
def _square_up(directions: Any) -> None:
    """Make vectors square to each other and of length 1; what depends on those before it becomes 0."""
    most = 0.0
    for s in range(len(directions)):
        most = max(most, np.sqrt(np.sum(directions[s] ** 2)))
        for _ in range(2):
            for t in range(s):
                directions[s] -= np.sum(directions[s] * directions[t]) * directions[t]
        size = np.sqrt(np.sum(directions[s] ** 2))
        directions[s] *= 1.0 / size if size > 1e-6 * most else 0.0


@_summed
def _make(data: Any, rows: Any, counts: Any, start: Any, x: Any, made: Any) -> None:
    """A x."""
    made[:] = 0.0
    for k in range(len(counts)):
        for half in range(2):
            if rows[k, half] >= 0:
                for p in range(6):
                    for c in range(counts[k]):
                        made[rows[k, half] + p] += data[k, 6 * half + p, c] * x[start[k] + c]


@_summed
def _gram(data: Any, rows: Any, counts: Any, band: Any) -> None:
    """A A' as a lower band: entry (i, j) stands at band[i, width - 1 - (i - j)]."""
    band[:] = 0.0
    width = band.shape[1]
    for k in range(len(counts)):
        for one in range(2):
            for two in range(2):
                start, other = rows[k, one], rows[k, two]
                if other < 0 or start < other:  # the lower half alone
                    continue
                for p in range(6):
                    at = width - 1 - (start + p - other)
                    for q in range(p + 1 if one == two else 6):
                        total = 0.0
                        for c in range(counts[k]):
                            total += data[k, 6 * one + p, c] * data[k, 6 * two + q, c]
                        band[start + p, at + q] += total


@_summed
def _factor(band: Any) -> None:
    """Cholesky factor of a band, in place, with the inverse of each pivot."""
    height, width = band.shape
    column = np.empty(width)
    for j in range(height):
        last = min(height, j + width)
        pivot = 1.0 / np.sqrt(max(band[j, width - 1], 1e-300))
        band[j, width - 1] = pivot
        for i in range(j + 1, last):
            column[i - j] = band[i, width - 1 - (i - j)] * pivot
            band[i, width - 1 - (i - j)] = column[i - j]
        for i in range(j + 1, last):
            scale, at = column[i - j], width - 1 - i
            for k in range(j + 1, i + 1):
                band[i, at + k] -= scale * column[k - j]


@_summed
def _back(band: Any, y: Any) -> None:
    """Solve with the factor, in place."""
    height, width = band.shape
    for i in range(height):
        total, at = y[i], width - 1 - i
        for j in range(max(0, i - width + 1), i):
            total -= band[i, at + j] * y[j]
        y[i] = total * band[i, width - 1]
    for i in range(height - 1, -1, -1):
        y[i] *= band[i, width - 1]
        scale, at = y[i], width - 1 - i
        for j in range(max(0, i - width + 1), i):
            y[j] -= band[i, at + j] * scale


@_summed
def _apply(data: Any, rows: Any, counts: Any, start: Any, y: Any, x: Any, rest: Any) -> None:
    """Add A' y to x and take A (A' y) from the remainder."""
    for k in range(len(counts)):
        for c in range(counts[k]):
            total = 0.0
            for half in range(2):
                if rows[k, half] >= 0:
                    for p in range(6):
                        total += data[k, 6 * half + p, c] * y[rows[k, half] + p]
            x[start[k] + c] += total
            for half in range(2):
                if rows[k, half] >= 0:
                    for p in range(6):
                        rest[rows[k, half] + p] -= data[k, 6 * half + p, c] * total
