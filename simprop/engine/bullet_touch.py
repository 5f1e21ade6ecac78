"""What touches and what rubs by its load, for the loop of the PyBullet engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Array, Assembly
from simprop.engine.actuation import Actuation
from simprop.engine.gripping import Grips
from simprop.engine.links import Link, Tie
from simprop.engine.result import Log

if TYPE_CHECKING:
    from simprop.engine.direct import Direct


class Touched:
    """Puts the forces of touch on the chain.

    Attributes:
        pushes: links that get forces, in the order of the rows of `Direct.push` from `start` on.
    """

    def __init__(
        self, assembly: Assembly, actuation: Actuation, of_body: Mapping[int, int], *, start: int, step: float
    ):
        from simprop.engine.touching import Touching

        data = actuation.touches
        self._touching = Touching(assembly, data, step)
        self._bodies, self._links = list(of_body), list(of_body.values())
        ends = [(i, t.second, 1.0) for i, t in enumerate(data)] + [
            (i, t.first, -1.0) for i, t in enumerate(data)
        ]
        ends = [e for e in ends if e[1] in of_body]
        self.pushes = [of_body[body] for _, body, _ in ends]
        self._which = [i for i, _, _ in ends]
        self._sign = np.array([[sign] for _, _, sign in ends]).reshape(-1, 1)
        self._rows = slice(start, start + len(ends))

    def act(self, n: int, direct: Direct, log: Log, state: tuple[Array, Array, Array]) -> None:
        """Work out the forces of step `n` from (coordinates, balls, rates), hand them over and record them."""
        t = self._touching
        centre, turn, speed, spin = direct.bodies(*state)
        t.position[self._bodies], t.turn[self._bodies] = centre[self._links], turn[self._links]
        t.velocity[self._bodies], t.spin[self._bodies] = speed[self._links], spin[self._links]
        t.act()
        rows = direct.push[self._rows]
        rows[:, :3], rows[:, 3:] = t.point[self._which], self._sign * t.force[self._which]
        log.touch_force[n], log.touch_point[n] = t.force, t.point


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
        self._grips = Grips(assembly, actuation.grips)
        of_axis = {k.axis_index: i for i, k in enumerate(links) if k.axis_index >= 0}
        of_body = {k.body: i for i, k in enumerate(links) if k.body >= 0}
        of_tie = {t.joint: i for i, t in enumerate(tied)}
        self._rows = []
        self.start = {
            holds[g.axis]: limit for g, limit in zip(actuation.grips, self._grips.limit, strict=True)
        }
        for k, grip in enumerate(actuation.grips):
            joint = assembly.joints[grip.joint]
            first = of_body.get(joint.first, -1)
            arm = joint.point - (links[first].point if first >= 0 else 0.0)
            link, tie = of_axis.get(grip.axis, -1), of_tie.get(grip.joint, -1)
            least = float(actuation.friction[grip.axis])
            self._rows.append((k, grip.axis, holds[grip.axis], link, tie, first, arm, least))

    def update(
        self, direct: Direct, coordinate: Array, balls: Array, rates: tuple[Array, Array, Array], rate: Array
    ) -> None:
        """Take the step just done (see `Direct.reactions`; `rate` of each axis) and set the limits of the next."""
        load, carried, origin, turn = direct.reactions(coordinate, balls, rates)
        for k, axis, hold, link, tie, first, arm, least in self._rows:
            wrench = load[link] if link >= 0 else carried[tie]
            force, moment, point = wrench[3:], wrench[:3], arm
            if first >= 0:
                back = turn[first].T
                point = origin[first] + turn[first] @ arm
                moment = back @ (moment - _cross(point, force))
                force = back @ force
            else:
                moment = moment - _cross(point, force)
            direct.limit[hold] = least + self._grips.update(k, force, moment, float(rate[axis]))


def _cross(a: Array, b: Array) -> Array:
    x, y, z = a.tolist()
    u, v, w = b.tolist()
    return np.array((y * w - z * v, z * u - x * w, x * v - y * u))
