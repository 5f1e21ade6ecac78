"""Pulls and pushes without a motor: gas spring, constant-force spring, counterweight, rope in a hand."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from simprop.forces.springs import STORED
from simprop.joints.kinds import Pair
from simprop.reading.base import Record
from simprop.reading.fields import Damping, Force, Mass, Number, Place, Size, Stiffness, Time, Window
from simprop.reading.kinds import Kinds


class PullBase(Record):
    """What every pull says: where it holds the first body, and where the second."""

    start: Place = Field(alias="from")
    end: Place = Field(alias="to")


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
    force: Force
    ratio: Annotated[Number, Field(ge=1.0)] = 1.3
    longest: Size
    stroke: Size
    friction: Force = 0.0
    damping: Damping = 0.0


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
    force: Force
    free_length: Size
    take_up: Size
    longest: Size


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
    kind: Literal["counterweight"] = "counterweight"
    between: Pair = Field(alias="counterweight")
    mass: Mass
    stiffness: Stiffness | None = None


class HandRope(PullBase):
    """A rope that a hand pulls, from where the hand is (on the first body) to where it holds the second.

    Attributes:
        force: N.
        ramp: time until it pulls in full, s.
        on: when it is pulled.
    """

    kind: Literal["rope"] = "rope"
    between: Pair = Field(alias="rope")
    force: Force
    ramp: Time = 0.2
    on: tuple[Window, ...] | None = None


PULLS: Kinds[Record] = Kinds("pull")
"""The kinds of pull."""

for _kind in (GasStrut, ConstantStrip, HangingWeight, HandRope):
    PULLS.add(_kind)

Pull = Annotated[GasStrut | ConstantStrip | HangingWeight | HandRope, PULLS]
