"""How classes of motors are built: gearbox, can, shaft and mounting holes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from simprop.catalog.load import needed, table
from simprop.catalog.motors import motor
from simprop.quantities import to_si, whole_literal

SOURCE = "ordinary sizes of the kind, from memory"
"""Where the sizes of the catalogue come from."""


@dataclass(frozen=True)
class Built:
    """The outside of a motor; its shaft points one way, its can that way's back or a way square to it.

    Attributes:
        gearbox: its length along the shaft, along the can and across both, m.
        round: it is a drum about its own middle, as wide as it is across.
        can: diameter and length, m; (0, 0) without one.
        across: the can lies square to the shaft; False: behind the gearbox, along the shaft.
        shaft: diameter, m.
        out: how far the shaft stands out of the gearbox, m.
        aside: how far the shaft is from the gearbox's middle, away from the can, m.
        holes: how many mounting holes.
        circle: diameter of the circle about the shaft or the middle that they lie on, m.
        hole: their diameter, m.
        source: where the sizes come from.
    """

    gearbox: tuple[float, float, float]
    round: bool
    can: tuple[float, float]
    across: bool
    shaft: float
    out: float
    aside: float
    holes: int
    circle: float
    hole: float
    source: str


@cache
def built(name: str) -> Built | None:
    """How a class of motor is built; None where the catalogue doesn't say.

    Raises:
        UnknownNameError: for a class that the catalogue doesn't have.

    Example:
        >>> built("wiper").holes, round(built("gearmotor 37 mm").circle * 1e3, 3), built("linear 330")
        (3, 31.0, None)
    """
    name = motor(name).name
    rows: list[Mapping[str, Any]] = [row for row in table("motor_builds").values() if name in row["of"]]
    if not rows:
        return None
    row, shaft, holes = rows[0], rows[0]["shaft"], rows[0]["holes"]
    length, along, across = _sizes(row["gearbox"])
    diameter, can = _sizes(row["can"]) if "can" in row else (0.0, 0.0)
    return Built(
        (length, along, across),
        bool(row.get("round", False)),
        (diameter, can),
        row.get("lies") == "across",
        needed(shaft, "diameter", "length"),
        needed(shaft, "out", "length"),
        needed(shaft, "aside", "length"),
        int(holes["count"]),
        needed(holes, "circle", "length"),
        needed(holes, "size", "length"),
        SOURCE,
    )


def _sizes(text: str) -> list[float]:
    """Sizes with an x between them and one unit at the end, m."""
    unit = str(text).split()[-1]
    rows = str(text).removesuffix(unit).split("x")
    return [to_si(whole_literal(f"{size.strip()} {unit}"), "length") for size in rows]
