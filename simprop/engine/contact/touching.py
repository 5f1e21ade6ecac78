"""Forces where bodies touch, for any engine; memory of what sticks.

What sticks is held sideways by a spring that is stretched by how far it has been dragged; at mu N it slips and the
spring keeps that stretch. An engine whose speeds lie half a step before its poses asks once a step; one that asks at
every stage of a step says how far into the step the stage is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.types import Assembly
from simprop.compiled import compiled
from simprop.engine.contact.touches import TouchData
from simprop.geometry.arrays import Array
from simprop.laws.contact import SIDEWAYS
from simprop.laws.friction import CREEP

_CODE = {"ball": 0, "arc": 1, "ring": 2}


class Touching:
    """All places of touch of a run.

    Attributes:
        position: centre of mass of each body, (B + 1, 3) m; to be set by the engine, as are the next three. The last
            row is the world's and stays.
        turn: rotation of each body from the start, (B + 1, 3, 3).
        velocity: of each centre of mass, (B + 1, 3) m/s.
        spin: (B + 1, 3) rad/s.
        force: on the second body of each place, (C, 3) N; the first gets the opposite.
        point: where, (C, 3) m.
    """

    def __init__(self, assembly: Assembly, data: Sequence[TouchData], step: float):
        count, bodies = len(data), len(assembly.bodies)
        self.position, self.velocity, self.spin = (np.zeros((bodies + 1, 3)) for _ in range(3))
        self.turn = np.tile(np.eye(3), (bodies + 1, 1, 1))
        self.position[:-1] = [b.com for b in assembly.bodies]
        self.force, self.point = np.zeros((count, 3)), np.zeros((count, 3))
        self._what: tuple[NDArray[np.int64], ...] = (
            np.array([_CODE[t.kind] for t in data], dtype=np.int64),
            np.array([t.first for t in data], dtype=np.int64),
            np.array([t.second for t in data], dtype=np.int64),
            np.cumsum([0, *(len(t.curve) for t in data)]).astype(np.int64),
        )
        columns = ("first_point", "direction", "second_point", "axis", "middle", "zero")
        self._vectors = tuple(np.array([getattr(t, c) for t in data], dtype=float) for c in columns)
        scalars = ("radius", "gap", "spread", "stiffness", "damping", "static", "kinetic")
        self._scalars = tuple(np.array([getattr(t, c) for t in data], dtype=float) for c in scalars)
        curves = np.concatenate([np.zeros((0, 2)), *(t.curve for t in data)])
        self._scalars += (np.ascontiguousarray(curves[:, 0]), np.ascontiguousarray(curves[:, 1]))
        self._stretch, self._before = np.zeros((count, 3)), np.zeros((count, 3))
        self._quick, self._touched = np.zeros(count), np.zeros(count, dtype=np.bool_)
        self._step = step

    @property
    def state(self) -> tuple[Any, ...]:
        """All that `touched` takes and remembers: kinds, vectors, scalars, bodies, memory."""
        return (
            self._what,
            self._vectors,
            self._scalars,
            (self.position, self.turn, self.velocity, self.spin),
            (self._stretch, self._before, self._quick, self._touched),
        )

    def act(self) -> None:
        """Work out `force` and `point` at poses that lie half a step after their speeds; once a step."""
        self._act(0.0, True, False)

    def act_within(self, elapsed: float, commit: bool) -> None:
        """Work out `force` and `point` at poses and speeds of one instant.

        Args:
            elapsed: since the last instant that was committed, s.
            commit: whether this instant begins a step, so that what has been dragged until now counts.
        """
        self._act(elapsed, commit, True)

    def _act(self, elapsed: float, commit: bool, exact: bool) -> None:
        what, vectors, scalars, bodies, memory = self.state
        touched(
            what,
            vectors,
            scalars,
            bodies,
            memory,
            self.force,
            self.point,
            elapsed if exact else self._step,
            self._step,
            commit,
            exact,
        )


@compiled
def of_centres(state: Any, which: Any, bodies: Any) -> None:
    """Poses and speeds of bodies from an engine that counts speeds at the centre of mass of a whole tree.

    Args:
        state: centre of mass of each body (N, 3), rotation (N, 9), spin and speed (N, 6), centre of its tree (N, 3).
        which: indices of the bodies in `bodies`, in `state`, and of the roots of their trees.
        bodies: positions, rotations, velocities and spins to be filled, as in `Touching`.
    """
    centre, turn, speed, middle = state
    position, turned, velocity, spin = bodies
    for k in range(len(which[0])):
        b, i, root = which[0][k], which[1][k], which[2][k]
        for j in range(3):
            position[b, j], spin[b, j], velocity[b, j] = centre[i, j], speed[i, j], speed[i, 3 + j]
            for m in range(3):
                turned[b, j, m] = turn[i, 3 * j + m]
        x, y, z = (
            centre[i, 0] - middle[root, 0],
            centre[i, 1] - middle[root, 1],
            centre[i, 2] - middle[root, 2],
        )
        velocity[b, 0] += speed[i, 1] * z - speed[i, 2] * y
        velocity[b, 1] += speed[i, 2] * x - speed[i, 0] * z
        velocity[b, 2] += speed[i, 0] * y - speed[i, 1] * x


@compiled
def of_links(which: Any, state: Any, bodies: Any) -> None:
    """Poses and speeds of bodies from those of links.

    Args:
        which: indices of the bodies in `bodies`, and of their links in `state`.
        state: centre of mass (L, 3), rotation (L, 3, 3), velocity (L, 3) and spin (L, 3) of each link.
        bodies: positions, rotations, velocities and spins to be filled, as in `Touching`.
    """
    for k in range(len(which[0])):
        b, i = which[0][k], which[1][k]
        bodies[0][b], bodies[1][b] = state[0][i], state[1][i]
        bodies[2][b], bodies[3][b] = state[2][i], state[3][i]


@compiled
def pushes(which: Any, sign: Any, force: Any, point: Any, rows: Any) -> None:
    """Forces at points as rows of place and force.

    Args:
        which: place of touch of each row, (n,).
        sign: (n,).
        force: (C, 3) N.
        point: (C, 3) m.
        rows: (n, 6), overwritten.
    """
    for m in range(len(which)):
        rows[m, :3] = point[which[m]]
        rows[m, 3:] = sign[m] * force[which[m]]


@compiled
def onto(rows: Any, force: Any, point: Any, position: Any, applied: Any) -> None:
    """Sum forces at points into force and moment about the centres of mass.

    Args:
        rows: (place, body in `position`, body in `applied`, sign), (n, 4).
        force: of the places, (C, 3).
        point: (C, 3).
        position: centres of mass, (B, 3).
        applied: (N, 6), overwritten.
    """
    applied[:] = 0.0
    for m in range(len(rows)):
        c, b, i, sign = rows[m]
        x, y, z = point[c, 0] - position[b, 0], point[c, 1] - position[b, 1], point[c, 2] - position[b, 2]
        u, v, w = sign * force[c, 0], sign * force[c, 1], sign * force[c, 2]
        applied[i, 0] += u
        applied[i, 1] += v
        applied[i, 2] += w
        applied[i, 3] += y * w - z * v
        applied[i, 4] += z * u - x * w
        applied[i, 5] += x * v - y * u


@compiled
def turned(m: Array, v: Array, out: Array) -> None:
    """out = m v.

    Args:
        m: (3, 3).
        v: (3,).
        out: (3,), overwritten.
    """
    for i in range(3):
        out[i] = m[i, 0] * v[0] + m[i, 1] * v[1] + m[i, 2] * v[2]


@compiled
def dot(a: Any, b: Any) -> Any:
    """Product of two vectors, (3,) each."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@compiled
def _speed(bodies: Any, first: int, second: int, place: Array, out: Array) -> None:
    """out = speed of the second body's matter at a place against that of the first."""
    position, _, velocity, spin = bodies
    for b, sign in ((second, 1.0), (first, -1.0)):
        rx, ry, rz = place[0] - position[b, 0], place[1] - position[b, 1], place[2] - position[b, 2]
        out[0] += sign * (velocity[b, 0] + spin[b, 1] * rz - spin[b, 2] * ry)
        out[1] += sign * (velocity[b, 1] + spin[b, 2] * rx - spin[b, 0] * rz)
        out[2] += sign * (velocity[b, 2] + spin[b, 0] * ry - spin[b, 1] * rx)


@compiled
def _face(
    kind: int,
    vectors: Any,
    radius: float,
    spread: float,
    turn: Any,
    i: int,
    normal: Any,
    centre: Any,
    point: Any,
) -> None:
    """point = the lowest point of a ball or arc over a face with a unit normal, world."""
    if kind == 0:
        for j in range(3):
            point[j] = centre[j] - radius * normal[j]
        return
    axis, middle, side = np.empty(3), np.empty(3), np.empty(3)
    turned(turn, vectors[3][i], axis)
    turned(turn, vectors[4][i], middle)
    side[0] = axis[1] * middle[2] - axis[2] * middle[1]
    side[1] = axis[2] * middle[0] - axis[0] * middle[2]
    side[2] = axis[0] * middle[1] - axis[1] * middle[0]
    angle = np.arctan2(-dot(normal, side), -dot(normal, middle))
    angle = min(spread, max(-spread, angle))
    for j in range(3):
        point[j] = centre[j] + radius * (np.cos(angle) * middle[j] + np.sin(angle) * side[j])


@compiled
def _on_cam(
    curve: Array, slope: Array, zero: Array, radius: float, one: Array, unit: Array, two: Array, point: Array
) -> Any:
    """Depth of a roller in a cam, m; `unit` holds the cam's axis and gets the normal, `point` where they meet.

    To the second order in the depth over the curve's own bend.

    Args:
        curve, slope: radius of the pitch curve all around the cam, (n,) m and m/rad.
        zero: direction from which its angle counts, (3,).
        radius: of the roller, m.
        one: a point of the cam's axis, (3,).
        unit: (3,), overwritten.
        two: middle of the roller, (3,).
        point: (3,), overwritten.
    """
    side = np.empty(3)
    side[0] = unit[1] * zero[2] - unit[2] * zero[1]
    side[1] = unit[2] * zero[0] - unit[0] * zero[2]
    side[2] = unit[0] * zero[1] - unit[1] * zero[0]
    u, v = 0.0, 0.0
    for j in range(3):
        u += (two[j] - one[j]) * zero[j]
        v += (two[j] - one[j]) * side[j]
    far, n = np.sqrt(u * u + v * v), len(curve)
    wide = 2 * np.pi / n
    at = (np.arctan2(v, u) % (2 * np.pi)) / wide
    k = int(at) % n
    x, m = at - int(at), (k + 1) % n
    y, z = 1.0 - x, wide
    # cubic between two points with their slopes
    r = curve[k] * (1 + 2 * x) * y * y + curve[m] * (3 - 2 * x) * x * x
    r += z * (slope[k] * x * y * y - slope[m] * x * x * y)
    d = 6 * x * y * (curve[m] - curve[k]) / wide + slope[k] * y * (1 - 3 * x) + slope[m] * x * (1 - 3 * y)
    long = np.sqrt(r * r + d * d)
    c, s = u / far, v / far
    for j in range(3):
        out, around = c * zero[j] + s * side[j], c * side[j] - s * zero[j]
        unit[j] = (r * out - d * around) / long
        point[j] = two[j] - radius * unit[j]
    return (r - far) * r / long


@compiled
def touched(  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    what: Any, vectors: Any, scalars: Any, bodies: Any, memory: Any, force: Any, point: Any, elapsed: float,
    step: float, commit: bool, exact: bool,
) -> None:  # fmt: skip
    """Work out `force` and `point` of `Touching`."""
    kinds, firsts, seconds, starts = what
    radius, gap, spread, stiffness, damping, static, kinetic, curve, slope_of = scalars
    position, turn = bodies[0], bodies[1]
    stretch, before, quick, touched = memory
    one, unit, two, axis = np.empty(3), np.empty(3), np.empty(3), np.empty(3)
    drift, speed, lag, drag = np.empty(3), np.empty(3), np.empty(3), np.empty(3)
    for i in range(len(kinds)):
        a, b = firsts[i], seconds[i]
        turned(turn[a], vectors[0][i], one)
        turned(turn[a], vectors[1][i], unit)
        turned(turn[b], vectors[2][i], two)
        for j in range(3):
            one[j] += position[a, j]
            two[j] += position[b, j]
        speed[:] = 0.0
        if kinds[i] == 2:
            # Where the middle line of what is in the hole crosses the plane of its ring, and how that moves.
            turned(turn[b], vectors[3][i], axis)
            slope = dot(axis, unit)
            lift = (dot(one, unit) - dot(two, unit)) / slope
            for j in range(3):
                two[j] += lift * axis[j]
                drift[j] = two[j] - one[j]
            _speed(bodies, a, b, two, speed)
            climb = dot(speed, unit) / slope
            off = np.sqrt(dot(drift, drift))
            depth = off - gap[i]
            for j in range(3):
                unit[j] = -drift[j] / off if off > 0.0 else 0.0
                point[i, j] = two[j] - radius[i] * unit[j]
            rate = climb * dot(axis, unit) - dot(speed, unit)
            speed[:] = 0.0
            _speed(bodies, a, b, point[i], speed)
        elif starts[i + 1] > starts[i]:
            turned(turn[a], vectors[5][i], axis)
            begin, end = starts[i], starts[i + 1]
            depth = _on_cam(curve[begin:end], slope_of[begin:end], axis, radius[i], one, unit, two, point[i])
            _speed(bodies, a, b, point[i], speed)
            rate = -dot(speed, unit)
        else:
            _face(kinds[i], vectors, radius[i], spread[i], turn[b], i, unit, two, point[i])
            _speed(bodies, a, b, point[i], speed)
            rate = -dot(speed, unit)
            depth = dot(one, unit) - dot(point[i], unit)
        force[i] = 0.0
        # Damping begins with a jump: what counts is the share of a step around now in which there is touch.
        share = 1.0 if depth > 0.0 else 0.0
        if rate > 0.0:
            share = min(1.0, max(0.0, 0.5 + depth / (rate * step)))
        if depth <= 0.0 and (share <= 0.0 or damping[i] <= 0.0):
            if commit:
                touched[i] = False
                stretch[i] = 0.0
            continue
        closing = rate
        for j in range(3):
            lag[j] = speed[j]
            drag[j] = elapsed * speed[j] if touched[i] else 0.0
        if touched[i] and exact:
            for j in range(3):
                drag[j] = 0.5 * elapsed * (before[i, j] + speed[j])
        elif touched[i]:
            closing = 1.5 * rate - 0.5 * quick[i]
            for j in range(3):
                lag[j] = 1.5 * speed[j] - 0.5 * before[i, j]
        normal = max(0.0, stiffness[i] * max(0.0, depth) + share * damping[i] * closing)
        for j in range(3):
            drag[j] += stretch[i, j]
        off = dot(drag, unit)
        for j in range(3):
            drag[j] -= off * unit[j]
        k, c = SIDEWAYS * stiffness[i], SIDEWAYS * damping[i]
        along = dot(lag, unit)
        sliding, pull = 0.0, 0.0
        for j in range(3):
            lag[j] -= along * unit[j]
            drift[j] = -k * drag[j] - c * lag[j]
            sliding += lag[j] * lag[j]
            pull += drift[j] * drift[j]
        mu = kinetic[i] + (static[i] - kinetic[i]) * np.exp(-sliding / CREEP**2)
        pull, most = np.sqrt(pull), mu * normal
        if pull > most:
            for j in range(3):
                drift[j] *= most / pull
                drag[j] = -drift[j] / k
        for j in range(3):
            force[i, j] = normal * unit[j] + drift[j]
        if commit:
            for j in range(3):
                before[i, j] = speed[j]
                stretch[i, j] = drag[j]
            quick[i] = rate
            touched[i] = True
