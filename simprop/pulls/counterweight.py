"""Counterweight."""

from __future__ import annotations

from math import sqrt
from typing import ClassVar, Literal

from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.laws.forms import LOSS, Mounting, Note
from simprop.laws.pull import Counterweight
from simprop.pulls.base import PullBase
from simprop.pulls.looks import Frames, cord, pulley
from simprop.reading.fields import Mass, Stiffness

ROPE_STRETCH = 2e-3
"""Stretch of a counterweight's rope under the weight where no stiffness is stated, m (assumed)."""


class HangingWeight(PullBase):
    """A weight on a rope over a pulley; `start` is the pulley (on the first body), `end` where the rope
    holds the second.

    Attributes:
        mass: kg.
        stiffness: of the rope, N/m; such that the weight stretches it by 2 mm where not given (assumed).
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "A hung weight falls when its rope gives way: box it in, and keep hands and feet out from under it.",
    )

    over: ClassVar[bool] = True
    kind: Literal["counterweight"] = "counterweight"
    between: Pair = Field(alias="counterweight")
    mass: Mass
    stiffness: Stiffness | None = None

    def bought(self) -> tuple[Bought, ...]:
        note = "length: from what it holds over the pulley to the weight in its box"
        return (
            Bought("springs and pulls", f"counterweight, {self.mass:.3g} kg", 1),
            Bought("cords and wheels", "pulley for the rope of a counterweight", 1),
            Bought(
                "cords and wheels", "rope of a counterweight", 1, wears="it frays at the pulley", note=note
            ),
        )

    def law(self, mounting: Mounting, note: Note) -> Counterweight:
        """The weight as a body of its own on a springy rope."""
        stiffness = self.stiffness
        if stiffness is None:
            stiffness = self.mass * mounting.gravity / ROPE_STRETCH
            note(f"its rope stretches by {ROPE_STRETCH * 1e3:g} mm (assumed)")
        damping = 2 * LOSS * sqrt(stiffness * self.mass)
        return Counterweight(self.mass, mounting.length + 1.0, stiffness, damping, mounting.gravity)

    def drawn(self, lengths: Array) -> Frames:
        return [cord()], [pulley()], []
