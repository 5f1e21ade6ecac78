"""Rope in a hand."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from simprop.joints.kinds import Pair
from simprop.laws.forms import Mounting, Note
from simprop.laws.pull import Rope
from simprop.pulls.base import PullBase
from simprop.reading.fields import AboveZero, Force, Time, Window


class HandRope(PullBase):
    """A rope that a hand pulls, from where the hand is (on the first body) to where it holds the second.

    Attributes:
        force: N.
        ramp: time until it pulls in full, s.
        on: when it is pulled.
    """

    kind: Literal["rope"] = "rope"
    between: Pair = Field(alias="rope")
    force: Annotated[Force, AboveZero]
    ramp: Time = 0.2
    on: tuple[Window, ...] | None = None

    def law(self, mounting: Mounting, note: Note) -> Rope:
        return Rope(self.force, self.ramp, self.on)
