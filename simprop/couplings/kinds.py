"""All kinds of coupling."""

from __future__ import annotations

from typing import Annotated

from simprop.couplings import chain, gears, rack, screw, slipping, worm  # noqa: F401 - each enters `COUPLINGS`
from simprop.couplings.base import COUPLINGS, CouplingBase

Coupling = Annotated[CouplingBase, COUPLINGS]
