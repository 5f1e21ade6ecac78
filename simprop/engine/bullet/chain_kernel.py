"""A chain of links, compiled: where they are, how each joint rate moves them, their masses and what their motion asks.

Links come as a tuple of arrays: kind (0 turn, 1 slide, 2 ball, 3 fixed), parent, first rate, ball, arm from the
parent's point, axis; wrenches and momenta are (moment, force) about the world's origin.

Source: composite rigid bodies and recursive Newton-Euler equations in world axes about the world's origin, as in
any text on multibody dynamics.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.compiled import compiled
from simprop.geometry.arrays import Array


@compiled
def cross(a: Array, b: Array, out: Array) -> None:
    """out += a x b."""
    out[0] += a[1] * b[2] - a[2] * b[1]
    out[1] += a[2] * b[0] - a[0] * b[2]
    out[2] += a[0] * b[1] - a[1] * b[0]


@compiled
def turned(m: Array, v: Array, out: Array) -> None:
    """out += m v."""
    for i in range(3):
        out[i] += m[i, 0] * v[0] + m[i, 1] * v[1] + m[i, 2] * v[2]


@compiled
def frames(links: Any, coordinate: Any, balls: Any, origin: Any, turn: Any, motion: Any) -> None:
    """World origin and rotation of each link, and each rate's unit motion (spin, speed at the world's origin)."""
    kind, parent, first, ball, arm, axis = links
    reach, held, unit = np.zeros(3), np.zeros((3, 3)), np.zeros(3)
    for i in range(len(kind)):
        reach[:] = arm[i]
        held[:] = 0.0
        held[0, 0] = held[1, 1] = held[2, 2] = 1.0
        x, y, z = axis[i]
        if kind[i] == 1:
            for j in range(3):
                reach[j] += axis[i, j] * coordinate[i]
        elif kind[i] == 0:
            c, s = np.cos(coordinate[i]), np.sin(coordinate[i])
            u = 1.0 - c
            held[0, 0], held[0, 1], held[0, 2] = c + x * x * u, x * y * u - z * s, x * z * u + y * s
            held[1, 0], held[1, 1], held[1, 2] = y * x * u + z * s, c + y * y * u, y * z * u - x * s
            held[2, 0], held[2, 1], held[2, 2] = z * x * u - y * s, z * y * u + x * s, c + z * z * u
        elif kind[i] == 2:
            x, y, z, w = balls[ball[i]]
            held[0, 0], held[0, 1], held[0, 2] = (
                1 - 2 * (y * y + z * z),
                2 * (x * y - z * w),
                2 * (x * z + y * w),
            )
            held[1, 0], held[1, 1], held[1, 2] = (
                2 * (x * y + z * w),
                1 - 2 * (x * x + z * z),
                2 * (y * z - x * w),
            )
            held[2, 0], held[2, 1], held[2, 2] = (
                2 * (x * z - y * w),
                2 * (y * z + x * w),
                1 - 2 * (x * x + y * y),
            )
        p = parent[i]
        if p < 0:
            origin[i] = reach
            turn[i] = held
        else:
            origin[i] = origin[p]
            turned(turn[p], reach, origin[i])
            for j in range(3):
                for k in range(3):
                    turn[i, j, k] = (
                        turn[p, j, 0] * held[0, k] + turn[p, j, 1] * held[1, k] + turn[p, j, 2] * held[2, k]
                    )
        for m in range(3 if kind[i] == 2 else (0 if kind[i] == 3 else 1)):
            k = first[i] + m
            motion[k] = 0.0
            unit[:] = 0.0
            if kind[i] == 2:
                unit[:] = turn[i, :, m]
            else:
                turned(turn[i], axis[i], unit)
            if kind[i] == 1:
                motion[k, 3:] = unit
            else:
                motion[k, :3] = unit
                cross(origin[i], unit, motion[k, 3:])


@compiled
def _momentum(mass: float, lever: Array, inertia: Array, spin: Array, speed: Array, out: Array) -> None:
    """out = (angular momentum about the world's origin, momentum) of a body; lever = mass * centre."""
    out[:] = 0.0
    turned(inertia, spin, out[:3])
    cross(lever, speed, out[:3])
    cross(spin, lever, out[3:])
    for j in range(3):
        out[3 + j] += mass * speed[j]


@compiled
def bias(
    links: Any, gravity: Any, mass: Any, lever: Any, inertia: Any, motion: Any, rate: Any, change: Any, load: Any,
    out: Any,
) -> None:  # fmt: skip
    """Joint loads that give the rates their change against weight, centrifugal and outer forces.

    `load` comes as the wrench on each link that is still wanted besides (minus the known outer ones), and goes as the
    wrench through its joint, about the world's origin.
    """
    kind, parent, first = links[0], links[1], links[2]
    n = len(kind)
    speed, gain, whole = np.zeros((n, 6)), np.zeros((n, 6)), np.zeros(6)
    own, moved = np.zeros(6), np.zeros(6)
    for i in range(n):
        p = parent[i]
        if p < 0:
            gain[i, 3:] = -gravity
        else:
            speed[i] = speed[p]
            gain[i] = gain[p]
        own[:] = 0.0
        for k in range(first[i], first[i] + (3 if kind[i] == 2 else (0 if kind[i] == 3 else 1))):
            for j in range(6):
                own[j] += motion[k, j] * rate[k]
                gain[i, j] += motion[k, j] * change[k]
        cross(speed[i, :3], own[:3], gain[i, :3])
        cross(speed[i, :3], own[3:], gain[i, 3:])
        cross(speed[i, 3:], own[:3], gain[i, 3:])
        for j in range(6):
            speed[i, j] += own[j]
        _momentum(mass[i], lever[i], inertia[i], gain[i, :3], gain[i, 3:], whole)
        _momentum(mass[i], lever[i], inertia[i], speed[i, :3], speed[i, 3:], moved)
        cross(speed[i, :3], moved[:3], whole[:3])
        cross(speed[i, 3:], moved[3:], whole[:3])
        cross(speed[i, :3], moved[3:], whole[3:])
        for j in range(6):
            load[i, j] += whole[j]
    for i in range(n - 1, -1, -1):
        for k in range(first[i], first[i] + (3 if kind[i] == 2 else (0 if kind[i] == 3 else 1))):
            out[k] = 0.0
            for j in range(6):
                out[k] += motion[k, j] * load[i, j]
        if parent[i] >= 0:
            for j in range(6):
                load[parent[i], j] += load[i, j]


@compiled
def motion_rows(
    links: Any, motion: Any, link: int, place: Array, sign: float, speed: Array, spin: Array
) -> None:
    """speed, spin (3, rates) += sign * speed of a point carried by a link, and its spin, for each unit rate."""
    kind, parent, first = links[0], links[1], links[2]
    i = link
    while i >= 0:
        for k in range(first[i], first[i] + (3 if kind[i] == 2 else (0 if kind[i] == 3 else 1))):
            w, v = motion[k, :3], motion[k, 3:]
            speed[0, k] += sign * (v[0] + w[1] * place[2] - w[2] * place[1])
            speed[1, k] += sign * (v[1] + w[2] * place[0] - w[0] * place[2])
            speed[2, k] += sign * (v[2] + w[0] * place[1] - w[1] * place[0])
            for j in range(3):
                spin[j, k] += sign * w[j]
        i = parent[i]


@compiled
def placed(origin: Array, turn: Array, link: int, arm: Array, out: Array) -> None:
    """out = a point that a link carries (-1: the world)."""
    if link < 0:
        out[:] = arm
    else:
        out[:] = origin[link]
        turned(turn[link], arm, out)


@compiled
def faced(turn: Array, link: int, unit: Array, out: Array) -> None:
    """out = a direction that a link carries (-1: the world)."""
    if link < 0:
        out[:] = unit
    else:
        out[:] = 0.0
        turned(turn[link], unit, out)


@compiled
def masses(links: Any, mass: Any, lever: Any, inertia: Any, motion: Any, out: Any) -> None:
    """Mass matrix of the chain; the masses are summed towards the root in place."""
    kind, parent, first = links[0], links[1], links[2]
    moved = np.zeros(6)
    for i in range(len(kind) - 1, -1, -1):
        count = 3 if kind[i] == 2 else (0 if kind[i] == 3 else 1)
        for k in range(first[i], first[i] + count):
            _momentum(mass[i], lever[i], inertia[i], motion[k, :3], motion[k, 3:], moved)
            j = i
            while j >= 0:
                for m in range(first[j], first[j] + (3 if kind[j] == 2 else (0 if kind[j] == 3 else 1))):
                    value = 0.0
                    for a in range(6):
                        value += motion[m, a] * moved[a]
                    out[k, m] = out[m, k] = value
                j = parent[j]
        p = parent[i]
        if p >= 0:
            mass[p] += mass[i]
            lever[p] += lever[i]
            inertia[p] += inertia[i]


@compiled
def weigh(weights: Any, origin: Any, turn: Any, lever: Any, inertia: Any) -> None:
    """Mass times centre, and inertia about the world's origin, of each link."""
    mass = weights[0]
    for i in range(len(mass)):
        c = np.zeros(3)
        c[:] = origin[i]
        turned(turn[i], weights[1][i], c)
        half = np.zeros((3, 3))
        for j in range(3):
            lever[i, j] = mass[i] * c[j]
            for k in range(3):
                half[j, k] = (
                    turn[i, j, 0] * weights[2][i, 0, k]
                    + turn[i, j, 1] * weights[2][i, 1, k]
                    + turn[i, j, 2] * weights[2][i, 2, k]
                )
        square = c[0] * c[0] + c[1] * c[1] + c[2] * c[2]
        for j in range(3):
            for k in range(3):
                inertia[i, j, k] = (
                    half[j, 0] * turn[i, k, 0] + half[j, 1] * turn[i, k, 1] + half[j, 2] * turn[i, k, 2]
                    - mass[i] * c[j] * c[k]
                )  # fmt: skip
            inertia[i, j, j] += mass[i] * square
