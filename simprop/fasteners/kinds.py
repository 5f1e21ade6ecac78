"""What holds a joint together, as the builder says it: ``{bolt: 1/4-20, grade: 2, nut: nylon insert}``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from simprop.catalog import fasteners
from simprop.catalog.load import material
from simprop.errors import UnknownNameError
from simprop.reading.base import Record
from simprop.reading.fields import Area, Direction, Force, Number, Size, Time, fault
from simprop.reading.kinds import Kinds


def _known(look_up: Callable[[str], Any]) -> BeforeValidator:
    """The value as text, if the catalogue knows it; else a fault with the nearest name."""

    def check(value: Any) -> str:
        try:
            look_up(str(value))
        except UnknownNameError as error:
            allowed = ", ".join(error.allowed)
            raise fault(f"{value!r} is not in the catalogue", allowed, error.nearest) from None
        return str(value)

    return BeforeValidator(check)


Count = Annotated[int, Field(ge=1, le=24)]


class HeldBy(Record):
    """What every way of holding may say.

    Attributes:
        count: how many.
        spacing: how far apart, along a straight row, m.
        along: direction of bolt or screw in the start pose; None: the joint's axis, where it has one.
    """

    count: Count = 1
    spacing: Size | None = None
    along: Direction | None = None


class BoltHold(HeldBy):
    """A through-bolt.

    Attributes:
        bolt: size, such as ``1/4-20`` or ``M6``.
        grade: SAE grade (2, 5, 8) or ISO class (4.6, 8.8...).
        nut: what keeps it on.
        shear: single (parts side by side) or double (one part in a fork).
        threads: whether the threads lie in the shear plane.
        sleeve: a tube or bushing carries the pivot in the hole, so the bolt doesn't work in the wall.
        edge: from the middle of the hole to the free end of the part, m; None: assumed by common practice.
        gap: space between the two parts along the bolt (washers), m.
        tightened: clamps the parts together; only where the joint doesn't move.
    """

    kind: Literal["bolt"] = "bolt"
    size: Annotated[str, _known(fasteners.bolt)] = Field(alias="bolt")
    grade: Annotated[str, _known(fasteners.grade)] | None = None
    nut: (
        Literal["nylon insert", "double", "castle and split pin", "plain", "plain and thread locker", "wing"]
        | None
    ) = None
    shear: Literal["single", "double"] = "single"
    threads: Literal["in", "out"] = "in"
    sleeve: bool = False
    edge: Size | None = None
    gap: Size = 0.001
    tightened: bool = False


class ScrewHold(HeldBy):
    """Screws into wood: ``{screw: "#8 wood", count: 4, into: pine, length: 1-1/4 in}``.

    Attributes:
        screw: ``#8 wood``, ``1/4 in lag``, ``#6 drywall``.
        into: wood that the thread is in.
        length: of the screw, m.
        through: thickness of the part under the head, m.
        grain: side or end, of the wood the thread is in.
        wet: gets wet in service.
    """

    kind: Literal["screw"] = "screw"
    size: Annotated[str, _known(fasteners.wood_screw)] = Field(alias="screw")
    into: Annotated[str, _known(material)]
    length: Size
    through: Size | None = None
    grain: Literal["side", "end"] = "side"
    wet: bool = False


class SheetScrewHold(HeldBy):
    """Sheet-metal screws through one thin wall into another."""

    kind: Literal["sheet_screw"] = "sheet_screw"
    size: Annotated[str, _known(fasteners.sheet_screw)] = Field(alias="sheet_screw")


class SocketHold(HeldBy):
    """A pipe in a PVC socket; `pipe`: nominal size, `cured`: time since gluing."""

    kind: Literal["socket"] = "socket"
    how: Literal["glued", "screwed", "dry"] = Field(alias="socket")
    pipe: Annotated[str, _known(fasteners.socket)] | None = None
    cured: Time = 72 * 3600.0
    with_screw: Annotated[str, _known(fasteners.sheet_screw)] = "#8"
    count: Count = 2


class ToggleHold(HeldBy):
    """A spring toggle through a cap or another thin shell; the value is its bolt."""

    kind: Literal["toggle"] = "toggle"
    size: Annotated[str, _known(fasteners.bolt)] = Field(alias="toggle")


class ClampHold(HeldBy):
    """Worm-drive hose clamps round a pipe."""

    kind: Literal["clamp"] = "clamp"
    what: Literal["hose clamp", "strap"] = Field(alias="clamp")
    tension: Force | None = None
    friction: Number | None = None


class SetScrewHold(HeldBy):
    """A hub on a shaft with set screws."""

    kind: Literal["set_screw"] = "set_screw"
    size: Annotated[str, _known(fasteners.set_screw)] = Field(alias="set_screw")
    shaft: Size
    flat: bool = False


class RollPinHold(HeldBy):
    """A slotted spring pin across a shaft (with `shaft`), or as a pivot."""

    kind: Literal["roll_pin"] = "roll_pin"
    size: Annotated[str, _known(fasteners.roll_pin)] = Field(alias="roll_pin")
    shaft: Size | None = None
    shear: Literal["single", "double"] = "double"


class RivetHold(HeldBy):
    """Blind rivets: ``{rivet: 1/8 in aluminium, count: 4, spacing: 30 mm}``."""

    kind: Literal["rivet"] = "rivet"
    size: Annotated[str, _known(fasteners.rivet)] = Field(alias="rivet")


class RodEndHold(HeldBy):
    """A rod end or ball link."""

    kind: Literal["rod_end"] = "rod_end"
    size: Annotated[str, _known(fasteners.rod_end)] = Field(alias="rod_end")


class WeldHold(HeldBy):
    """A fillet weld in steel: its throat, and the length of the run."""

    kind: Literal["weld"] = "weld"
    throat: Size = Field(alias="weld")
    length: Size
    of: Annotated[str, _known(material)] = "A36"


class GlueHold(HeldBy):
    """Glue on wood: which surfaces meet, and how large they are."""

    kind: Literal["glue"] = "glue"
    grain: Literal["side to side", "end to side", "end to end"] = Field(alias="glue")
    area: Area
    wet: bool = False


_KINDS = (
    "bolt",
    "screw",
    "sheet_screw",
    "socket",
    "toggle",
    "clamp",
    "set_screw",
    "roll_pin",
    "rivet",
    "rod_end",
    "weld",
    "glue",
)

FASTENERS: Kinds[Record] = Kinds("way of holding")
"""The kinds of way of holding."""

for _kind in (
    BoltHold,
    ScrewHold,
    SheetScrewHold,
    SocketHold,
    ToggleHold,
    ClampHold,
    SetScrewHold,
    RollPinHold,
    RivetHold,
    RodEndHold,
    WeldHold,
    GlueHold,
):
    FASTENERS.add(_kind)

Holding = Annotated[
    BoltHold
    | ScrewHold
    | SheetScrewHold
    | SocketHold
    | ToggleHold
    | ClampHold
    | SetScrewHold
    | RollPinHold
    | RivetHold
    | RodEndHold
    | WeldHold
    | GlueHold,
    FASTENERS,
]
