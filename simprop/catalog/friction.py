"""Coefficients of friction by the pair of surfaces, as a builder names it: ``PVC on PVC``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from simprop.catalog.load import find, needed, plain, table
from simprop.errors import UnknownNameError


@dataclass(frozen=True)
class Surfaces:
    """Two surfaces that rub on each other.

    Attributes:
        name: of the pair; "" where the rig states a coefficient.
        static: coefficient of friction at rest.
        kinetic: coefficient of friction while sliding.
        source: where the coefficients come from.
        assumed: names of the figures that no publication gives for this pair.
    """

    name: str
    static: float
    kinetic: float
    source: str
    assumed: tuple[str, ...] = ()


@cache
def surfaces(text: str) -> Surfaces:
    """A pair of surfaces by name, in either order; ``greased`` stands in front.

    Args:
        text: such as ``PVC on PVC``, ``steel on PVC``, ``greased steel on steel``, ``ball bearing``.

    Raises:
        UnknownNameError: for a pair that the catalogue doesn't have.

    Example:
        >>> surfaces("PVC on steel").kinetic, surfaces("greased steel on steel").static
        (0.38, 0.15)
    """
    rows = table("friction")
    try:
        key = find("pair of surfaces", text, rows)
    except UnknownNameError as error:
        turned = _turned(plain(text))
        try:
            key = find("pair of surfaces", turned, rows)
        except UnknownNameError:
            raise error from None
    row = rows[key]
    return Surfaces(
        key,
        needed(row, "static", "number"),
        needed(row, "kinetic", "number"),
        str(row["source"]),
        tuple(row.get("assumed", ())),
    )


def _turned(name: str) -> str:
    """The pair named the other way round.

    Example:
        >>> _turned("greased steel on pvc")
        'greased pvc on steel'
    """
    state, rest = ("greased ", name.removeprefix("greased ")) if name.startswith("greased ") else ("", name)
    one, _, two = rest.partition(" on ")
    return f"{state}{two} on {one}"
