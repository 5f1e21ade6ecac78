"""What holds the two ends of a spring, rope, strut or pusher to its bodies: hooks, eyes and brackets."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field, ValidationInfo

from simprop.fasteners.base import FASTENERS, Fastener
from simprop.fasteners.kinds import Holding
from simprop.reading.base import Record


class Ends(Record):
    """What fastens each end, as `joints.NAME.held_by`; one way of holding in place of both keys stands for both ends.

    Attributes:
        first: at ``from``, on the first body; None: not named.
        second: at ``to``, on the second body; None: not named.
    """

    first: Holding | None = Field(None, alias="from")
    second: Holding | None = Field(None, alias="to")


class Ended(Record):
    """What acts between two points, as far as its ends are asked after; where they may be named it has `held_by`.

    Attributes:
        hooked: something must hold its ends; what only pushes may sit in seats.
        over: it runs over a pulley at its first end and down from there, so that both strands pull on that.
    """

    hooked: ClassVar[bool] = True
    over: ClassVar[bool] = False

    @property
    def ends(self) -> tuple[Fastener | None, Fastener | None]:
        """What holds each end; None where nothing is named."""
        held: Ends | None = getattr(self, "held_by", None)
        return (None, None) if held is None else (held.first, held.second)


def _both(value: Any, info: ValidationInfo) -> Any:
    if FASTENERS.key_of(value) is None:
        return value
    one = FASTENERS.validated(value, info)
    return Ends.model_validate({"from": one, "to": one})


Held = Annotated[Ends | None, BeforeValidator(_both)]
"""``{from: {bolt: M6}, to: {screw: "#8 wood", ...}}``, or ``{bolt: M6}`` for both ends; None: nothing is named."""
