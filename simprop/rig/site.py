"""Where the prop stands and for how long: wind, stand, season, temperature, visitors."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from simprop.reading.base import Record
from simprop.reading.fields import Area, Direction, Extents2, Force, Mass, Number, Place, Size, Speed

Positive = Annotated[Number, Field(gt=0)]
NotNegative = Annotated[Number, Field(ge=0)]


class Wind(Record):
    """Wind on the prop.

    Attributes:
        speed: m/s.
        toward: where it blows to; None: the worst of all directions.
        area: area it meets, m^2; None: estimated from the drawn parts.
        drag: drag coefficient of that area.
        at: middle of that area; needed with `area`.
    """

    speed: Annotated[Speed, Field(ge=0)]
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

    feet: tuple[Place, ...] = ()
    base: Extents2 | None = None
    at: Place | None = None
    ballast: Mass | None = None
    ballast_at: Place | None = None
    friction: NotNegative | None = None
    stakes: Annotated[int, Field(ge=0, le=40)] = 0
    stake_pull: Annotated[Force, Field(ge=0)] = 0.0
    anchored: bool = False


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
        overhead: the prop moves over people's heads.
    """

    side: Literal["-y", "y", "x", "-x", "all"] = "-y"
    barrier: Size | None = None
    overhead: bool = False
