"""Friction where the two sides of a coupling meet, step by step, for any engine.

An engine hands over the force of each such coupling in the step just done; the limits it gets hold for the next step.
A limit follows what the last force asks for by a share of the way: so large a share that a force that answers to its
own friction settles at once (see `Rubbed`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import copysign

import numpy as np

from simprop.assembly.types import Assembly
from simprop.couplings.base import Rub
from simprop.engine.contact.gripping import STICKS
from simprop.engine.track import axis_rate
from simprop.geometry.arrays import Array
from simprop.laws.friction import coefficient, thread_friction

SLOW = 1e-6
"""Sliding speed below which the sense of what would slip counts, not that of the speed, m/s."""


@dataclass(frozen=True)
class RubData:
    """Friction of a coupling.

    Attributes:
        axis: index into `Assembly.axes` of its first joint's, which it brakes.
        coupling: index of the coupling.
        law: its friction.
        works: work of a unit coupling force on its two sides, J.
    """

    axis: int
    coupling: int
    law: Rub
    works: tuple[float, float]


def rubs(assembly: Assembly) -> tuple[RubData, ...]:
    """Friction of all couplings that have any, in the order of the rig."""
    found = []
    for k, coupling in enumerate(assembly.couplings):
        law = coupling.tie.rub
        if law is not None and max(law.surfaces.static, law.surfaces.kinetic) > 0.0:
            found.append(RubData(coupling.axes[0], k, law, coupling.works))
    return tuple(found)


def limit(law: Rub, work: float, force: float, rate: float, held: float) -> float:
    """Largest friction load on the axis for a force of the coupling, N*m or N.

    Args:
        law: of the friction.
        work: of a unit coupling force on the first side, J.
        force: of the coupling, N.
        rate: of the axis, rad/s or m/s.
        held: friction load on the axis, which tells at rest which way it would go, N*m or N.

    Example:
        >>> from simprop.catalog.friction import Surfaces
        >>> law = Rub(Surfaces("", 0.15, 0.15, ""), 0.008, 1.0, 0.1)
        >>> up, down = limit(law, 1e-3, 100.0, 1.0, 0.0), limit(law, 1e-3, 100.0, -1.0, 0.0)
        >>> round(up, 4), round(down, 4)  # against the force, which pushes the axis forward, it is the smaller
        (0.1182, 0.1218)
    """
    sliding = rate * law.lever
    goes = rate if abs(sliding) > SLOW else -held
    if goes == 0.0:
        return thread_friction(law.surfaces.static, force, law.lever, law.level, law.slant)
    drives = -copysign(1.0, force * work * goes)
    mu = coefficient(law.surfaces.static, law.surfaces.kinetic, sliding)
    return thread_friction(mu, force, law.lever, law.level, drives * law.slant)


class Rubbed:
    """The limits of couplings' friction over a run.

    With L = k |F| and F = F0 - g L, L + s (k |F| - L) is the answer at once for s = 1 / (1 + k g).

    Attributes:
        data: what rubs.
        limit: present limits, N*m or N, (R,); before the first step what is at rest sticks.
    """

    def __init__(self, assembly: Assembly, data: Sequence[RubData], answers: Sequence[float]):
        """Begin.

        Args:
            assembly: the prop.
            data: see `rubs`.
            answers: g of each: what its coupling's force loses for a friction load of 1 on its axis (see
                `simprop.engine.mobility.answers`).
        """
        self.data = tuple(data)
        rates = np.array([axis_rate(assembly, d.axis) for d in self.data])
        self.limit = np.where(rates == 0.0, STICKS, 0.0)
        self._fresh = np.ones(len(self.data), dtype=bool)
        self._share = []
        for d, answer in zip(self.data, answers, strict=True):
            law = d.law
            gain = thread_friction(law.surfaces.static, 1.0, law.lever, law.level, law.slant)
            self._share.append(1.0 / (1.0 + min(gain, 1e6) * answer))

    def update(self, second: Sequence[float], rate: Sequence[float], held: Sequence[float]) -> None:
        """Set `limit` for the next step.

        Args:
            second: load of the coupling on the axis of its second joint in the step just done, N*m or N, (R,).
            rate: of each axis that rubs, (R,).
            held: friction load on it, (R,).
        """
        for k, data in enumerate(self.data):
            new = limit(data.law, data.works[0], -second[k] / data.works[1], rate[k], held[k])
            share = 1.0 if self._fresh[k] else self._share[k]
            self.limit[k] = min(STICKS, self.limit[k] + share * (new - self.limit[k]))
        self._fresh[:] = False


def shared(data: RubData, force: Array, rate: Array, friction: Array) -> Array:
    """What of the friction of an axis is the coupling's: as much as it can be, (n,) N*m or N.

    Args:
        data: what rubs.
        force: of the coupling, (n,) N.
        rate: of the axis, (n,).
        friction: all of it, (n,) N*m or N.
    """
    found = np.empty(len(force))
    for i, (f, w, q) in enumerate(zip(force.tolist(), rate.tolist(), friction.tolist(), strict=True)):
        found[i] = copysign(min(abs(q), limit(data.law, data.works[0], f, w, q)), q)
    return found


@dataclass(frozen=True)
class SlipData:
    """A coupling that holds by friction alone, on the coordinate of its second axis less ratio times the first.

    Attributes:
        axes: of its two joints.
        ratio: rad/s or m/s of the second for 1 of the first while it holds.
        work: of a unit coupling force on the second side, J.
        static, kinetic: largest load on the second axis, N*m or N.
        lever: sliding for each rad or m of that coordinate, m or 1.
    """

    axes: tuple[int, int]
    ratio: float
    work: float
    static: float
    kinetic: float
    lever: float

    def most(self, rate: float) -> float:
        """Largest load at a rate of that coordinate, N*m or N."""
        return coefficient(self.static, self.kinetic, rate * self.lever)


def slips(assembly: Assembly) -> tuple[SlipData, ...]:
    """All that may slip, in the order of `Assembly.slips`."""
    found = []
    for c in assembly.slips:
        static, kinetic = c.kind.most(*c.sides) or (0.0, 0.0)
        lever = abs(c.works[1])
        found.append(SlipData(c.axes, c.ratio, c.works[1], static * lever, kinetic * lever, lever))
    return tuple(found)
