"""What every fastener says, and what any room may ask of it."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field

from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check, remedied
from simprop.checking.context import Context
from simprop.errors import UnknownNameError, cut
from simprop.fasteners.hexagon import hexagon_bolt
from simprop.geometry.surface import Surface
from simprop.reading.base import Record
from simprop.reading.fields import Direction, Size, fault
from simprop.reading.kinds import Kinds

AXLE = 0.006
"""Diameter of the bolt that is drawn through a pin where nothing says what it is, m."""


def known(look_up: Callable[[str], Any]) -> BeforeValidator:
    """The value as text, if the catalogue knows it; else a fault with the nearest name.

    Args:
        look_up: takes the name, raises UnknownNameError for a name it doesn't know.
    """

    def check(value: Any) -> str:
        try:
            look_up(str(value))
        except UnknownNameError as error:
            allowed = ", ".join(error.allowed)
            raise fault(f"{cut(str(value), 60)!r} is not in the catalogue", allowed, error.nearest) from None
        return str(value)

    check.look_up = look_up  # type: ignore[attr-defined]
    return BeforeValidator(check)


Count = Annotated[int, Field(ge=1, le=24)]


@dataclass(frozen=True)
class Care:
    """How a fastener is looked after: common practice, no source.

    Attributes:
        watch: what to look for.
        tighten: what to tighten, and when.
        replace: what to replace, and when.
    """

    watch: str
    tighten: str
    replace: str


class Fastener(Record):
    """What every way of holding may say.

    Attributes:
        count: how many.
        spacing: how far apart, along a straight row, m.
        along: direction of bolt or screw in the start pose; None: the joint's axis, where it has one.
        PIVOT: it lets a pin turn, so that no motor torque goes through it.
        ALONG_PIPE: where neither it nor the joint says a direction, it lies along the pipe there.
        EYED: it is an eye at the end of a rod, which it lengthens.
        CARE: how it is looked after.
    """

    kind: str
    count: Count = 1
    spacing: Size | None = None
    along: Direction | None = None
    PIVOT: ClassVar[bool] = False
    ALONG_PIPE: ClassVar[bool] = False
    EYED: ClassVar[bool] = False
    CARE: ClassVar[Care] = Care(
        "play, cracks, rust", "after the first night, then each week", "when it is bent, cracked or worn"
    )

    @property
    def called(self) -> str:
        """It in words, with how many where there are more than one."""
        words = " ".join(w for w in (getattr(self, "size", ""), self.kind.replace("_", " ")) if w)
        return words if self.count == 1 else f"{self.count} x {words}"

    @abstractmethod
    def checks(self, ctx: Context) -> list[Check]:
        """All checks of it against the loads of a run."""

    def changes(self, ctx: Context) -> list[Change]:
        """Single changes to try where a check fails, in the order of effort."""
        return []

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        """What is bought for it in one place: what it goes by, and how many.

        Args:
            grip: what it goes through there.
        """
        return (Bought("fittings and clamps", self.kind.replace("_", " "), self.count),)

    @property
    def diameter(self) -> float | None:
        """Of what goes square through the parts, and of the hole it makes in them, m; None where it makes none."""
        return None

    @property
    def bore(self) -> float | None:
        """Of the shaft that the second body sits on as a hub, m; None where it sits on none."""
        return None

    def drawn(self, start: float, end: float) -> Surface:
        """What is seen of it in a pin, along x, the parts lying between `start` and `end`, m."""
        return hexagon_bolt(start, end, AXLE)

    def change(self, words: str, ctx: Context, **update: object) -> Change:
        """A change of some of its fields, in words."""
        return words, (self.model_copy(update=update), ctx)

    def more(self, ctx: Context) -> list[Change]:
        """More of them in a row, as changes to try."""
        spacing = self.spacing or 0.04
        return [
            self.change(f"{n} of them {spacing * 1e3:.4g} mm apart", ctx, count=n, spacing=spacing)
            for n in dict.fromkeys((self.count + 1, self.count * 2, self.count * 4))
        ]


Change = tuple[str, tuple[Fastener, Context]]
"""A change in words, and the fastener and what it sees after it."""

FASTENERS: Kinds[Fastener] = Kinds("way of holding")
"""The kinds of fastener."""


def fastener_checks(hold: Fastener, ctx: Context) -> tuple[Check, ...]:
    """All checks of what holds a joint, with changes worked out for those that fail."""
    found = remedied((hold, ctx), lambda at: at[0].checks(at[1]), lambda at: at[0].changes(at[1]))
    if not ctx.turned_by or not hold.PIVOT:
        return found
    reason = (
        f"{ctx.turned_by} turns this joint, but a {hold.kind.replace('_', ' ')} as a pivot carries no torque: say "
        "what holds the hub on the shaft (`held_by: {set_screw: 1/4 in, shaft: 10 mm}`)"
    )
    return (*found, ctx.not_computed("hub on the motor's shaft", reason))
