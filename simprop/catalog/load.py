"""Reads the catalogue's text files, and answers for materials and pipes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

import yaml

from simprop.errors import SimpropError, UnknownNameError
from simprop.quantities import literal_in_si

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The quick loader where pyyaml was built with it."""
Row = Mapping[str, Any]


@cache
def table(topic: str) -> Mapping[str, Row]:
    """The rows of one catalogue file by name, as written.

    Args:
        topic: file name without its ending, such as ``materials``.

    Raises:
        UnknownNameError: when the catalogue has no such file.

    Example:
        >>> table("materials")["PVC"]["density"]
        '1400 kg/m^3'
    """
    folder = resources.files("simprop.catalog")
    file = folder / f"{topic}.yaml"
    if not file.is_file():
        names = [f.name[:-5] for f in folder.iterdir() if f.name.endswith(".yaml")]
        raise UnknownNameError("file", topic, names)
    rows = yaml.load(file.read_text(encoding="utf-8"), Loader=LOADER)
    return MappingProxyType({str(name): MappingProxyType(dict(row)) for name, row in rows.items()})


def value(row: Row, field: str, kind: str) -> float | None:
    """One figure of a row in SI, or None where the row has none.

    Args:
        row: a row of `table`.
        field: name of the figure.
        kind: a key of `simprop.quantities.KINDS`.

    Example:
        >>> value(table("materials")["PVC"], "density", "density")
        1400.0
    """
    text = row.get(field)
    return None if text is None else literal_in_si(str(text), kind)


def needed(row: Row, field: str, kind: str) -> float:
    """One figure of a row in SI, which the row must have.

    Raises:
        SimpropError: when the row lacks it.

    Example:
        >>> needed(table("pipes")["1 in PVC"], "outside", "length")
        0.033401
    """
    number = value(row, field, kind)
    if number is None:
        raise SimpropError(f"a row of the catalogue lacks {field!r}: {dict(row)}")
    return number


def plain(name: str) -> str:
    """A name without the differences that don't matter: case, spaces, quotes, underscores.

    Example:
        >>> plain("  Wiper_medium   LOW ")
        'wiper medium low'
    """
    return re.sub(r"[\s_]+", " ", str(name)).strip().casefold()


def find(what: str, name: str, rows: Mapping[str, Row]) -> str:
    """The key of the row that `name` or one of its aliases means.

    Args:
        what: what is looked for, for the message.
        name: as the user wrote it; case and spacing don't matter.
        rows: rows of `table`; a row's ``aliases`` are other names for it.

    Raises:
        UnknownNameError: with every allowed name and the nearest one.

    Example:
        >>> find("material", "Mild Steel", table("materials"))
        'A36'
    """
    names = {plain(key): key for key in rows}
    for key, row in rows.items():
        for alias in row.get("aliases", ()):
            names.setdefault(plain(alias), key)
    found = names.get(plain(name))
    if found is None:
        raise UnknownNameError(what, name, _spellings(rows))
    return found


def _spellings(rows: Mapping[str, Row]) -> Iterable[str]:
    for key, row in rows.items():
        yield key
        yield from (str(a) for a in row.get("aliases", ()))


@dataclass(frozen=True)
class Material:
    """What a part is made of.

    Attributes:
        name: catalogue name.
        density: kg/m^3.
        modulus: elastic modulus, Pa; None where the catalogue has none (foam, cloth).
        poisson: Poisson's ratio; None where the catalogue has none (wood has no single one).
        source: where the figures come from.
        assumed: names of the figures that no publication gives for this exact material.
    """

    name: str
    density: float
    modulus: float | None
    poisson: float | None
    source: str
    assumed: tuple[str, ...]


@cache
def material(name: str) -> Material:
    """A material by its name or an alias; case doesn't matter.

    Raises:
        UnknownNameError: for a name the catalogue doesn't have.

    Example:
        >>> material("pvc").density
        1400.0
    """
    rows = table("materials")
    key = find("material", name, rows)
    row = rows[key]
    return Material(
        name=key,
        density=needed(row, "density", "density"),
        modulus=value(row, "modulus", "pressure"),
        poisson=value(row, "poisson", "number"),
        source=str(row["source"]),
        assumed=tuple(row.get("assumed", ())),
    )


@dataclass(frozen=True)
class PipeData:
    """A size of pipe.

    Attributes:
        name: catalogue name, such as ``1/2 in PVC``.
        outside: outside diameter, m.
        wall: least wall, for strength, m.
        average_wall: average wall, for mass, m.
        material: catalogue name of its material.
        source: where the figures come from.
        assumed: names of the figures that no publication gives.
    """

    name: str
    outside: float
    wall: float
    average_wall: float
    material: str
    source: str
    assumed: tuple[str, ...]


AVERAGE_OVER_LEAST_WALL = 0.010 * 0.0254
"""Half of the wall tolerance of ASTM D1785 (+0.020 in, -0), m."""


@cache
def pipe(text: str) -> PipeData:
    """A pipe by its nominal size and material: ``1/2 in PVC`` (Schedule 40, ASTM D1785).

    Raises:
        UnknownNameError: for a size the catalogue doesn't have.

    Example:
        >>> round(pipe("1/2 in PVC").outside * 1e3, 3)
        21.336
    """
    rows = table("pipes")
    short = re.sub(r"\b(sch(edule)?\.?\s*40)\b", "", text, flags=re.I)
    short = re.sub(r"\"|\binch(es)?\b", " in", short)
    short = re.sub(r"\s+pipe\s*$", "", short, flags=re.I)
    try:
        key = find("pipe", short, rows)
    except UnknownNameError as error:
        raise UnknownNameError("pipe", text, error.allowed) from None
    wall = needed(rows[key], "wall", "length")
    return PipeData(
        name=key,
        outside=needed(rows[key], "outside", "length"),
        wall=wall,
        average_wall=wall + AVERAGE_OVER_LEAST_WALL,
        material="PVC",
        source="ASTM D1785 Schedule 40; average wall = least + 0.010 in",
        assumed=(),
    )
