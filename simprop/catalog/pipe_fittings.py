"""Fittings of pipes: moulded ones with sockets for PVC pipe, clamped ones for tube."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from simprop.catalog.fasteners import socket
from simprop.catalog.load import find, needed, pipe, table

SOURCE = "ASTM D2466 least laying lengths and walls, from memory"
BODY_WALL = 1.25
"""Wall of a fitting's body over that of its sockets: ASTM D2466, from memory."""
COLLAR, COLLAR_WALL, PLAY, SWIVEL = 1.2, 0.005, 0.0005, 0.75
"""Of a clamped fitting: length of a collar over the tube's diameter, its wall and its play, m, and how far the tubes of
an elbow that can be set to any angle stay from its pivot, over their diameter: ordinary sizes, from memory."""
PLATE = 0.005
"""Thickness of a flange's plate, m (assumed)."""


@dataclass(frozen=True)
class Sized:
    """One way of a fitting.

    Attributes:
        outside: diameter of the pipe or tube, m.
        mouth: inside diameter of the socket or collar, m.
        hub: its outside diameter, m.
        depth: of it, m.
        bore: of the fitting's body behind it, m.
        body: outside diameter of that, m.
        takes: how far a pipe stays from the middle, by `centre`, `half` and `stop`, m.
        nominal: size of a PVC pipe; "" of a clamped fitting.
        material: catalogue name.
        source: where the figures come from.
    """

    outside: float
    mouth: float
    hub: float
    depth: float
    bore: float
    body: float
    takes: Mapping[str, float]
    nominal: str
    material: str
    source: str


@cache
def moulded(name: str) -> Sized:
    """A socket of a moulded fitting by the name of the PVC pipe.

    Raises:
        UnknownNameError: for a size that the catalogue doesn't have.

    Example:
        >>> half = moulded("1/2 in PVC")
        >>> round(half.takes["centre"] * 1e3, 2), round(half.depth * 1e3, 2)
        (12.7, 17.48)
    """
    data, rows = pipe(name), table("pipe_fittings")
    nominal = find("fitting", data.name.removesuffix(" PVC"), rows)
    row, hole = rows[nominal], socket(nominal)
    wall = needed(row, "wall", "length")
    return Sized(
        data.outside,
        hole.entrance,
        hole.entrance + 2 * wall,
        hole.depth,
        hole.bore,
        hole.bore + 2 * BODY_WALL * wall,
        {key: needed(row, key, "length") for key in ("centre", "half", "stop")},
        nominal,
        "PVC",
        f"{SOURCE}; {hole.source}",
    )


@cache
def clamped(outside: float) -> Sized:
    """A collar of a fitting that is clamped on a tube with set screws.

    Args:
        outside: diameter of the tube, m.

    Example:
        >>> round(clamped(0.0424).depth * 1e3, 1)
        50.9
    """
    mouth = outside + PLAY
    hub = mouth + 2 * COLLAR_WALL
    takes = {"centre": outside / 2, "half": outside / 2, "stop": 0.001}
    source = "ordinary sizes of set-screw tube clamps, from memory"
    return Sized(outside, mouth, hub, COLLAR * outside, mouth, hub, takes, "", "steel", source)


def size_of(outside: float) -> Sized:
    """The way of a fitting that takes a pipe of an outside diameter, m: moulded where that is a PVC pipe's.

    Example:
        >>> size_of(0.021336).nominal, size_of(0.0337).nominal
        ('1/2 in', '')
    """
    for name in table("pipes"):
        if abs(pipe(name).outside - outside) < 2e-4 and pipe(name).material == "PVC":
            return moulded(name)
    return clamped(outside)
