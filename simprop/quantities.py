"""The one place where text such as ``3/4 in`` or ``8 kgf*cm`` becomes SI numbers, and back to text."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache
from importlib import resources
from typing import Any

import pint

from simprop.errors import nearest


class QuantityError(ValueError):
    """Text that isn't the quantity wanted; `allowed` shows how to write one."""

    def __init__(self, message: str, allowed: str | None = None):
        super().__init__(message)
        self.allowed = allowed


# kind -> (SI unit, how to write one, unit to show)
KINDS: dict[str, tuple[str, str, str]] = {
    "length": ("m", "12 mm, 3/4 in, 1-1/2 in, 2 ft", "mm"),
    "area": ("m^2", "0.2 m^2, 30 cm^2", "cm^2"),
    "mass": ("kg", "0.25 kg, 120 g, 2 lb", "kg"),
    "line_mass": ("kg/m", "8 g/m, 0.05 kg/m", "g/m"),
    "area_mass": ("kg/m^2", "0.14 kg/m^2, 140 g/m^2", "g/m^2"),
    "time": ("s", "6 s, 200 ms, 5 min", "s"),
    "angle": ("rad", "45 deg, 1.2 rad", "deg"),
    "speed": ("m/s", "0.5 m/s, 40 mm/s", "m/s"),
    "spin": ("rad/s", "45 rpm, 90 deg/s, 3 rad/s", "rpm"),
    "acceleration": ("m/s^2", "9.81 m/s^2", "m/s^2"),
    "force": ("N", "12 N, 3 lbf, 2 kgf", "N"),
    "torque": ("N*m", "0.4 N*m, 8 kgf*cm, 60 ozf*in", "N*m"),
    "stiffness": ("N/m", "200 N/m, 5 lbf/in", "N/m"),
    "turning_stiffness": ("N*m/rad", "0.5 N*m/rad, 10 N*mm/deg", "N*m/rad"),
    "damping": ("N*s/m", "3 N*s/m", "N*s/m"),
    "turning_damping": ("N*m*s/rad", "0.01 N*m*s/rad", "N*m*s/rad"),
    "inertia": ("kg*m^2", "2e-5 kg*m^2, 20 kg*mm^2", "kg*m^2"),
    "density": ("kg/m^3", "1400 kg/m^3, 1.4 g/cm^3", "kg/m^3"),
    "pressure": ("Pa", "6 bar, 60 psi, 2.8 GPa", "MPa"),
    "voltage": ("V", "12 V", "V"),
    "current": ("A", "5 A, 300 mA", "A"),
    "resistance": ("ohm", "0.8 ohm", "ohm"),
    "power": ("W", "4 W", "W"),
    "frequency": ("Hz", "50 Hz", "Hz"),
    "temperature": ("degC", "20 degC, 70 degF", "degC"),
    "thermal_resistance": ("K/W", "6 K/W", "K/W"),
    "heat_capacity": ("J/K", "50 J/K", "J/K"),
    "number": ("", "0.3, 2", ""),
}

_NUMBER = r"(?:\d+-\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
_UNIT = r"(?:[A-Za-zµΩ°%][A-Za-z0-9µΩ°%]*(?:\^-?\d+)?(?:[*/][A-Za-zµΩ°][A-Za-z0-9µΩ°]*(?:\^-?\d+)?)*)"
_LONGEST_UNIT = 40
LITERAL = re.compile(rf"({_NUMBER})\s*({_UNIT})?")
_WHOLE = re.compile(rf"\s*([+-]?)\s*({_NUMBER})\s*({_UNIT})?\s*$")


_LONGEST = 200
"""Longer text is no literal: it isn't looked through for one."""


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[Any]:
    """The pint registry with the units of ``units.txt``, made once (pint's own thousand take ten times as long)."""
    ureg: pint.UnitRegistry[Any] = pint.UnitRegistry(None, cache_folder=None)
    ureg.load_definitions(resources.files("simprop").joinpath("units.txt").read_text("utf-8").splitlines())
    return ureg


@lru_cache(maxsize=256)
def is_unit(text: str) -> bool:
    """True if `text` is a unit of ``units.txt`` or made of some, such as ``mm`` or ``N*m``."""
    if len(text) > _LONGEST_UNIT or not re.fullmatch(_UNIT, text):
        return False
    try:
        registry().Unit(text.replace("°", "deg"))
    except Exception:
        return False
    return True


def not_a_unit(text: str) -> QuantityError:
    """The fault of a unit that is none, with the nearest of those that people write.

    Example:
        >>> print(not_a_unit("Nm"))
        'Nm' is not a unit; did you mean 'N*m'?
    """
    written = [unit for _, example, _ in KINDS.values() for _, unit in LITERAL.findall(example) if unit]
    near = {unit.replace("*", ""): unit for unit in written}.get(text) or nearest(text, written)
    return QuantityError(f"{text!r} is not a unit" + (f"; did you mean {near!r}?" if near else ""))


def number(text: str) -> float:
    """A plain, fractional (``3/4``) or mixed (``1-1/2``) number as a float.

    Raises:
        QuantityError: for a number with leading zeros such as ``010``, which some readers take as octal.

    Example:
        >>> number("1-1/2")
        1.5
    """
    if re.match(r"0\d", text):
        raise QuantityError(
            f"{text!r} starts with a zero, which some programs read as octal", "write 10, not 010"
        )
    try:
        if "-" in text.split("e", maxsplit=1)[0].split("E", maxsplit=1)[0] and "/" in text:
            whole, part = text.split("-", 1)
            return float(int(whole) + Fraction(part))
        if "/" in text:
            return float(Fraction(text))
        return float(text)
    except ZeroDivisionError:
        raise QuantityError(f"{text!r} divides by zero") from None


def literal(value: str, unit: str | None) -> Any:
    """A number and a unit as a pint quantity (or a float without a unit)."""
    magnitude = number(value)
    if not unit:
        return magnitude
    if not is_unit(unit):
        raise not_a_unit(unit)
    return registry().Quantity(magnitude, unit.replace("°", "deg"))


def whole_literal(text: str) -> Any | None:
    """`text` as a quantity when it is one literal (``-3/4 in``), else None."""
    match = _WHOLE.match(text)
    if match is None or (match[3] is not None and not is_unit(match[3])):
        return None
    value = literal(match[2], match[3])
    return -value if match[1] == "-" else value


def to_si(value: Any, kind: str) -> float:
    """A pint quantity (or plain number) as a float in the SI unit of `kind`.

    Args:
        value: what `literal` or an expression gave.
        kind: a key of `KINDS`.

    Raises:
        QuantityError: when the dimension doesn't fit, or a bare number stands where a unit is needed.

    Example:
        >>> round(to_si(literal("3/4", "in"), "length"), 6)
        0.01905
    """
    unit, example, _ = KINDS[kind]
    name = kind.replace("_", " ")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if kind == "number":
            return _finite(float(value))
        raise QuantityError(f"a {name} needs a unit", example)
    if not isinstance(value, pint.Quantity):
        raise QuantityError(f"not a {name}", example)
    if kind == "number":
        if not value.dimensionless:
            raise QuantityError("a plain number is wanted here, without a unit", example)
        return _finite(float(value.to("").magnitude))
    if kind == "spin" and "hertz" in str(value.units):
        raise QuantityError("a turning speed is written in rpm, deg/s or rad/s, not in Hz", example)
    try:
        return _finite(float(value.to(unit).magnitude))
    except pint.DimensionalityError:
        raise QuantityError(f"{value.units:~} is not a unit of {name}", example) from None


@lru_cache(maxsize=4096)
def literal_in_si(text: str, kind: str) -> float | None:
    """`text` as a float in the SI unit of `kind` when it is one literal, else None; each literal is read once.

    Args:
        text: such as ``3/4 in``.
        kind: a key of `KINDS`.

    Raises:
        QuantityError: as `to_si`.

    Example:
        >>> literal_in_si("50 mm", "length"), literal_in_si("2 * throw", "length")
        (0.05, None)
    """
    found = whole_literal(text) if len(text) <= _LONGEST else None
    return None if found is None else to_si(found, kind)


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise QuantityError("not a finite number")
    return value


def in_si(value: Any) -> float:
    """A quantity of any dimension, or a plain number, in base units of the SI.

    Args:
        value: a pint quantity or a number.

    Example:
        >>> in_si(literal("6", "N")), in_si(literal("20", "degC")), in_si(2)
        (6.0, 293.15, 2.0)
    """
    if not isinstance(value, pint.Quantity):
        return float(value)
    base = value.to_base_units()  # of which that of mass is the gram
    grams: Any = base.dimensionality.get("[mass]", 0)
    return float(base.magnitude / 1000.0**grams)


@lru_cache
def _factor(unit: str, shown: str) -> float:
    return float(registry().Quantity(1.0, unit).to(shown).magnitude)


def show(value: float, kind: str, digits: int = 3) -> str:
    """A number in SI as text in the unit people use for it.

    Args:
        value: in the SI unit of `kind`.
        kind: a key of `KINDS`.
        digits: significant digits.

    Example:
        >>> show(0.0508, "length")
        '50.8 mm'
    """
    unit, _, shown = KINDS[kind]
    if kind == "temperature":
        return f"{value:.0f} degC"
    if unit != shown:
        value *= _factor(unit, shown)
    text = f"{value:.{digits}g}"
    if "e" in text and 1e-4 < abs(value) < 1e7:
        text = f"{value:.0f}"
    return f"{text} {shown}".rstrip()


def usual(value: Any) -> str:
    """The unit that people use for a quantity: as `shown` writes it; "" of a plain number.

    Args:
        value: a pint quantity.

    Example:
        >>> usual(literal("0.05", "m")), usual(literal("2", "N*m"))
        ('mm', 'N*m')
    """
    return shown(value).partition(" ")[2]


def shown(value: Any, digits: int = 4) -> str:
    """A quantity as text in the unit people use for its dimension, or in its own where none is usual.

    Args:
        value: a pint quantity.
        digits: significant digits.

    Example:
        >>> shown(literal("0.05", "m")), shown(literal("6", "N") / literal("2", "mm"))
        ('50 mm', '3000 N/m')
    """
    kinds = [kind for kind in KINDS if kind != "number" and value.is_compatible_with(KINDS[kind][0])]
    if value.dimensionless and not str(value.units):
        return f"{float(value.magnitude):.{digits}g}"
    own = [kind for kind in kinds if str(value.units) == str(registry().Unit(KINDS[kind][0]))]
    if not kinds:
        return f"{value.to_base_units():.{digits}g~}"
    kind = (own or kinds)[0]
    return show(float(value.to(KINDS[kind][0]).magnitude), kind, digits)
