"""Lengths as a builder measures them: millimetres, or inches and fractions where the rig was measured so."""

from __future__ import annotations

import re
from fractions import Fraction

from simprop.rig.model import Rig

_COMMENT = re.compile(r"#.*")
_NUMBERED = re.compile(r"[\d/.]\s*(mm|cm|m|in|ft)\b(?! (?:PVC|wood|lag|set|sheet|socket|steel|aluminium))")


def in_inches(rig: Rig) -> bool:
    """Whether most lengths of a rig are written in inches or feet; names of sizes (1/2 in PVC) don't count."""
    units = _NUMBERED.findall(_COMMENT.sub("", rig.source.text))
    inches = sum(unit in ("in", "ft") for unit in units)
    return inches > len(units) - inches


def length(metres: float, inches: bool = False) -> str:
    """A length with its unit: to a tenth of a millimetre, or to the nearest 32nd of an inch.

    Example:
        >>> length(0.4191), length(0.4), length(0.4191, inches=True), length(0.0127, inches=True)
        ('419.1 mm', '400 mm', '16-1/2 in', '1/2 in')
    """
    return f"{figure(metres, inches)} {'in' if inches else 'mm'}"


def figure(metres: float, inches: bool = False) -> str:
    """The same without its unit.

    Example:
        >>> figure(0.2061552), figure(1.0, inches=True)
        ('206.2', '39-3/8')
    """
    if not inches:
        return f"{1e3 * metres:.1f}".removesuffix(".0")
    whole, part = divmod(round(metres / 0.0254 * 32), 32)
    if not part:
        return str(whole)
    return f"{whole}-{Fraction(part, 32)}" if whole else str(Fraction(part, 32))


def across(sizes: tuple[float, ...], inches: bool = False) -> str:
    """Sizes of a cross-section or a sheet, such as ``40 x 18 mm``."""
    return f"{' x '.join(figure(size, inches) for size in sizes)} {'in' if inches else 'mm'}"


def sold(metres: float, inches: bool = False) -> str:
    """A length of stock as it is asked for: metres or feet.

    Example:
        >>> sold(3.0), sold(3.048, inches=True), sold(1.2192, inches=True)
        ('3 m', '10 ft', '4 ft')
    """
    return f"{metres / 0.3048:.3g} ft" if inches else f"{metres:.3g} m"
