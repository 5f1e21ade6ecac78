"""Gas spring."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.laws.forms import Mounting, Note
from simprop.laws.pull import GasSpring
from simprop.pulls.base import PullBase, reach
from simprop.pulls.looks import DARK, Frames, ram
from simprop.reading.fields import AboveZero, Damping, Force, NotNegative, Number, Size


class GasStrut(PullBase):
    """Pushes its ends apart, harder when compressed.

    Attributes:
        force: when extended, N.
        ratio: force when compressed over that.
        longest: distance of its ends when extended, m.
        stroke: m.
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "A gas strut pushes with the power off: wedge what it lifts before it is taken off, never open or heat it.",
    )

    kind: Literal["gas_spring"] = "gas_spring"
    between: Pair = Field(alias="gas_spring")
    force: Annotated[Force, AboveZero]
    ratio: Annotated[Number, Field(ge=1.0)] = 1.3
    longest: Size
    stroke: Size
    friction: Annotated[Force, NotNegative] = 0.0
    damping: Damping = 0.0

    def bought(self) -> tuple[Bought, ...]:
        words = f"gas spring, {self.force:.3g} N, {1e3 * self.longest:.4g} mm long, stroke {1e3 * self.stroke:.4g} mm"
        return (Bought("springs and pulls", words, 1, wears="it loses its gas over years"),)

    def law(self, mounting: Mounting, note: Note) -> GasSpring:
        reach(mounting.length, self.longest - self.stroke, self.longest)
        return GasSpring(self.force, self.ratio, self.longest, self.stroke, self.friction, self.damping)

    def drawn(self, lengths: Array) -> Frames:
        return ram(lengths, DARK, slim=0.7)
