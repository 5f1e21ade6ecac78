"""By how much figures are off before they are measured: standard deviations of their logarithm (assumed).

They scale the figures against each other: what readings tell less well than this, they don't tell. Where a reading
states what it may be off by, that counts.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Tunable:
    """A figure of a record that readings on the built prop can tell.

    Attributes:
        key: in the rig file.
        unit: a key of `simprop.quantities.KINDS`.
        words: what it is called.
        spread: standard deviation of its logarithm before anything is measured (assumed).
        of: attribute that has its value where the rig may leave `key` out; "" for `key` itself.
    """

    key: str
    unit: str
    words: str
    spread: float
    of: str = ""


COVER = 2.0
"""What something may be off by, over its standard deviation: some 95 % of a normal one (JCGM 100:2008, 6.3.3)."""

SPEED = 0.1
"""Free speed of a motor of a class."""
TORQUE = 0.15
"""Its torque stalled."""
STALL_CURRENT = 0.15
NO_LOAD_CURRENT = 0.3
FRICTION = 0.5
"""Friction that was guessed."""
WEIGHT = 0.08
"""Of a body as drawn: wood alone varies by as much."""
RATE = 0.1
"""Of a spring: wire diameter counts four times."""
FREE_LENGTH = 0.015
PRELOAD = 0.3
SUPPLY = 0.5
"""Resistance of a supply and its contacts."""
LOAD = 0.15
"""What a prop asks of its motor, by weights and friction."""
BUILT = 0.015
"""How far a linkage as built moves."""
MAINS = 0.005
"""Speed of a motor that follows the mains (IEC 60038 and operators keep within 1 %, from memory)."""
