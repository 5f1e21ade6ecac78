"""Field types of the rig model: text with a unit in, a float in SI out.

Every dimensioned field of the model is declared as one of these types. Reading needs the named values and
points of the file; they arrive as a `Scope` in pydantic's validation context.
"""

from __future__ import annotations

import math
import re
import typing
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, NamedTuple

from pydantic import BeforeValidator, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from simprop.errors import nearest
from simprop.quantities import KINDS, QuantityError, is_unit, literal_in_si, show, to_si
from simprop.reading.expressions import evaluate


class Point(NamedTuple):
    """A place in the drawn start pose, in metres, with the name it was given by (or None)."""

    x: float
    y: float
    z: float
    name: str | None = None


Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Scope:
    """What names in a file stand for while its fields are read.

    Attributes:
        params: named values as pint quantities or floats.
        points: named points.
    """

    params: Mapping[str, Any] = field(default_factory=dict)
    points: Mapping[str, Point] = field(default_factory=dict)


LIMITS: dict[str, tuple[float, float]] = {
    "length": (0.0, 1e3),
    "area": (0.0, 1e4),
    "mass": (1e-7, 1e5),
    "line_mass": (1e-6, 1e3),
    "area_mass": (1e-6, 1e4),
    "time": (0.0, 1e7),
    "angle": (0.0, 1e5),
    "speed": (0.0, 1e3),
    "spin": (0.0, 1e5),
    "acceleration": (0.0, 1e4),
    "force": (0.0, 1e7),
    "torque": (0.0, 1e7),
    "stiffness": (0.0, 1e12),
    "turning_stiffness": (0.0, 1e12),
    "damping": (0.0, 1e9),
    "turning_damping": (0.0, 1e9),
    "inertia": (1e-15, 1e8),
    "density": (0.1, 1e5),
    "pressure": (0.0, 1e13),
    "voltage": (0.0, 1e3),
    "current": (0.0, 1e4),
    "resistance": (0.0, 1e7),
    "power": (0.0, 1e6),
    "frequency": (0.0, 1e6),
    "temperature": (0.0, 1e3),
    "thermal_resistance": (0.0, 1e5),
    "heat_capacity": (0.0, 1e7),
    "number": (0.0, 1e9),
}
"""Smallest (but for 0) and largest size of a value of each kind, SI: far beyond any prop, so that a slip shows."""
COLDEST = -100.0
"""Lowest temperature, degC."""


def fault(message: str, allowed: str | None = None, near: str | None = None) -> PydanticCustomError:
    """A validation error that carries what was allowed and the nearest name."""
    return PydanticCustomError(
        "simprop",
        "{message}",
        {"message": message, "allowed": allowed, "nearest": near},
    )


def scope_of(info: ValidationInfo) -> Scope:
    """The `Scope` that a validation runs in."""
    return info.context if isinstance(info.context, Scope) else Scope()


def read_scalar(value: Any, kind: str, scope: Scope) -> float:
    """One value with its unit, or an expression of named values, as a float in SI.

    Args:
        value: text such as ``12 mm`` or ``throw * 2``, or a number where `kind` is ``number``.
        kind: a key of `simprop.quantities.KINDS`.

    Raises:
        PydanticCustomError: with what was allowed.
    """
    try:
        known = literal_in_si(value, kind) if isinstance(value, str) else None
        found = to_si(evaluate(value, scope.params), kind) if known is None else known
    except QuantityError as error:
        raise fault(str(error), error.allowed or KINDS[kind][1]) from None
    least, most = LIMITS[kind]
    if abs(found) > most:
        raise fault("larger than a prop can have", f"up to {show(most, kind)}")
    if 0.0 < abs(found) < least:
        raise fault("smaller than a prop can have", f"from {show(least, kind)}")
    if kind == "temperature" and found < COLDEST:
        raise fault("colder than a prop can get", f"from {show(COLDEST, kind)}")
    return found


_SPLIT = re.compile(r"\s+")


def read_row(value: Any, kind: str, count: int, scope: Scope) -> tuple[float, ...]:
    """`count` values of one kind: ``0 20 300 mm`` (one unit at the end) or a list of values each with its own.

    Raises:
        PydanticCustomError: when it isn't that.
    """
    example = "0 20 300 mm" if kind == "length" else "0 0 1"
    if isinstance(value, list):
        if len(value) != count:
            raise fault(f"{count} values are wanted, not {len(value)}", example)
        return tuple(read_scalar(v, kind, scope) for v in value)
    words = _SPLIT.split(str(value).strip())
    unit = ""
    if words and is_unit(words[-1]) and not _is_number(words[-1]):
        unit = words.pop()
    if len(words) != count:
        raise fault(f"{count} numbers and one unit are wanted", example)
    return tuple(read_scalar(f"{w} {unit}".strip() if unit else _plain(w), kind, scope) for w in words)


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def _plain(word: str) -> Any:
    return float(word) if _is_number(word) and not re.match(r"[+-]?0\d", word) else word


def _reader(
    kind: str, positive: bool = False, zero: bool = True, within: tuple[float, float] | None = None
) -> Callable[[Any, ValidationInfo], float]:
    def read(value: Any, info: ValidationInfo) -> float:
        number = read_scalar(value, kind, scope_of(info))
        if positive and (number < 0 or (number == 0 and not zero)):
            raise fault("must be above zero" if not zero else "must not be negative", KINDS[kind][1])
        if within is not None and not within[0] <= number <= within[1]:
            raise fault("out of range", f"{show(within[0], kind)} to {show(within[1], kind)}")
        return number

    read.kind = kind  # type: ignore[attr-defined]
    return read


def _point(value: Any, info: ValidationInfo) -> Point:
    scope = scope_of(info)
    if isinstance(value, Point):
        return value
    if isinstance(value, str) and re.fullmatch(r"[A-Za-z_]\w*", value.strip()):
        name = value.strip()
        if name not in scope.points:
            raise fault("not a point of this file", _names(scope.points), nearest(name, scope.points))
        return scope.points[name]
    x, y, z = read_row(value, "length", 3, scope)
    return Point(x, y, z)


def apart(start: Point, end: Point) -> None:
    """Refuse the two ends of something straight where they are drawn on one spot.

    Raises:
        PydanticCustomError: with what is wanted.
    """
    if all(abs(a - b) < 1e-6 for a, b in zip(start[:3], end[:3], strict=True)):
        raise fault("both its ends are on one spot, so it has no direction", "from and to apart")


def _places(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, dict):
        return {str(body): _point(v, info) for body, v in value.items()}
    return _point(value, info)


def _names(names: Mapping[str, Any]) -> str:
    return ", ".join(names) or "none are named"


_AXES: dict[str, Vector] = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}


def _direction(value: Any, info: ValidationInfo) -> Vector:
    text = str(value).strip()
    sign = -1.0 if text.startswith("-") and text[1:] in _AXES else 1.0
    if text.lstrip("-") in _AXES:
        x, y, z = _AXES[text.lstrip("-")]
        return (sign * x + 0.0, sign * y + 0.0, sign * z + 0.0)
    try:
        row = read_row(value, "number", 3, scope_of(info))
    except PydanticCustomError:
        raise fault("not a direction", "x, y, z, -x, -y, -z or three numbers such as 0 0.6 0.8") from None
    length = math.sqrt(sum(v * v for v in row))
    if length < 1e-9:
        raise fault("a direction of length zero", "x, y, z or three numbers such as 0 0.6 0.8")
    return (row[0] / length, row[1] / length, row[2] / length)


def _extents(count: int) -> Callable[[Any, ValidationInfo], tuple[float, ...]]:
    example = " x ".join(["300", "200", "18"][:count]) + " mm"

    def read(value: Any, info: ValidationInfo) -> tuple[float, ...]:
        if isinstance(value, list):
            row = read_row(value, "length", count, scope_of(info))
        else:
            words = re.split(r"\s+x\s+", str(value).strip())
            if len(words) != count:
                raise fault(f"{count} sizes with an x between them are wanted", example)
            unit = re.sub(r"^[\d./eE+-]+\s*", "", words[-1]).strip()
            whole = [w if re.search(r"[A-Za-z]", w) else f"{w} {unit}" for w in words]
            row = tuple(read_scalar(w, "length", scope_of(info)) for w in whole)
        if min(row) <= 0:
            raise fault("sizes must be above zero", example)
        return row

    return read


def _window(value: Any, info: ValidationInfo) -> tuple[float, float]:
    words = re.split(r"\s+to\s+", str(value).strip())
    if len(words) != 2:
        raise fault("a time window is wanted", "0.5 s to 4 s")
    start, end = (read_scalar(w, "time", scope_of(info)) for w in words)
    if end <= start or start < 0:
        raise fault("the window must start at 0 s or later and end after it starts", "0.5 s to 4 s")
    return (start, end)


def _moments(value: Any, info: ValidationInfo) -> Vector:
    x, y, z = read_row(value, "inertia", 3, scope_of(info))
    if min(x, y, z) < 0:
        raise fault("must not be negative", KINDS["inertia"][1])
    if 2 * max(x, y, z) > (x + y + z) * (1 + 1e-6):
        raise fault("no body has these moments of inertia: each is at most the sum of the two others")
    return (x, y, z)


def how_written(reader: Callable[..., Any]) -> tuple[str, str] | None:
    """What a reader of this file reads, and an example; None where nothing is known.

    Example:
        >>> how_written(_direction), how_written(_reader("mass"))
        (('direction', 'x, -z, 0 0.6 0.8'), ('mass', '0.25 kg, 120 g, 2 lb'))
    """
    kind = getattr(reader, "kind", None)
    return (kind, KINDS[kind][1]) if kind in KINDS else _WRITTEN.get(reader)


AboveZero = Field(gt=0.0)
NotNegative = Field(ge=0.0)
Length = Annotated[float, BeforeValidator(_reader("length"))]
Size = Annotated[float, BeforeValidator(_reader("length", positive=True, zero=False))]
Area = Annotated[float, BeforeValidator(_reader("area", positive=True))]
Mass = Annotated[float, BeforeValidator(_reader("mass", positive=True, zero=False))]
LineMass = Annotated[float, BeforeValidator(_reader("line_mass", positive=True, zero=False))]
Time = Annotated[float, BeforeValidator(_reader("time", positive=True))]
Duration = Annotated[float, BeforeValidator(_reader("time", within=(1e-3, 86_400.0)))]
Step = Annotated[float, BeforeValidator(_reader("time", within=(1e-7, 0.1)))]
Angle = Annotated[float, BeforeValidator(_reader("angle"))]
Speed = Annotated[float, BeforeValidator(_reader("speed"))]
Spin = Annotated[float, BeforeValidator(_reader("spin"))]
Force = Annotated[float, BeforeValidator(_reader("force"))]
Torque = Annotated[float, BeforeValidator(_reader("torque"))]
Stiffness = Annotated[float, BeforeValidator(_reader("stiffness", positive=True, zero=False))]
TurningStiffness = Annotated[float, BeforeValidator(_reader("turning_stiffness", positive=True, zero=False))]
Damping = Annotated[float, BeforeValidator(_reader("damping", positive=True))]
TurningDamping = Annotated[float, BeforeValidator(_reader("turning_damping", positive=True))]
Inertia = Annotated[float, BeforeValidator(_reader("inertia", positive=True))]
Pressure = Annotated[float, BeforeValidator(_reader("pressure"))]
Voltage = Annotated[float, BeforeValidator(_reader("voltage"))]
Current = Annotated[float, BeforeValidator(_reader("current", positive=True))]
Resistance = Annotated[float, BeforeValidator(_reader("resistance", positive=True))]
Power = Annotated[float, BeforeValidator(_reader("power", positive=True))]
Frequency = Annotated[float, BeforeValidator(_reader("frequency", positive=True))]
Temperature = Annotated[float, BeforeValidator(_reader("temperature"))]
ThermalResistance = Annotated[
    float, BeforeValidator(_reader("thermal_resistance", positive=True, zero=False))
]
HeatCapacity = Annotated[float, BeforeValidator(_reader("heat_capacity", positive=True, zero=False))]
Number = Annotated[float, BeforeValidator(_reader("number"))]
Place = Annotated[Point, BeforeValidator(_point)]
Places = Annotated[Point | dict[str, Point], BeforeValidator(_places)]
Direction = Annotated[Vector, BeforeValidator(_direction)]
Moments = Annotated[Vector, BeforeValidator(_moments)]
Extents2 = Annotated[tuple[float, float], BeforeValidator(_extents(2))]
Extents3 = Annotated[tuple[float, float, float], BeforeValidator(_extents(3))]
Window = Annotated[tuple[float, float], BeforeValidator(_window)]

_EXTENTS2, _EXTENTS3 = (typing.get_args(extents)[1].func for extents in (Extents2, Extents3))
_WRITTEN: dict[Callable[..., Any], tuple[str, str]] = {
    _point: ("point", "0 20 300 mm"),
    _places: ("point", "0 20 300 mm"),
    _direction: ("direction", "x, -z, 0 0.6 0.8"),
    _moments: ("moments of inertia", "2e-5 2e-5 1e-5 kg*m^2"),
    _EXTENTS2: ("sizes", "40 x 18 mm"),
    _EXTENTS3: ("sizes", "300 x 200 x 18 mm"),
    _window: ("window", "0.5 s to 4 s"),
}
