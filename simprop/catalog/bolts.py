"""Lengths of bolts as sold, and the thickness of their nuts and washers."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from simprop.catalog.fasteners import bolt
from simprop.catalog.load import needed, table, value
from simprop.catalog.threads import thread
from simprop.quantities import number, to_si, whole_literal

NUTS = {
    "plain": 1,
    "nylon insert": 1,
    "double": 2,
    "castle and split pin": 1,
    "plain and thread locker": 1,
    "wing": 1,
}
"""How many nuts each way to keep a bolt takes."""


@dataclass(frozen=True)
class BoltSizes:
    """What goes on a bolt of a size, and how long it is sold; all in m.

    Attributes:
        name: of the size.
        inch: it is sold by inches.
        pitch: of its thread.
        washer: greatest thickness of a plain washer.
        plain: greatest height of a plain nut.
        insert: of one with a nylon insert.
        castle: of a castle nut; None: not known.
        usual: longest that is usual.
        lengths: as sold, rising.
        source: where the figures come from.
    """

    name: str
    inch: bool
    pitch: float
    washer: float
    plain: float
    insert: float
    castle: float | None
    usual: float
    lengths: tuple[float, ...]
    source: str

    def nut(self, kind: str | None) -> float:
        """Height of what keeps it on, m; a nut whose kind isn't stated counts as the highest.

        Args:
            kind: a way to keep it, such as ``nylon insert``; None: not stated.

        Source: ISO 4032, ASME B18.2.2, B18.16.3M, B18.16.6; a wing nut as high as its thread is thick (assumed).
        """
        most = max(self.insert, self.castle or 0.0)
        heights = {
            "nylon insert": self.insert,
            "double": 2 * self.plain,
            "castle and split pin": self.castle or most,
        }
        heights |= {
            "wing": bolt(self.name).diameter,
            "plain": self.plain,
            "plain and thread locker": self.plain,
        }
        return most if kind is None else heights[kind]


@cache
def bolt_sizes(name: str) -> BoltSizes:
    """What goes on a bolt by its size.

    Raises:
        UnknownNameError: for a size that the catalogue doesn't have.

    Example:
        >>> sizes = bolt_sizes("M6")
        >>> sizes.pitch, sizes.lengths[:3]
        (0.001, (0.006, 0.008, 0.01))
    """
    key = bolt(name).name
    row = table("bolts")[key]
    series = table("bolts")[row["series"]]
    unit = str(series["unit"])
    lengths = tuple(to_si(whole_literal(f"{text} {unit}"), "length") for text in series["lengths"])
    washer, plain, insert, usual = (needed(row, k, "length") for k in ("washer", "plain", "insert", "usual"))
    return BoltSizes(
        key,
        row["series"] == "inch",
        thread(key).pitch,
        washer,
        plain,
        insert,
        value(row, "castle", "length"),
        usual,
        lengths,
        str(row["source"]),
    )


THREADS_OUT = 1.5
"""Threads that stand out of a nut at least, so that its insert or last thread holds: common practice, no source."""


def bolt_length(sizes: BoltSizes, grip: float, nut: str | None) -> float | None:
    """Least length as sold that covers a grip and its nut, with one and a half threads out of it, m.

    Args:
        sizes: of the bolt.
        grip: thickness of all between head and nut, washers and all, m.
        nut: what keeps it on; None: not stated.

    Returns:
        None where none is sold so long.

    Example:
        >>> bolt_length(bolt_sizes("M6"), 0.020, "nylon insert")
        0.03
    """
    least = grip + sizes.nut(nut) + THREADS_OUT * sizes.pitch
    return next((length for length in sizes.lengths if length >= least - 1e-9), None)


def long_words(metres: float) -> str:
    """The length of a screw in the unit in which it is a round figure: eighths of an inch, or millimetres.

    Example:
        >>> long_words(0.03175), long_words(0.03)
        ('1-1/4 in', '30 mm')
    """
    eighths = metres / 0.0254 * 8
    if abs(eighths - round(eighths)) > 1e-3:
        return f"{1e3 * metres:.4g} mm"
    whole, part = divmod(round(eighths), 8)
    fraction = str(Fraction(part, 8)) if part else ""
    return f"{'-'.join(text for text in (str(whole) if whole else '', fraction) if text)} in"


def inch_words(metres: float) -> str:
    """A length of the inch series as it is written.

    Example:
        >>> inch_words(0.0381)
        '1-1/2 in'
    """
    texts = table("bolts")["inch"]["lengths"]
    return f"{min(texts, key=lambda text: abs(number(str(text)) * 0.0254 - metres))} in"
