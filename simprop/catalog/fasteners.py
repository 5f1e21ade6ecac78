"""Bolts, screws, pins, rivets, rod ends and sockets by the name a builder gives them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from simprop.catalog.load import Row, find, needed, plain, table


@dataclass(frozen=True)
class Bolt:
    """A bolt's size: diameter m, tensile stress area m^2, outside diameter of its plain washer m."""

    name: str
    diameter: float
    area: float
    washer: float
    source: str


@dataclass(frozen=True)
class Grade:
    """A bolt's steel: proof, yield and ultimate strength Pa, shear factor k of EN 1993-1-8 (threads in)."""

    name: str
    proof: float
    yield_strength: float
    ultimate: float
    shear_factor: float
    source: str


@dataclass(frozen=True)
class WoodScrew:
    """A wood screw, lag screw or drywall screw (`sort`): shank and root diameter m, bending yield Pa."""

    name: str
    sort: str
    diameter: float
    root: float
    bending_yield: float
    source: str


@dataclass(frozen=True)
class SheetScrew:
    """A sheet-metal screw: diameter m."""

    name: str
    diameter: float
    source: str


@dataclass(frozen=True)
class SetScrew:
    """A cup-point set screw: diameter m, seating torque N*m, holding force at the shaft's surface N."""

    name: str
    diameter: float
    seating: float
    holding: float
    source: str


@dataclass(frozen=True)
class RollPin:
    """A slotted spring pin: diameter m, least breaking force in double shear N."""

    name: str
    diameter: float
    double_shear: float
    source: str


@dataclass(frozen=True)
class Rivet:
    """A blind rivet: diameter m, least breaking force in shear and in tension N."""

    name: str
    diameter: float
    shear: float
    tension: float
    source: str


@dataclass(frozen=True)
class RodEnd:
    """A rod end or ball link: bore m, static load N, share of it when it swings, greatest tilt rad."""

    name: str
    diameter: float
    static: float
    swinging: float
    tilt: float
    source: str
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Socket:
    """A PVC socket: diameter at the mouth and at the bottom, depth, waterway bore, all m."""

    name: str
    entrance: float
    bottom: float
    depth: float
    bore: float
    source: str


@cache
def rows(*sorts: str) -> Mapping[str, Row]:
    """The rows of the fastener catalogue of some sorts, in the order of the file (rising sizes).

    Example:
        >>> list(rows("roll pin"))[0]
        '2 mm roll'
    """
    return {name: row for name, row in table("fasteners").items() if row["sort"] in sorts}


def _row(what: str, name: str, sorts: tuple[str, ...], ending: str = "") -> tuple[str, Row]:
    found = rows(*sorts)
    text = plain(name)
    if ending and not text.endswith(ending):
        text = f"{text} {ending}"
    key = find(what, text, found)
    return key, found[key]


def _figures(row: Row, **kinds: str) -> dict[str, float]:
    """Figures of a row, each of a kind of quantity."""
    return {field: needed(row, field, kind) for field, kind in kinds.items()}


def bolt(name: str) -> Bolt:
    """A bolt by its size: ``1/4-20``, ``1/4 in``, ``M6``.

    Raises:
        UnknownNameError: for a size the catalogue doesn't have.

    Example:
        >>> round(bolt("m6").area * 1e6, 1)
        20.1
    """
    key, row = _row("bolt", name, ("bolt",))
    return Bolt(key, source=row["source"], **_figures(row, diameter="length", area="area", washer="length"))


def grade(name: str) -> Grade:
    """A bolt's steel by SAE grade (``2``) or ISO class (``8.8``).

    Example:
        >>> round(grade("8.8").ultimate / 1e6)
        800
    """
    key, row = _row("bolt grade", str(name), ("grade",))
    proof, yield_strength, ultimate = (needed(row, f, "pressure") for f in ("proof", "yield", "ultimate"))
    return Grade(key, proof, yield_strength, ultimate, float(row["k"]), row["source"])


def wood_screw(name: str) -> WoodScrew:
    """A screw in wood: ``#8 wood``, ``1/4 in lag``, ``#6 drywall``.

    Example:
        >>> wood_screw("#8 wood").sort
        'wood screw'
    """
    key, row = _row("wood screw", name, ("wood screw", "lag", "drywall"))
    figures = _figures(row, diameter="length", root="length", bending_yield="pressure")
    return WoodScrew(key, row["sort"], source=row["source"], **figures)


def sheet_screw(name: str) -> SheetScrew:
    """A sheet-metal screw: ``#8 sheet`` or ``#8``.

    Example:
        >>> round(sheet_screw("#8").diameter * 1e3, 2)
        4.17
    """
    key, row = _row("sheet-metal screw", name, ("sheet screw",), "sheet")
    return SheetScrew(key, source=row["source"], **_figures(row, diameter="length"))


def set_screw(name: str) -> SetScrew:
    """A cup-point set screw: ``1/4 in``, ``#10``.

    Example:
        >>> round(set_screw("1/4 in").holding / 4.4482)
        1000
    """
    key, row = _row("set screw", name, ("set screw",), "set")
    return SetScrew(
        key, source=row["source"], **_figures(row, diameter="length", seating="torque", holding="force")
    )


def roll_pin(name: str) -> RollPin:
    """A slotted spring pin: ``3 mm``.

    Example:
        >>> roll_pin("3 mm").double_shear
        6320.0
    """
    key, row = _row("roll pin", name, ("roll pin",), "roll")
    return RollPin(key, source=row["source"], **_figures(row, diameter="length", double_shear="force"))


def rivet(name: str) -> Rivet:
    """A blind rivet: ``1/8 in aluminium``, ``5/32 in steel``.

    Example:
        >>> round(rivet("1/8 in aluminium").shear / 4.4482)
        120
    """
    key, row = _row("rivet", name, ("rivet",), "rivet")
    return Rivet(
        key, source=row["source"], **_figures(row, diameter="length", shear="force", tension="force")
    )


def rod_end(name: str) -> RodEnd:
    """A rod end or ball link: ``M6``, ``M6 rod end``, ``snap ball link``.

    Example:
        >>> rod_end("M6").static
        4000.0
    """
    ending = "" if "link" in plain(name) else "rod end"
    key, row = _row("rod end", name, ("rod end",), ending)
    figures = _figures(row, diameter="length", static="force", tilt="angle")
    figures["swinging"] = float(row["swinging"])
    return RodEnd(key, source=row["source"], assumed=tuple(row.get("assumed", ())), **figures)


def socket(size: str) -> Socket:
    """A PVC socket by the pipe's nominal size: ``1/2 in``.

    Example:
        >>> round(socket("1/2 in").depth * 1e3, 2)
        17.48
    """
    key, row = _row("socket", size, ("socket",), "socket")
    figures = _figures(row, entrance="length", bottom="length", depth="length", bore="length")
    return Socket(key, source=row["source"], **figures)


def next_size(name: str, sort: str) -> str | None:
    """The next larger size of a sort, or None after the last; bolts stay with their thread system.

    Example:
        >>> next_size("1/4-20", "bolt")
        '5/16-18'
        >>> next_size("M10", "bolt") is None
        True
    """
    found = rows(sort)
    key = find(sort, name, found)
    same = [k for k in found if sort != "bolt" or k.startswith("M") == key.startswith("M")]
    if sort == "rivet":
        same = [k for k in found if ("steel" in k) == ("steel" in key)]
    size = needed(found[key], "diameter", "length")
    larger = [k for k in same if needed(found[k], "diameter", "length") > size + 1e-6]
    return larger[0] if larger else None
