"""What holds a prop against steady loads from outside at given poses, and how what nothing holds gives way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.loads.balance import Balance, frame_of
from simprop.loads.least import dense

_LEAST = 1e-6
"""Inertia of a body that has none, over mass x size squared."""


@dataclass(frozen=True)
class Holding:
    """What goes with some outer loads at each pose.

    Attributes:
        motors: load of each motor on its axis, (n, M) N*m or N.
        lines: tension of each line, (n, L) N; 0 but for straight drives.
        acceleration: of each body's centre of mass where nothing holds it, (n, B, 3) m/s^2.
        spin_acceleration: (n, B, 3) rad/s^2.
    """

    motors: Array
    lines: Array
    acceleration: Array
    spin_acceleration: Array


def holding(
    assembly: Assembly, track: Trajectory, laws: Actuation, many: Sequence[Sequence[tuple[int, Array, Array]]]
) -> list[Holding]:
    """What motors and straight drives hold, and what gives way, under each of several sets of loads.

    Args:
        assembly: what is pushed.
        track: its poses.
        laws: with its motors and drives.
        many: body, force (n, 3) N and place (n, 3) m of each load, for each set.

    Source: Gauss's principle of least constraint: joints and drives bear what leaves the least acceleration, weighed by
    the bodies' inertia.
    """
    n, bodies = len(track.time), len(assembly.bodies)
    balance = Balance(assembly, track, laws, [frame_of(j) for j in assembly.joints], 1.0)
    if not balance.rows:
        nothing, still = np.zeros((n, len(laws.motors))), np.zeros((n, bodies, 3))
        return [Holding(nothing, np.zeros((n, len(laws.lines))), still, still) for _ in many]
    turn, points = balance.geometry(slice(None))
    known = dense(balance.blocks(slice(None), turn, points, with_motors=True))
    held = [drive.line for drive in laws.line_drives if drive.able is not None]
    columns = []
    for k in held:
        line, column = laws.lines[k], np.zeros((n, balance.rows))
        way = track.line_end[:, k] - track.line_start[:, k]
        way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
        _put(balance, track, column, line.first, way, track.line_start[:, k])
        _put(balance, track, column, line.second, -way, track.line_end[:, k])
        columns.append(column[:, :, None])
    every = np.concatenate([known, *columns], axis=2)
    root = _root(balance, assembly, turn)
    inverse = np.linalg.pinv(root @ every, 1e-9)  # the dearest part, and the same for all sets
    found = []
    for pushes in many:
        load = np.zeros((n, balance.rows))
        for body, force, place in pushes:
            _put(balance, track, load, body, force, place)
        x = -np.einsum("ncr,nr->nc", inverse, np.einsum("nij,nj->ni", root, load))
        left = load + np.einsum("nrc,nc->nr", every, x)
        rate = np.einsum("nji,nj->ni", root, np.einsum("nij,nj->ni", root, left))
        found.append(_held(balance, laws, (x, rate), held, bodies))
    return found


def _held(
    balance: Balance, laws: Actuation, solved: tuple[Array, Array], held: Sequence[int], bodies: int
) -> Holding:
    """What was solved for, by motors, lines and bodies."""
    x, rate = solved
    moved, lines = np.zeros((len(x), bodies, 6)), np.zeros((len(x), len(laws.lines)))
    for body, row in balance.row.items():
        moved[:, body] = rate[:, row : row + 6]
    first, after = balance.columns, balance.columns + len(laws.motors)
    lines[:, held] = x[:, after:]
    return Holding(x[:, first:after], lines, moved[:, :, :3], moved[:, :, 3:])


def _put(balance: Balance, track: Trajectory, into: Array, body: int, force: Array, place: Array) -> None:
    if body in balance.row:
        row = balance.row[body]
        into[:, row : row + 3] += force
        into[:, row + 3 : row + 6] += np.cross(place - track.position[:, body], force)


def _root(balance: Balance, assembly: Assembly, turn: Array) -> Array:
    """Inverse root L of the bodies' inertia, L' L = M^-1, (n, rows, rows)."""
    root = np.zeros((len(turn), balance.rows, balance.rows))
    for body, row in balance.row.items():
        mass = assembly.bodies[body].mass
        own = balance.inertia[body] + _LEAST * mass * np.eye(3)
        root[:, range(row, row + 3), range(row, row + 3)] = mass**-0.5
        values, axes = np.linalg.eigh(own)
        ways = np.swapaxes(turn[:, body] @ axes, 1, 2)
        root[:, row + 3 : row + 6, row + 3 : row + 6] = ways / np.sqrt(values)[:, None]
    return root
