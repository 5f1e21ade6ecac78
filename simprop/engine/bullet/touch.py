"""What touches and what rubs by its load, for the loop of the PyBullet engine."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.bullet.outside import beside
from simprop.engine.bullet.result import Log
from simprop.engine.contact.gripping import Grips
from simprop.engine.contact.meshing import Rubbed
from simprop.engine.contact.touches import TouchData
from simprop.engine.mobility import answers
from simprop.geometry.arrays import Array

if TYPE_CHECKING:
    from simprop.engine.bullet.direct import Direct
    from simprop.engine.bullet.world import World


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
    """Sets the limits of friction that goes with the load of a joint or the force of a coupling.

    Attributes:
        start: row among the limits -> what holds in the first step.
    """

    def __init__(self, assembly: Assembly, actuation: Actuation, world: World, holds: Mapping[int, int]):
        """Lay out.

        Args:
            assembly: what moves.
            actuation: its laws.
            world: the chain, its ties and gears.
            holds: axis -> row of its friction among the limits.
        """
        from simprop.engine.contact.grip_kernel import of_links

        links, tied = world.links, world.tied
        self._grips, self._read = Grips(assembly, actuation.grips), of_links
        self._rubbed = Rubbed(assembly, actuation.rubs, answers(assembly, actuation))
        others = len(world.gears) - len(assembly.couplings)
        self._gears = [others + r.coupling for r in actuation.rubs]
        self._meshed = [r.axis for r in actuation.rubs]
        of_axis = {k.axis_index: i for i, k in enumerate(links) if k.axis_index >= 0}
        of_body = {k.body: i for i, k in enumerate(links) if k.body >= 0}
        of_tie = {t.joint: i for i, t in enumerate(tied)}
        axes = [g.axis for g in actuation.grips]
        joints = [assembly.joints[g.joint] for g in actuation.grips]
        firsts = [of_body.get(j.first, -1) for j in joints]
        ends = [(of_axis.get(g.axis, -1), of_tie.get(g.joint, -1)) for g in actuation.grips]
        rows = [(*e, f) for e, f in zip(ends, firsts, strict=True)]
        self._rows = np.array(rows, dtype=np.int64).reshape(-1, 3)
        on = [links[f].point if f >= 0 else np.zeros(3) for f in firsts]
        arms = [j.point - p for j, p in zip(joints, on, strict=True)]
        self._arms = np.array(arms).reshape(-1, 3)
        self._axes, both = axes, axes + self._meshed
        self._holds = [holds[a] for a in both]
        self._least = {holds[a]: float(actuation.friction[a]) for a in both}
        twins = [(k, beside(assembly, a, of_axis)) for k, a in enumerate(axes) if a not in of_axis]
        self._twins = [
            (k, axes.index(other), holds[axes[k]]) for k, other in twins if other in of_axis and other in axes
        ]
        self._ways = [assembly.axes[a].way for a in axes]
        self.start = self._limits()

    def _limits(self) -> dict[int, float]:
        found = dict(self._least)
        for row, most in zip(self._holds, (*self._grips.limit, *self._rubbed.limit), strict=True):
            found[row] += float(most)
        return found

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
        if self._gears:
            held = direct.held[self._holds[len(self._axes) :]]
            self._rubbed.update(
                direct.geared[self._gears].tolist(), rate[self._meshed].tolist(), held.tolist()
            )
        for row, most in self._limits().items():
            direct.limit[row] = most
