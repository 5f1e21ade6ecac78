"""Where the prop stands and for how long, and what it is cut from: wind, stand, season, visitors, stock."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from simprop.catalog.load import table
from simprop.errors import nearest
from simprop.reading.base import Record
from simprop.reading.fields import (
    AboveZero,
    Area,
    Direction,
    Extents2,
    Force,
    Length,
    Mass,
    NotNegative,
    Number,
    Place,
    Point,
    Size,
    Speed,
    fault,
)

Positive = Annotated[Number, AboveZero]


def _spread(feet: tuple[Point, ...]) -> tuple[Point, ...]:
    """Feet that span something, at least a line."""
    if len(feet) > 1 and all(
        max(abs(a - b) for a, b in zip(f[:2], feet[0][:2], strict=True)) < 1e-3 for f in feet
    ):
        raise fault("all feet stand on one spot", "points apart from each other")
    return feet


class Wind(Record):
    """Wind on the prop.

    Attributes:
        speed: m/s.
        toward: where it blows to; None: the worst of all directions.
        area: area it meets, m^2; None: estimated from the drawn parts.
        drag: drag coefficient of that area.
        at: middle of that area; needed with `area`.
    """

    speed: Annotated[Speed, NotNegative]
    toward: Direction | None = None
    area: Area | None = None
    drag: Positive = 1.2
    at: Place | None = None


class Stand(Record):
    """How the prop meets the ground.

    Attributes:
        feet: points that carry it: on the ground, or where brackets are fastened; (): the lowest points of what
            stands still.
        base: or a rectangle x by y, centred under `at`.
        at: middle of the base; None: under the origin.
        ballast: mass put on the stand, kg, at `ballast_at` (None: over the middle of the feet).
        friction: between feet and ground; None: assumed.
        stakes: how many stakes or screws hold it down.
        stake_pull: what each one holds upwards, N.
        anchored: bolted to a wall, a floor or a tree: it can't tip.
    """

    feet: Annotated[tuple[Place, ...], AfterValidator(_spread)] = ()
    base: Extents2 | None = None
    at: Place | None = None
    ballast: Mass | None = None
    ballast_at: Place | None = None
    friction: Annotated[Number, NotNegative] | None = None
    stakes: Annotated[int, Field(ge=0, le=40)] = 0
    stake_pull: Annotated[Force, NotNegative] = 0.0
    anchored: bool = False

    @model_validator(mode="after")
    def _stands(self) -> Stand:
        if self.stakes and not self.stake_pull:
            raise fault("stakes hold as much as each of them is said to hold", "stake_pull: 300 N")
        return self


class Season(Record):
    """How long the prop must last.

    Attributes:
        nights: number of nights.
        hours: running hours a night.
        runs_per_hour: how often the run of this file is played in an hour; None: one after the other.
    """

    nights: Positive
    hours: Annotated[Number, Field(gt=0, le=24)]
    runs_per_hour: Positive | None = None


class Visitors(Record):
    """Where visitors stand.

    Attributes:
        side: from which side they come.
        barrier: distance of the fence from the origin towards that side, m; None: no fence.
        height: of the fence over z = 0, m; under 1 m it keeps nobody off.
        overhead: the prop moves over people's heads.
    """

    side: Literal["-y", "y", "x", "-x", "all"] = "-y"
    barrier: Size | None = None
    height: Size = 1.0
    overhead: bool = False


class StockField(Record):
    """How a sort of stock is sold where it is bought.

    Attributes:
        length: as sold, m; None: as is usual.
        kerf: what the saw takes with each cut, m; None: as is usual.
    """

    length: Size | None = None
    kerf: Annotated[Length, NotNegative] | None = None


def _of_length(value: Any) -> Any:
    return value if isinstance(value, Mapping | StockField) else {"length": value}


def _sorts(value: dict[str, StockField]) -> dict[str, StockField]:
    sorts = list(table("stock"))
    for name in value:
        if name not in sorts:
            raise fault(f"there is no stock {name!r}", ", ".join(sorts), nearest(name, sorts))
    return value


StockLengths = Annotated[
    dict[str, Annotated[StockField, BeforeValidator(_of_length)]], AfterValidator(_sorts)
]
"""``{pipe: 10 ft, batten: {length: 2.1 m, kerf: 2 mm}}``"""
