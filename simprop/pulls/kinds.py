"""All kinds of pull."""

from __future__ import annotations

from typing import Annotated

from simprop.pulls.base import PULLS, PullBase
from simprop.pulls.constant_force import ConstantStrip
from simprop.pulls.counterweight import HangingWeight
from simprop.pulls.gas_spring import GasStrut
from simprop.pulls.rope import HandRope

for _kind in (GasStrut, ConstantStrip, HangingWeight, HandRope):
    PULLS.add(_kind)

Pull = Annotated[PullBase, PULLS]
