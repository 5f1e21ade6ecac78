"""What ties two axes by friction alone, for the exudyn engine: a bristle on how far one goes against the other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.exudyn.axes import LOSS, QUICK, Bristle
from simprop.engine.exudyn.native import Element
from simprop.engine.mobility import Mobility

GIVES = 1e-7
"""How far it gives before it slips, m: what is less drowns in rounding."""


class Slips:
    """All of a run.

    Args:
        exu: the engine, and its items.
        mbs: the engine's system.
        coordinates: marker of each axis that takes part.
        assembly: the prop.
        actuation: what acts on it.
        step: s.

    Attributes:
        bristles: of each, on the coordinate of its second axis less ratio times the first.
    """

    def __init__(
        self,
        exu: Any,
        mbs: Any,
        coordinates: dict[int, Any],
        assembly: Assembly,
        actuation: Actuation,
        step: float,
    ):
        self._laws, self._step = actuation.slips, step
        mobility = Mobility(assembly, actuation)
        self.bristles, self._elements = [], []
        for slip in self._laws:
            easy = mobility.ease(slip.axes)
            n = (-slip.ratio, 1.0)
            ease = sum(n[i] * float(easy[i, j]) * n[j] for i in (0, 1) for j in (0, 1))
            mass = 1.0 / max(ease, 1e-12)
            stiffness = min(mass * (QUICK / step) ** 2, slip.static * slip.lever / GIVES)
            self.bristles.append(Bristle(stiffness, 2 * LOSS * stiffness * step / QUICK, slip.static))
            first, second = (coordinates[a] for a in slip.axes)
            loads = [mbs.AddLoad(exu.LoadCoordinate(markerNumber=m, load=0.0)) for m in (second, first)]
            connector = mbs.AddObject(
                exu.CoordinateSpringDamperExt(
                    markerNumbers=[first, second], factor0=float(slip.ratio), factor1=1.0
                )
            )
            self._elements.append(Element(connector, _constant(loads, slip.ratio), _never))

    def _at(self, k: int, where: Sequence[float], speed: Sequence[float]) -> tuple[float, float]:
        first, second = self._laws[k].axes
        ratio = self._laws[k].ratio
        return where[second] - ratio * where[first], speed[second] - ratio * speed[first]

    def forces(self, where: Sequence[float], speed: Sequence[float], elapsed: float) -> list[float]:
        """Force of each on the body that its first joint moves, N, a time after the step began."""
        return [
            -b.load(*self._at(k, where, speed), elapsed) / self._laws[k].work
            for k, b in enumerate(self.bristles)
        ]

    def begin(self, where: Sequence[float], speed: Sequence[float], elapsed: float) -> None:
        """Begin a step, the last of which took a time."""
        for k, bristle in enumerate(self.bristles):
            at, rate = self._at(k, where, speed)
            bristle.limit = self._laws[k].most(rate)
            bristle.put(at, elapsed)
            bristle.wrong(at, rate, 0.0)

    def put(self, mbs: Any, elapsed: float) -> None:
        """Put the laws on their elements as they are some time after the step began."""
        for bristle, element in zip(self.bristles, self._elements, strict=True):
            element.take(mbs, bristle.straight(elapsed))

    def corrected(self, mbs: Any, where: Sequence[float], speed: Sequence[float], elapsed: float) -> bool:
        """Whether one had to be changed now that a step is solved."""
        wrong = False
        for k, (bristle, element) in enumerate(zip(self.bristles, self._elements, strict=True)):
            if bristle.wrong(*self._at(k, where, speed), elapsed):
                wrong |= element.take(mbs, bristle.straight(elapsed))
        return wrong


def _constant(loads: Sequence[Any], ratio: float) -> Any:
    def put(mbs: Any, value: float) -> None:
        mbs.SetLoadParameter(loads[0], "load", value)
        mbs.SetLoadParameter(loads[1], "load", -ratio * value)

    return put


def _never(*_: float) -> float:
    """Its law is straight at all times."""
    return 0.0
