"""Solves the loops: a start pose that closes, on the branch that was drawn; and counts what is left free."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.kinematics import (
    Hinge,
    Tree,
    advance,
    constraint_rows,
    poses,
    residual,
    scales,
    twists,
)
from simprop.geometry.arrays import Array

CLOSED = 1e-11
"""Gap at which a loop counts as closed, m."""
_RANK = 1e-7


def jacobian(tree: Tree, closing: Sequence[Hinge], q: Array, size: float) -> Array:
    """Constraint Jacobian of all closing joints over the tree coordinates, (rows, n)."""
    at = poses(tree, q)
    moves = twists(tree, q, at)
    rows = [constraint_rows(h, at, moves, size) for h in closing]
    return np.vstack(rows) if rows else np.zeros((0, tree.size))


def newton(
    tree: Tree, closing: Sequence[Hinge], q: Array, size: float, weights: Array, largest: float
) -> tuple[Array, float]:
    """Close the loops from `q` by the smallest weighted moves.

    Args:
        q: tree coordinates to start from.
        size: length that turns radians into metres.
        weights: how unwilling each coordinate is to move.
        largest: longest single move, in metres (angles at `size`).

    Returns:
        Coordinates and the gap that is left, m.
    """
    gap = np.inf
    for _ in range(40):
        wrong = residual(closing, poses(tree, q), size)
        gap = float(np.abs(wrong).max(initial=0.0))
        if gap < CLOSED:
            break
        rows = jacobian(tree, closing, q, size) / weights
        move = -np.linalg.lstsq(rows, wrong, rcond=1e-9)[0] / weights
        length = float(np.abs(move * scales(tree, size)).max(initial=0.0))
        q = advance(tree, q, move * min(1.0, largest / length) if length > 0 else move)
    return q, gap


@dataclass(frozen=True)
class Closed:
    """Tree coordinates of a pose, the gap left (m), and how much of the way from drawn to asked was gone (0 to 1)."""

    q: Array
    gap: float
    reached: float


def follow(build: Callable[[float], tuple[Tree, list[Hinge]]], size: float, locked: Sequence[int]) -> Closed:
    """Go from the drawn lengths to the asked ones in small steps, closing the loops at each: stays on the drawn branch.

    Args:
        build: tree and closing joints at a share of the way, 0 (as drawn) to 1 (as asked).
        size: length that turns radians into metres.
        locked: coordinates that stay where they are (those with motors).

    Returns:
        The pose; `reached` under 1 when the loops can't be closed all the way.
    """
    tree, closing = build(0.0)
    weights = scales(tree, size)
    weights[list(locked)] = np.inf
    q, done, stride = np.zeros(tree.size), 0.0, 0.25
    q, gap = newton(tree, closing, q, size, weights, 0.2 * size)
    if gap > 1e-9:
        return Closed(q, gap, 0.0)
    while done < 1.0 and stride > 1e-4:
        want = min(1.0, done + stride)
        tree, closing = build(want)
        trial, gap = newton(tree, closing, q, size, weights, 0.2 * size)
        if gap < 1e-9:
            q, done, stride = trial, want, stride * 1.5
        else:
            stride /= 2
    if done >= 1.0:
        return Closed(q, 0.0, 1.0)
    return Closed(_nearest(*build(1.0), q, size, locked), np.inf, done)


def _nearest(tree: Tree, closing: Sequence[Hinge], q: Array, size: float, locked: Sequence[int]) -> Array:
    """Coordinates at which loops that can't be closed come nearest to closing."""
    from scipy.optimize import least_squares

    free = [k for k in range(tree.size) if k not in set(locked)]

    def wrong(moves: Array) -> Array:
        step = np.zeros(tree.size)
        step[free] = moves
        return residual(closing, poses(tree, advance(tree, q, step)), size)

    if not free:
        return q
    found = np.zeros(tree.size)
    found[free] = least_squares(wrong, np.zeros(len(free)), x_scale=1.0 / scales(tree, size)[free]).x
    return advance(tree, q, found)


@dataclass(frozen=True)
class Mobility:
    """Degrees of freedom, surplus constraint rows, and for each closing joint its rows to enforce and those to leave.

    Rows are (force; moment) directions, (k, 6), in the first body's drawn axes.
    """

    freedoms: int
    surplus: int
    enforce: tuple[Array, ...]
    leave: tuple[Array, ...]


def count(tree: Tree, closing: Sequence[Hinge], q: Array, size: float) -> Mobility:
    """Count degrees of freedom by the rank of the constraint Jacobian, looked at in several poses of the mechanism.

    A direction of a closing joint that does nothing in all poses (the axial one of a planar loop) is redundant on its
    own and left out first; of the rest, rows are taken one by one as long as they add to the rank.

    Args:
        q: coordinates of a closed pose.
        size: length that turns radians into metres.
    """
    samples = [
        jacobian(tree, closing, s, size) / scales(tree, size) for s in _sampled(tree, closing, q, size)
    ]
    bases: list[Array] = []
    offset = 0
    for hinge in closing:
        slides, turns = hinge.bars
        blocks = []
        for directions, column in ((slides, 0), (turns, 3)):
            n = len(directions)
            if n:
                stacked = np.hstack([s[offset : offset + n] for s in samples])
                u, sigma, _ = np.linalg.svd(stacked, full_matrices=True)
                full = np.zeros((n, 6))
                full[:, column : column + 3] = _tidy(u, sigma, n).T @ directions
                blocks.append((full, _tidy(u, sigma, n)))
            offset += n
        bases.append(_joined(blocks))
    mixing = _block_diagonal(bases)
    ranked = [mixing @ s for s in samples]
    ranks = [_rank(r) for r in ranked]
    best = ranked[int(np.argmax(ranks))] if ranks else np.zeros((0, tree.size))
    kept = _independent(best)
    total = best.shape[0]
    rank = max(ranks, default=0)
    enforce, leave, row = [], [], 0
    for hinge, basis in zip(closing, bases, strict=True):
        slides, turns = hinge.bars
        directions = np.zeros((len(slides) + len(turns), 6))
        directions[: len(slides), :3] = slides
        directions[len(slides) :, 3:] = turns
        mixed = basis @ directions
        use = np.array([row + i in kept for i in range(len(mixed))], dtype=bool)
        enforce.append(mixed[use])
        leave.append(mixed[~use])
        row += len(mixed)
    return Mobility(tree.size - rank, total - rank, tuple(enforce), tuple(leave))


def _tidy(u: Array, sigma: Array, n: int) -> Array:
    """Directions of a block: kept as they are unless some combination of them does nothing."""
    active = int(np.sum(sigma > _RANK * max(1.0, float(sigma.max(initial=0.0)))))
    return np.eye(n) if active in (0, n) else np.asarray(u)


def _joined(blocks: list[tuple[Array, Array]]) -> Array:
    sizes = [b[1].shape[0] for b in blocks]
    joined = np.zeros((sum(sizes), sum(sizes)))
    start = 0
    for _, basis in blocks:
        n = basis.shape[0]
        joined[start : start + n, start : start + n] = basis.T
        start += n
    return joined


def _block_diagonal(blocks: list[Array]) -> Array:
    n = sum(len(b) for b in blocks)
    joined = np.zeros((n, n))
    start = 0
    for block in blocks:
        joined[start : start + len(block), start : start + len(block)] = block
        start += len(block)
    return joined


def _rank(rows: Array) -> int:
    if not rows.size:
        return 0
    sigma = np.linalg.svd(rows, compute_uv=False)
    return int(np.sum(sigma > _RANK * max(1.0, float(sigma[0]))))


def _independent(rows: Array) -> set[int]:
    basis = np.zeros((0, rows.shape[1]))
    kept: set[int] = set()
    for i, row in enumerate(rows):
        rest = row - basis.T @ (basis @ row)
        rest = rest - basis.T @ (basis @ rest)
        length = float(np.linalg.norm(rest))
        if length > 1e-6 * max(1e-3, float(np.linalg.norm(row))) and length > _RANK:
            basis = np.vstack([basis, rest / length])
            kept.add(i)
    return kept


def _sampled(tree: Tree, closing: Sequence[Hinge], q: Array, size: float) -> list[Array]:
    """The pose itself and a few more that the mechanism can reach from it."""
    found = [q]
    if not closing or not tree.size:
        return found
    scale = scales(tree, size)
    rng = np.random.default_rng(7)
    for _ in range(6):
        rows = jacobian(tree, closing, found[-1], size) / scale
        _, sigma, v = np.linalg.svd(rows, full_matrices=True)
        rank = int(np.sum(sigma > _RANK * max(1.0, float(sigma.max(initial=0.0)))))
        free = v[rank:]
        if not len(free):
            break
        move = free.T @ rng.normal(size=len(free)) / scale
        move *= 0.2 * size / max(1e-12, float(np.abs(move * scale).max()))
        trial, gap = newton(tree, closing, advance(tree, found[-1], move), size, scale, 0.2 * size)
        if gap < 1e-9:
            found.append(trial)
    return found
