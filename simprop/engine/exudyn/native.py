"""Laws as the engine's own elements where their form allows: a constant, a stiffness and a damping.

Most laws are that over a step: what sticks or slips, a motor on its line or at its current limit, a spring that is
taut. Those cost nothing within the iterations of a step. What isn't - a stop within reach, an edge of a law - is asked
for there, and the engine's element does nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Straight = tuple[float, float, float]
"""What acts along a coordinate as a constant, a factor on the coordinate and one on its rate."""
NOTHING: Straight = (0.0, 0.0, 0.0)


class Element:
    """A connector of the engine that is told its law anew where that changes.

    Args:
        connector: number of the connector.
        set_constant: puts its constant.
        asked: the law as the engine's user function.
        reference: coordinate from which the connector counts.

    Attributes:
        form: in force; None: asked for within the iterations.
    """

    def __init__(
        self,
        connector: Any,
        set_constant: Callable[[Any, float], None],
        asked: Callable[..., float],
        reference: float = 0.0,
    ):
        self.connector, self._constant, self._asked = connector, set_constant, asked
        self._reference = reference
        self.form: Straight | None = NOTHING
        self._put = NOTHING

    def take(self, mbs: Any, form: Straight | None) -> bool:
        """Put a law on the connector; True if that is another than before."""
        if form == self.form:
            return False
        if form is None or self.form is None:
            mbs.SetObjectParameter(
                self.connector, "springForceUserFunction", self._asked if form is None else 0
            )
        self.form = form
        old = self._put
        new = NOTHING if form is None else (form[0] + form[1] * self._reference, form[1], form[2])
        if new[0] != old[0]:
            self._constant(mbs, new[0])
        if new[1] != old[1]:
            mbs.SetObjectParameter(self.connector, "stiffness", -new[1])
        if new[2] != old[2]:
            mbs.SetObjectParameter(self.connector, "damping", -new[2])
        self._put = new
        return True
