"""Loads for one step of a chain of links, worked out directly: loop ties, gears, dry friction and speed drives.

An engine that solves its constraints by rounds needs thousands of them where a heavy reflected inertia meets light
links: after each sudden change (friction that sticks, a drive that turns back) the loads are wrong for some steps,
however short these are. Here the mass matrix of the chain is factored and the few constraint rows are solved
exactly, as impulses over the step; the engine gets them as joint loads and steps the tree.

With joint rates v, mass matrix M, constraint rows J and step h:  M (v' - v) = h Q + J^T x,  J v' = t for ties and
gears; for a row of friction or a drive J v' = t unless its impulse x is at its limit.

Centrifugal and Coriolis loads are those of the middle of the step, taken from the rates of this step and the last.
Worked out from the rates at its start, as the engine does, they leave an error in the first power of the step.
Measured on a four-bar from rest to 50 rad/s at 0.1 ms: pin force peaks 0.16 % off so, 0.006 % with those of the
middle.

The chain itself stands in `chain_kernel`, how rows are solved in `rows_kernel`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simprop.compiled import compiled
from simprop.engine.bullet.chain_kernel import (
    bias,
    cross,
    faced,
    frames,
    masses,
    motion_rows,
    placed,
    turned,
    weigh,
)
from simprop.engine.bullet.holds import RATES, Gear, Hold, rate_indices
from simprop.engine.bullet.links import Link, Tie
from simprop.engine.bullet.rows_kernel import boxed, factor, gear_rows, hold_rows, solve, tie_rows
from simprop.geometry.arrays import Array

Ints = NDArray[np.int64]
_SOFT = 1e-3
"""Gaps are closed only along directions in which the loop is no stiffer than the inverse of this: near a dead point
it can't close one, and would be thrown about by trying."""
_CODE = {"turn": 0, "slide": 1, "ball": 2, "fixed": 3}


class Direct:
    """The chain with its constraint rows, and room for one step.

    Attributes:
        rates: number of joint rates: one for a turn or slide, three for a ball (in the link's own axes).
        first: index of the first rate of each link.
        target: speed that each hold aims at, rad/s or m/s; to be set by the caller.
        limit: largest load of each hold, N*m or N, 0 for none; to be set by the caller.
        held: load that each hold gave in the last step.
        push: forces at points of links in the coming step: (n, 6) place and force, world; `push_link` their links.
        twist: moments on links in the coming step: (n, 3), world; `twist_link` their links.
        tied: load along each row of the ties in the last step, N or N*m.
        geared: load of each gear on the rate that it drives in the last step, N or N*m.
        expected: joint rates that the last step leads to; set where there is any row.
    """

    def __init__(
        self,
        links: Sequence[Link],
        inertials: Sequence[tuple[float, Array, Array]],
        gravity: Sequence[float],
        *,
        step: float,
        tied: Sequence[Tie],
        correction: float,
        gears: Sequence[Gear],
        holds: Sequence[Hold],
        pushes: Sequence[int],
        twists: Sequence[int],
    ):
        """Lay out the arrays.

        Args:
            links: the chain.
            inertials: of each link: mass, kg; centre of mass from the link's point, (3,) m; inertia about that in the
                axes of the start, (3, 3) kg*m^2.
            gravity: (3,) m/s^2.
            step: s.
            tied: joints that close loops.
            correction: share of a gap that is closed at each step.
            gears: ties between rates.
            holds: friction and drives.
            pushes: links that get forces.
            twists: links that get moments.
        """
        self.first = np.array(rate_indices(links), dtype=np.int64)
        self.rates = sum(RATES[k.kind] for k in links)
        balls = np.cumsum([k.kind == "ball" for k in links]) - 1
        self._links = (
            np.array([_CODE[k.kind] for k in links], dtype=np.int64),
            np.array([k.parent for k in links], dtype=np.int64),
            self.first,
            balls.astype(np.int64),
            _rows([k.point - (links[k.parent].point if k.parent >= 0 else 0.0) for k in links]),
            _rows([k.axis for k in links]),
        )
        self._weights = (
            np.array([m for m, _, _ in inertials], dtype=float),
            _rows([c for _, c, _ in inertials]),
            np.array([i for _, _, i in inertials], dtype=float).reshape(-1, 3, 3),
            np.array(gravity, dtype=float),
        )
        self._ties = (
            np.array([t.first for t in tied], dtype=np.int64),
            np.array([t.second for t in tied], dtype=np.int64),
            _rows([t.point - (links[t.first].point if t.first >= 0 else 0.0) for t in tied]),
            _rows([t.point - (links[t.second].point if t.second >= 0 else 0.0) for t in tied]),
            _rows([t.axis for t in tied]),
            np.array([k for k, t in enumerate(tied) for _ in t.rows], dtype=np.int64),
            np.concatenate([np.zeros((0, 6)), *(t.rows for t in tied)]),
        )
        self._gears = (
            np.array([g.twin for g in gears], dtype=np.int64),
            np.array([g.driven for g in gears], dtype=np.int64),
            np.array([g.ratio for g in gears], dtype=float),
        )
        self._holds = (
            np.array([k.rate for k in holds], dtype=np.int64),
            np.array([k.first for k in holds], dtype=np.int64),
            np.array([k.second for k in holds], dtype=np.int64),
            _rows([k.axis for k in holds]),
        )
        self.target, self.limit, self.held = (np.zeros(len(holds)) for _ in range(3))
        self.geared = np.zeros(len(gears))
        self.tied, self.expected = np.zeros(len(self._ties[5])), np.zeros(self.rates)
        self.push_link, self.push = np.array(pushes, dtype=np.int64), np.zeros((len(pushes), 6))
        self.twist_link, self.twist = np.array(twists, dtype=np.int64), np.zeros((len(twists), 3))
        self._step, self._correction = step, correction

    def loads(self, coordinate: Array, balls: Array, rate: Array, before: Array, given: Array) -> Array:
        """All joint loads for the coming step but those that the engine knows itself (weight, centrifugal).

        Args:
            coordinate: of each link that turns or slides (others ignored), (L,).
            balls: rotation of each ball from the start, (balls, 4).
            rate: joint rates before the step, (rates,).
            before: one step earlier.
            given: known joint loads, such as of motors and springs, (rates,) N*m or N.

        Returns:
            (rates,), a ball's in the link's own axes; `held` is set too.
        """
        return np.asarray(
            _loads(
                self._links,
                self._weights,
                self._ties,
                self._gears,
                self._holds,
                (self.push_link, self.push, self.twist_link, self.twist),
                (self.target, self.limit, self.held, self.tied, self.geared, self.expected),
                (coordinate, balls, rate, before, given),
                self._step,
                self._correction,
            )
        )

    def bodies(self, coordinate: Array, balls: Array, rate: Array) -> tuple[Array, Array, Array, Array]:
        """Where the links are and how they move.

        Args:
            coordinate: as for `loads`.
            balls: as for `loads`.
            rate: joint rates, (rates,).

        Returns:
            Of each link, world: centre of mass (L, 3) m, rotation (L, 3, 3), velocity of the centre (L, 3) m/s, spin
            (L, 3) rad/s.
        """
        found: tuple[Array, Array, Array, Array] = _bodies(
            self._links, self._weights, coordinate, balls, rate
        )
        return found

    def reactions(
        self, coordinate: Array, balls: Array, rates: tuple[Array, Array, Array]
    ) -> tuple[Array, Array, Array, Array]:
        """What each link got through its joint in the step just done, and what each tie carried.

        Args:
            coordinate: at the start of that step.
            balls: rotations of the balls then.
            rates: one step before it, at its start, and at its end; (rates,) each.

        Returns:
            Wrench on each link about the world's origin (L, 6), moment N*m and force N; the same on the second link of
            each tie (T, 6); origins (L, 3) m and rotations (L, 3, 3) of the links.
        """
        found: tuple[Array, Array, Array, Array] = _reactions(
            self._links,
            self._weights,
            self._ties,
            (self.push_link, self.push, self.twist_link, self.twist),
            (self._holds, self.held, self.tied),
            (coordinate, balls, *rates),
            self._step,
        )
        return found


def _rows(vectors: Sequence[Array]) -> Array:
    return np.array(vectors, dtype=float).reshape(-1, 3)


@compiled
def _bodies(links: Any, weights: Any, coordinate: Any, balls: Any, rate: Any) -> Any:
    n, d = len(links[0]), len(rate)
    origin, turn, motion = np.zeros((n, 3)), np.zeros((n, 3, 3)), np.zeros((d, 6))
    frames(links, coordinate, balls, origin, turn, motion)
    kind, parent, first = links[0], links[1], links[2]
    moved, speed = np.zeros((n, 6)), np.zeros((n, 3))
    for i in range(n):
        if parent[i] >= 0:
            moved[i] = moved[parent[i]]
        for k in range(first[i], first[i] + (3 if kind[i] == 2 else (0 if kind[i] == 3 else 1))):
            for j in range(6):
                moved[i, j] += motion[k, j] * rate[k]
        turned(turn[i], weights[1][i], origin[i])
        speed[i] = moved[i, 3:]
        cross(moved[i, :3], origin[i], speed[i])
    return origin, turn, speed, moved[:, :3].copy()


@compiled
def _reactions(links: Any, weights: Any, ties: Any, outer: Any, solved: Any, state: Any, step: float) -> Any:  # noqa: C901, PLR0912 (one inner loop)
    coordinate, balls, before, rate, after = state
    holds, held, tied = solved
    n, d = len(links[0]), len(rate)
    origin, turn, motion = np.zeros((n, 3)), np.zeros((n, 3, 3)), np.zeros((d, 6))
    frames(links, coordinate, balls, origin, turn, motion)
    lever, inertia = np.zeros((n, 3)), np.zeros((n, 3, 3))
    weigh(weights, origin, turn, lever, inertia)
    load, whole, place, pull = np.zeros((n, 6)), np.zeros(d), np.zeros(3), np.zeros(3)
    push_link, push, twist_link, twist = outer
    for m in range(len(push_link)):
        for j in range(3):
            load[push_link[m], 3 + j] -= push[m, 3 + j]
        cross(push[m, 3:], push[m, :3], load[push_link[m], :3])
    for m in range(len(twist_link)):
        for j in range(3):
            load[twist_link[m], j] -= twist[m, j]
    # Friction and drives of pins that close loops; those of the tree act within its own joints.
    for m in range(len(held)):
        if holds[0][m] < 0:
            faced(turn, holds[1][m], holds[3][m], pull)
            for j in range(3):
                if holds[2][m] >= 0:
                    load[holds[2][m], j] -= held[m] * pull[j]
                if holds[1][m] >= 0:
                    load[holds[1][m], j] += held[m] * pull[j]
    # Ties push both bodies at the second one's point.
    carried = np.zeros((len(ties[0]), 6))
    for r in range(len(tied)):
        m = ties[5][r]
        faced(turn, ties[0][m], ties[6][r, :3], pull)
        placed(origin, turn, ties[1][m], ties[3][m], place)
        for j in range(3):
            carried[m, 3 + j] += tied[r] * pull[j]
            place[j] *= tied[r]
        cross(place, pull, carried[m, :3])
        faced(turn, ties[0][m], ties[6][r, 3:], pull)
        for j in range(3):
            carried[m, j] += tied[r] * pull[j]
    for m in range(len(carried)):
        for j in range(6):
            if ties[1][m] >= 0:
                load[ties[1][m], j] -= carried[m, j]
            if ties[0][m] >= 0:
                load[ties[0][m], j] += carried[m, j]
    bias(
        links, weights[3], weights[0], lever, inertia, motion, 1.5 * rate - 0.5 * before, (after - rate) / step,
        load, whole,
    )  # fmt: skip
    return load, carried, origin, turn


@compiled
def _loads(  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    links: Any, weights: Any, ties: Any, gears: Any, holds: Any, outer: Any, limits: Any, state: Any, step: float,
    correction: float,
) -> Any:  # fmt: skip
    coordinate, balls, rate, before, given = state
    n, d = len(links[0]), len(rate)
    origin, turn, motion = np.zeros((n, 3)), np.zeros((n, 3, 3)), np.zeros((d, 6))
    frames(links, coordinate, balls, origin, turn, motion)

    mass, lever, inertia = weights[0].copy(), np.zeros((n, 3)), np.zeros((n, 3, 3))
    weigh(weights, origin, turn, lever, inertia)

    # Known loads: given ones, forces and moments on links; bias at the start (the engine's) and in the middle.
    result = given.copy()
    speed, spin = np.zeros((3, d)), np.zeros((3, d))
    push_link, push, twist_link, twist = outer
    for m in range(len(push_link)):
        speed[:] = 0.0
        motion_rows(links, motion, push_link[m], push[m, :3], 1.0, speed, spin)
        for k in range(d):
            result[k] += speed[0, k] * push[m, 3] + speed[1, k] * push[m, 4] + speed[2, k] * push[m, 5]
    for m in range(len(twist_link)):
        spin[:] = 0.0
        motion_rows(links, motion, twist_link[m], twist[m], 1.0, speed, spin)
        for k in range(d):
            result[k] += spin[0, k] * twist[m, 0] + spin[1, k] * twist[m, 1] + spin[2, k] * twist[m, 2]
    now, middle, steady = np.zeros(d), np.zeros(d), np.zeros(d)
    bias(links, weights[3], mass, lever, inertia, motion, rate, steady, np.zeros((n, 6)), now)
    bias(
        links,
        weights[3],
        mass,
        lever,
        inertia,
        motion,
        1.5 * rate - 0.5 * before,
        steady,
        np.zeros((n, 6)),
        middle,
    )
    free = result - middle
    for k in range(d):
        result[k] += now[k] - middle[k]

    target, limit, held, pulled, geared, expected = limits
    tied = len(ties[5])
    equal, boxes = tied + len(gears[0]), len(target)
    rows = equal + boxes
    held[:] = 0.0
    if rows == 0:
        return result

    matrix = np.zeros((d, d))
    masses(links, mass, lever, inertia, motion, matrix)
    factor(matrix, 1e-14)
    solve(matrix, free)
    for k in range(d):
        free[k] = rate[k] + step * free[k]

    jacobian, wanted = np.zeros((rows, d)), np.zeros(rows)
    gap = np.zeros(equal)
    tie_rows(links, ties, origin, turn, motion, jacobian, gap)
    gear_rows(gears, jacobian[tied:equal])
    hold_rows(links, holds, turn, motion, jacobian[equal:])
    wanted[equal:] = target

    easy = jacobian.copy()  # rows of J M^-1
    for r in range(rows):
        solve(matrix, easy[r])
        for k in range(d):
            wanted[r] -= jacobian[r, k] * free[k]
    stiff = np.zeros((rows, rows))
    for r in range(rows):
        for s in range(r + 1):
            value = 0.0
            for k in range(d):
                value += jacobian[r, k] * easy[s, k]
            stiff[r, s] = stiff[s, r] = value
    core = stiff[:equal, :equal].copy()
    if equal > 0:
        soft, wish = core.copy(), -correction / step * gap
        for r in range(equal):
            soft[r, r] *= 1.0 + _SOFT
        factor(soft, 0.0)
        solve(soft, wish)
        for r in range(equal):
            for k in range(equal):
                wanted[r] += core[r, k] * wish[k]
    factor(core, 1e-11)

    impulse = np.zeros(rows)
    impulse[:equal] = wanted[:equal]
    solve(core, impulse[:equal])
    if boxes > 0:
        answer = np.zeros((boxes, equal))
        schur, rest = np.zeros((boxes, boxes)), np.zeros(boxes)
        for m in range(boxes):
            answer[m] = stiff[equal + m, :equal]
            solve(core, answer[m])
        for m in range(boxes):
            rest[m] = wanted[equal + m]
            for k in range(equal):
                rest[m] -= stiff[equal + m, k] * impulse[k]
            for s in range(boxes):
                schur[m, s] = stiff[equal + m, equal + s]
                for k in range(equal):
                    schur[m, s] -= stiff[equal + m, k] * answer[s, k]
        boxed(schur, rest, limit * step, stiff, equal, impulse[equal:])
        for m in range(boxes):
            held[m] = impulse[equal + m] / step
            for k in range(equal):
                impulse[k] -= answer[m, k] * impulse[equal + m]
    pulled[:] = impulse[:tied] / step
    geared[:] = impulse[tied:equal] / step
    expected[:] = free
    for r in range(rows):
        for k in range(d):
            expected[k] += easy[r, k] * impulse[r]
            result[k] += jacobian[r, k] * impulse[r] / step
    return result
