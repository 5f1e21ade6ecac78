"""Constant-force spring: a rolled strip."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.forces.springs import STORED
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.laws.forms import Mounting, Note
from simprop.laws.pull import ConstantForceSpring
from simprop.pulls.base import PullBase, reach
from simprop.pulls.looks import Frames, strip
from simprop.reading.fields import AboveZero, Force, Size


class ConstantStrip(PullBase):
    """A rolled strip that pulls evenly.

    Attributes:
        force: N.
        free_length: distance of its ends rolled up, m.
        take_up: first extension over which the force builds up, m.
        longest: greatest extension, m.
    """

    cautions: ClassVar[tuple[str, ...]] = (STORED,)

    kind: Literal["constant_force"] = "constant_force"
    between: Pair = Field(alias="constant_force")
    force: Annotated[Force, AboveZero]
    free_length: Size
    take_up: Size
    longest: Size

    def bought(self) -> tuple[Bought, ...]:
        words = f"constant-force spring, {self.force:.3g} N, {1e3 * self.longest:.4g} mm long"
        return (Bought("springs and pulls", words, 1, wears="the strip cracks after so many pulls"),)

    def law(self, mounting: Mounting, note: Note) -> ConstantForceSpring:
        reach(mounting.length, 0.0, self.free_length + self.longest)
        return ConstantForceSpring(self.force, self.free_length, self.take_up, self.longest)

    def drawn(self, lengths: Array) -> Frames:
        return [strip()], [], []
