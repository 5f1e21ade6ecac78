"""What touches and what rubs by its load, for the loop of the PyBullet engine."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.bullet.links import Link, Tie
from simprop.engine.bullet.outside import beside
from simprop.engine.bullet.result import Log
from simprop.engine.contact.gripping import Grips
from simprop.engine.contact.touches import TouchData
from simprop.geometry.arrays import Array

if TYPE_CHECKING:
    from simprop.engine.bullet.direct import Direct


class Touched:
    """Puts the forces of touch on the chain.

    Attributes:
        pushes: links that get forces, in the order of the rows of `Direct.push` from `start` on.
    """

    def __init__(
        self, assembly: Assembly, actuation: Actuation, of_body: Mapping[int, int], *, start: int, step: float
    ):
        from simprop.engine.contact.touching import Touching, of_links, pushes

        data = actuation.touches
        self._touching = t = Touching(assembly, data, step)
        ends = [
            (i, body, sign)
            for sign, side in ((1.0, "second"), (-1.0, "first"))
            for i, body in _on(data, side)
        ]
        ends = [e for e in ends if e[1] in of_body]
        self.pushes = [of_body[body] for _, body, _ in ends]
        self._rows = slice(start, start + len(ends))
        bodies = np.array(list(of_body), dtype=np.int64), np.array(list(of_body.values()), dtype=np.int64)
        self._read, self._bodies, self._own = of_links, bodies, (t.position, t.turn, t.velocity, t.spin)
        which, sign = np.array([i for i, _, _ in ends], dtype=np.int64), np.array([s for _, _, s in ends])
        self._push: Callable[[Array], None] = partial(pushes, which, sign, t.force, t.point)

    def act(self, n: int, direct: Direct, log: Log, state: tuple[Array, Array, Array]) -> None:
        """Work out the forces of step `n` from (coordinates, balls, rates), hand them over and record them."""
        t = self._touching
        self._read(self._bodies, direct.bodies(*state), self._own)
        t.act()
        self._push(direct.push[self._rows])
        log.touch_force[n], log.touch_point[n] = t.force, t.point


def _on(data: Sequence[TouchData], side: str) -> list[tuple[int, int]]:
    """The places of touch with the body on one side of each."""
    return [(i, int(getattr(t, side))) for i, t in enumerate(data)]


class Gripped:
    """Sets the limits of friction that goes with the load.

    Attributes:
        start: row among the limits -> what holds in the first step.
    """

    def __init__(
        self,
        assembly: Assembly,
        actuation: Actuation,
        links: Sequence[Link],
        tied: Sequence[Tie],
        holds: Mapping[int, int],
    ):
        """Lay out.

        Args:
            assembly: what moves.
            actuation: its laws.
            links: the chain.
            tied: its ties.
            holds: axis -> row of its friction among the limits.
        """
        from simprop.engine.contact.grip_kernel import of_links

        self._grips, self._read = Grips(assembly, actuation.grips), of_links
        of_axis = {k.axis_index: i for i, k in enumerate(links) if k.axis_index >= 0}
        of_body = {k.body: i for i, k in enumerate(links) if k.body >= 0}
        of_tie = {t.joint: i for i, t in enumerate(tied)}
        axes = [g.axis for g in actuation.grips]
        joints = [assembly.joints[g.joint] for g in actuation.grips]
        firsts = [of_body.get(j.first, -1) for j in joints]
        ends = [(of_axis.get(g.axis, -1), of_tie.get(g.joint, -1)) for g in actuation.grips]
        self._rows = np.array([(*e, f) for e, f in zip(ends, firsts, strict=True)], dtype=np.int64)
        on = [links[f].point if f >= 0 else np.zeros(3) for f in firsts]
        self._arms = np.array([j.point - p for j, p in zip(joints, on, strict=True)])
        self._holds, self._least = [holds[a] for a in axes], actuation.friction[axes]
        self._axes = axes
        twins = [(k, beside(assembly, a, of_axis)) for k, a in enumerate(axes) if a not in of_axis]
        self._twins = [
            (k, axes.index(other), holds[axes[k]]) for k, other in twins if other in of_axis and other in axes
        ]
        self._ways = [assembly.axes[a].way for a in axes]
        self.start = dict(zip(self._holds, self._grips.limit.tolist(), strict=True))

    def update(
        self, direct: Direct, coordinate: Array, balls: Array, rates: tuple[Array, Array, Array], rate: Array
    ) -> None:
        """Take the step just done (see `Direct.reactions`; `rate` of each axis) and set the limits of the next."""
        grips = self._grips
        self._read(
            self._rows, self._arms, direct.reactions(coordinate, balls, rates), grips.wrench, grips.turn
        )
        for closing, rail, row in self._twins:
            # the friction of a rail that closes a loop acts along the other's coordinate: it belongs to its own place
            turn = grips.turn[closing]
            push = direct.held[row] * (turn @ self._ways[closing])
            away = turn @ (self._arms[closing] - self._arms[rail])
            grips.wrench[rail, :3] -= push
            grips.wrench[rail, 3:] -= np.cross(away, push)
            grips.wrench[closing, :3] += push
        grips.rate[:] = rate[self._axes]
        grips.update()
        direct.limit[self._holds] = self._least + grips.limit
