"""Rounding steps, and numbers rounded to them as they are written in a file."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor, log10

STEPS = (1, 2, 5)
_SLACK = 1e-9
"""Share by which a step may miss what it is held against, for what binary fractions lose."""


def step_from(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that isn't finer than a size.

    Args:
        least: above zero, any unit.

    Example:
        >>> step_from(0.0003), step_from(0.001), step_from(0.03937)
        (0.0005, 0.001, 0.05)
    """
    tens = floor(log10(least))
    sizes = [float(f"{n}e{k}") for k in (tens, tens + 1) for n in STEPS]
    return next(s for s in sizes if s >= least * (1 - _SLACK))


def step_to(most: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that isn't coarser than a size.

    Args:
        most: above zero, any unit.

    Example:
        >>> step_to(0.0003), step_to(0.001)
        (0.0002, 0.001)
    """
    tens = floor(log10(most))
    sizes = [float(f"{n}e{k}") for k in (tens - 1, tens, tens + 1) for n in STEPS]
    return max(s for s in sizes if s <= most * (1 + _SLACK))


def rounded(value: float, fineness: float) -> str:
    """A number rounded to a step, as text without idle noughts.

    Args:
        value: any.
        fineness: in the unit of the value; the step is the next of 1, 2, 5 times a power of ten.

    Example:
        >>> rounded(296.31, 1.0), rounded(-0.2, 1.0), rounded(11.6667, 0.05), rounded(1234.0, 50.0)
        ('296', '0', '11.65', '1250')
    """
    step = step_from(fineness)
    digits = max(0, -floor(log10(step) + _SLACK))
    text = f"{round(value / step) * step:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def rounded_fraction(value: float, fineness: float) -> str:
    """A number rounded to halves, quarters, eighths ... as it is read off a rule in inches.

    Args:
        value: any.
        fineness: in the unit of the value; the step is the next part of two that isn't finer, at most 1.

    Example:
        >>> rounded_fraction(1.53, 0.04), rounded_fraction(-0.74, 0.04), rounded_fraction(2.01, 0.04)
        ('1-1/2', '-3/4', '2')
    """
    parts = 2 ** max(0, floor(-log10(fineness * (1 - _SLACK)) / log10(2)))
    steps = ceil(max(1.0, fineness) - _SLACK)
    found = Fraction(round(value * parts / steps) * steps, parts)
    whole, rest = divmod(abs(found), 1)
    text = str(whole) if not rest else f"{whole}-{rest}" if whole else str(rest)
    return f"-{text}" if found < 0 else text
