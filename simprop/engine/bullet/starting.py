"""State of the chain at the first step: speeds of time 0 with the pose half a step later, loops closed.

A solver that closes gaps g by asking for the speed g' = -c g / h at the pose before the step runs with a
small lag: in steady motion the gap that it leaves is just what its correction makes good. The start pose gets
that gap, h / c times the rate at which the loop would open, or the first steps would show wrong accelerations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.bullet.links import Link, Tie, gaps
from simprop.errors import EngineError
from simprop.geometry.arrays import Array
from simprop.geometry.turning import multiply, of_vector

_CLOSED = 1e-12
_LOOKS = 20


@dataclass(frozen=True)
class Start:
    """State of every link.

    Attributes:
        coordinate: of links that turn or slide, (L,) rad or m.
        rate: (L,) rad/s or m/s.
        balls: link -> rotation of a ball, (4,).
        ball_rates: link -> its rate against the parent in the link's own axes, (3,) rad/s.
    """

    coordinate: Array
    rate: Array
    balls: dict[int, Array]
    ball_rates: dict[int, Array]


def start_state(
    assembly: Assembly, links: Sequence[Link], tied: Sequence[Tie], step: float, correction: float
) -> Start:
    """Where the chain stands when the first step is taken.

    Args:
        assembly: with start speeds.
        links: its chain.
        tied: where its loops close.
        step: s.
        correction: share of a gap that is closed at each step.

    Raises:
        EngineError: when the loops can't be closed half a step on.
    """
    rate, ball_rates = _rates(assembly, links)
    coordinate = 0.5 * step * rate
    vectors = {i: 0.5 * step * w for i, w in ball_rates.items()}
    balls = {i: of_vector(v) for i, v in vectors.items()}
    if tied and (rate.any() or any(w.any() for w in ball_rates.values())):
        still = np.zeros(sum(len(t.rows) for t in tied))
        coordinate, balls = _closed(assembly, links, tied, coordinate, balls, still)
        lag = _opening(links, tied, coordinate, balls, rate, ball_rates)
        coordinate, balls = _closed(assembly, links, tied, coordinate, balls, step / correction * lag)
    return Start(coordinate, rate, balls, ball_rates)


def _opening(
    links: Sequence[Link],
    tied: Sequence[Tie],
    coordinate: Array,
    balls: dict[int, Array],
    rate: Array,
    ball_rates: dict[int, Array],
) -> Array:
    """Rates of the ties' gaps at a pose and the rates of the links, by a central difference."""
    tiny = 1e-6 / max(1.0, float(np.abs(rate).max(initial=0.0)))
    signs = np.array([-1.0, 1.0])
    moved = coordinate + tiny * signs[:, None] * rate
    turned = {i: multiply(b, of_vector(tiny * signs[:, None] * ball_rates[i])) for i, b in balls.items()}
    apart = gaps(links, tied, moved, turned)
    return np.asarray((apart[1] - apart[0]) / (2.0 * tiny))


def _rates(assembly: Assembly, links: Sequence[Link]) -> tuple[Array, dict[int, Array]]:
    rate = np.zeros(len(links))
    balls = {i: np.zeros(3) for i, k in enumerate(links) if k.kind == "ball"}
    velocity, spin = assembly.velocity, assembly.spin
    for branch in assembly.tree:
        run = _run(links, branch.body)
        relative_spin, speed = spin[branch.body], velocity[branch.body]
        if branch.parent >= 0:
            arm = assembly.bodies[branch.body].com - assembly.bodies[branch.parent].com
            relative_spin = relative_spin - spin[branch.parent]
            speed = speed - velocity[branch.parent] - np.cross(spin[branch.parent], arm)
        for i in run:
            link = links[i]
            floats = branch.joint is None and link.kind == "slide"
            if link.kind == "ball":
                balls[i] = relative_spin
            elif link.axis_index >= 0 and link.kind == "turn":
                rate[i] = link.axis @ relative_spin
            elif link.axis_index >= 0 or floats:
                arm = link.point - assembly.bodies[branch.body].com
                rate[i] = link.axis @ (speed + np.cross(relative_spin, arm))
    of_axis = {k.axis_index: i for i, k in enumerate(links) if k.axis_index >= 0}
    for i, link in enumerate(links):
        if link.rotor is not None:
            rate[i] = link.rotor.ratio * rate[of_axis[link.rotor.axis]]
    return rate, balls


def _run(links: Sequence[Link], body: int) -> list[int]:
    """Links from a body's own back to the one that hangs on its parent body."""
    i = next(i for i, k in enumerate(links) if k.body == body)
    run = [i]
    while links[i].parent >= 0 and links[links[i].parent].body < 0:
        i = links[i].parent
        run.append(i)
    return run


def _closed(
    assembly: Assembly,
    links: Sequence[Link],
    tied: Sequence[Tie],
    coordinate: Array,
    balls: dict[int, Array],
    wanted: Array,
) -> tuple[Array, dict[int, Array]]:
    """Newton steps of least size from a pose to one where the ties have the wanted gaps."""
    free = [i for i, k in enumerate(links) if k.kind in ("turn", "slide") and k.rotor is None]
    columns = len(free) + 3 * len(balls)
    nudge = 1e-6
    worst = np.inf
    for _ in range(_LOOKS):
        tried = np.tile(coordinate, (1 + columns, 1))
        for k, i in enumerate(free):
            tried[1 + k, i] += nudge
        turned = {i: np.tile(b, (1 + columns, 1)) for i, b in balls.items()}
        for k, (i, b) in enumerate(balls.items()):
            for j in range(3):
                turned[i][1 + len(free) + 3 * k + j] = multiply(b, of_vector(nudge * np.eye(3)[j]))
        apart = gaps(links, tied, tried, turned) - wanted
        worst = float(np.abs(apart[0]).max(initial=0.0))
        if worst < _CLOSED:
            return coordinate, balls
        slope = (apart[1:] - apart[0]).T / nudge
        move = np.linalg.lstsq(slope, -apart[0], rcond=1e-6)[0]
        coordinate = coordinate.copy()
        coordinate[free] += move[: len(free)]
        balls = {
            i: multiply(b, of_vector(move[len(free) + 3 * k : len(free) + 3 * k + 3]))
            for k, (i, b) in enumerate(balls.items())
        }
    name = assembly.joints[tied[0].joint].name
    raise EngineError(
        f"at 0 s the loop at joint {name!r} doesn't close half a step on (a gap of {worst * 1e3:.3g} mm): "
        "the step is too long for the start speeds"
    )
