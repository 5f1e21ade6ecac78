"""Numbers as people read them, everywhere the same."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from simprop.quantities import show

if TYPE_CHECKING:
    from simprop.loads.joints import Peak

NOTHING = 1e-6
"""A peak under this is nought (rounding), N or N*m."""
_KINDS = {"Pa": "pressure", "N": "force", "N*m": "torque", "m": "length", "rad": "angle", "kg": "mass"}


def number(value: float | None, digits: int = 3) -> str:
    """A number with so many significant digits and no exponent where it can be read without.

    Example:
        >>> number(0.0), number(1234.5), number(0.01234), number(None)
        ('0', '1234', '0.0123', 'not computed')
    """
    if value is None or not math.isfinite(value):
        return "not computed"
    if abs(value) < 5e-7:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{min(decimals, 6)}f}"


def amount(value: float | None, unit: str) -> str:
    """A demand, a capacity or any other quantity in the unit that people use for it.

    Args:
        value: in `unit`; None: not computed.
        unit: SI unit, or a word.

    Example:
        >>> amount(48.3e6, "Pa"), amount(None, "N"), amount(1.6e-16, "N"), amount(float("inf"), "nights")
        ('48.3 MPa', '-', '0 N', 'over 9999 nights')
        >>> amount(0.479, "of its allowable load"), amount(1e9, "of its allowable load")
        ('47.9 %', 'over 9999 %')
    """
    if value is None:
        return "-"
    if unit == "nights":
        return f"over 9999 {unit}" if value > 9999 else f"{value:.3g} {unit}"
    if not math.isfinite(value):
        return f"without limit {unit}".strip()
    if abs(value) < NOTHING:
        value = 0.0
    if unit.startswith("of its"):
        return f"{value * 100:.3g} %" if value < 100 else "over 9999 %"
    return show(value, _KINDS[unit]) if unit in _KINDS else f"{value:.3g} {unit}".strip()


def margin(value: float | None) -> str:
    """A margin in five characters or less.

    Args:
        value: capacity / (demand x factor); None: not computed.

    Example:
        >>> margin(0.7249), margin(float("inf")), margin(None)
        ('0.72', '>99', '-')
    """
    if value is None:
        return "-"
    if value > 99:
        return ">99"
    if 0 < value < 0.01:
        return "<0.01"
    return f"{value:.2f}" if value < 10 else f"{value:.1f}"


def banded(peak: Peak) -> str:
    """A peak and its numerical band, rounded up to the last digit shown, such as ``41.2 ±0.1 N``.

    Says so when the peak has not settled, or when there is no band because only one step was run.
    """
    unit = peak.unit
    if peak.value < NOTHING:
        return "0"
    text = number(peak.value)
    if peak.band is None:
        return f"{text} {unit} (no band)"
    decimals = len(text.partition(".")[2])
    band = max(math.ceil(peak.band.change * 10**decimals - 1e-6), 1) / 10**decimals
    return f"{text} ±{band:.{decimals}f} {unit}" + ("" if peak.band.settled else " NOT SETTLED")


def change(base: float | None, value: float | None) -> str:
    """By how much a value differs from a base; "" where either isn't known, "same" below half a percent.

    Example:
        >>> change(10.0, 12.5), change(10.0, 9.99), change(None, 1.0)
        ('+25 %', 'same', '')
    """
    if base is None or value is None or not math.isfinite(base + value) or abs(base) < 1e-12:
        return ""
    share = 100 * (value / base - 1)
    return f"{share:+.0f} %" if abs(share) >= 0.5 else "same"
