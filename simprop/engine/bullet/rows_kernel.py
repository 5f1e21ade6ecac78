"""Constraint rows of a chain of links, compiled: those of loop ties, gears, friction and drives, and how rows are
solved exactly.

Source: box-limited rows by projected Gauss-Seidel on their Schur complement, as in any text on multibody dynamics.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.compiled import compiled
from simprop.engine.bullet.chain_kernel import cross, faced, motion_rows, placed
from simprop.geometry.arrays import Array


@compiled
def tie_rows(links: Any, ties: Any, origin: Any, turn: Any, motion: Any, jacobian: Any, gap: Any) -> None:
    """Rows of the ties and how far each is apart."""
    first, second, on_first, on_second, axis, owner, rows = ties
    d = motion.shape[0]
    speed, spin = np.zeros((3, d)), np.zeros((3, d))
    one, two, tilt, a, b = np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3)
    unit = np.zeros(3)
    for m in range(len(first)):
        speed[:] = 0.0
        spin[:] = 0.0
        placed(origin, turn, first[m], on_first[m], one)
        placed(origin, turn, second[m], on_second[m], two)
        motion_rows(links, motion, second[m], two, 1.0, speed, spin)
        motion_rows(links, motion, first[m], two, -1.0, speed, spin)
        two -= one
        tilt[:] = 0.0
        if axis[m, 0] != 0.0 or axis[m, 1] != 0.0 or axis[m, 2] != 0.0:
            faced(turn, first[m], axis[m], a)
            faced(turn, second[m], axis[m], b)
            cross(a, b, tilt)
        else:
            for j in range(3):
                unit[:] = 0.0
                unit[j] = 1.0
                faced(turn, first[m], unit, a)
                faced(turn, second[m], unit, b)
                cross(a, b, tilt)
            tilt *= 0.5
        for r in range(len(owner)):
            if owner[r] != m:
                continue
            faced(turn, first[m], rows[r, :3], a)
            faced(turn, first[m], rows[r, 3:], b)
            gap[r] = 0.0
            for j in range(3):
                gap[r] += a[j] * two[j] + b[j] * tilt[j]
                for k in range(d):
                    jacobian[r, k] += a[j] * speed[j, k] + b[j] * spin[j, k]


@compiled
def gear_rows(gears: Any, jacobian: Any) -> None:
    """Rows that tie two rates: twin less ratio times driven."""
    twin, driven, ratio = gears
    for m in range(len(twin)):
        jacobian[m, twin[m]] = 1.0
        jacobian[m, driven[m]] = -ratio[m]


@compiled
def hold_rows(links: Any, holds: Any, turn: Any, motion: Any, jacobian: Any) -> None:
    """Rows with a limit: a rate of the chain, or the turning of two links against each other about an axis."""
    rate, first, second, axis = holds
    d = motion.shape[0]
    speed, spin, way = np.zeros((3, d)), np.zeros((3, d)), np.zeros(3)
    for m in range(len(rate)):
        if rate[m] >= 0:
            jacobian[m, rate[m]] = 1.0
            continue
        spin[:] = 0.0
        faced(turn, first[m], axis[m], way)
        motion_rows(links, motion, second[m], way, 1.0, speed, spin)
        motion_rows(links, motion, first[m], way, -1.0, speed, spin)
        for j in range(3):
            for k in range(d):
                jacobian[m, k] += way[j] * spin[j, k]


@compiled
def factor(a: Array, loss: float) -> None:
    """Cholesky factor of a symmetric matrix in its lower half; rows that depend on earlier ones get a zero pivot."""
    n = len(a)
    for j in range(n):
        whole = a[j, j]
        for k in range(j):
            a[j, j] -= a[j, k] * a[j, k]
        if a[j, j] <= loss * whole:
            a[j, j] = 0.0
            for i in range(j + 1, n):
                a[i, j] = 0.0
            continue
        a[j, j] = np.sqrt(a[j, j])
        for i in range(j + 1, n):
            for k in range(j):
                a[i, j] -= a[i, k] * a[j, k]
            a[i, j] /= a[j, j]


@compiled
def solve(a: Array, b: Array) -> None:
    """Solve with a factor of `factor`, in place; dependent rows get 0."""
    n = len(a)
    for i in range(n):
        for k in range(i):
            b[i] -= a[i, k] * b[k]
        b[i] = b[i] / a[i, i] if a[i, i] > 0.0 else 0.0
    for i in range(n - 1, -1, -1):
        for k in range(i + 1, n):
            b[i] -= a[k, i] * b[k]
        b[i] = b[i] / a[i, i] if a[i, i] > 0.0 else 0.0


@compiled
def boxed(schur: Array, rest: Array, limit: Array, stiff: Array, equal: int, out: Array) -> None:
    """Impulses within their limits that meet their rows or are at a limit: projected Gauss-Seidel rounds."""
    n = len(rest)
    for _ in range(2000):
        change, size = 0.0, 0.0
        for m in range(n):
            if limit[m] <= 0.0 or schur[m, m] <= 1e-11 * stiff[equal + m, equal + m]:
                out[m] = 0.0
                continue
            wish = rest[m]
            for s in range(n):
                wish -= schur[m, s] * out[s]
            new = min(limit[m], max(-limit[m], out[m] + wish / schur[m, m]))
            change = max(change, abs(new - out[m]) * np.sqrt(schur[m, m]))
            size = max(size, abs(new) * np.sqrt(schur[m, m]))
            out[m] = new
        if change <= 1e-12 * size:
            break
