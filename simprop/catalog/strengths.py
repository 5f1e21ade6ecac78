"""Strength, fatigue and softening of the catalogue's materials."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import log
from typing import Any, Literal

from simprop.catalog.load import material, needed, table, value
from simprop.errors import SimpropError
from simprop.quantities import to_si, whole_literal

Family = Literal["metal", "plastic", "wood"]
Curve = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class FatigueLine:
    """A straight line of stress against cycles on logarithmic axes: N = cycles (stress / S)^slope.

    Attributes:
        stress: Pa, at `cycles`.
        cycles: number of cycles at `stress`.
        slope: k.
        from_zero: S is the peak of a stress from zero; otherwise the amplitude of a reversed one.
        endless: below `stress` nothing breaks (steel); otherwise the line goes on.
    """

    stress: float
    cycles: float
    slope: float
    from_zero: bool
    endless: bool


@dataclass(frozen=True)
class Strength:
    """What a material bears. Stresses in Pa; None: the catalogue has none.

    Attributes:
        name: catalogue name.
        family: metal, plastic or wood.
        yield_strength: tensile yield; plastics: tensile strength; None for wood.
        ultimate: tensile strength; wood: modulus of rupture.
        design: bending stress that already holds a margin (wood).
        shear_design: shear along the grain that already holds a margin (wood).
        compression: compressive strength.
        sustained: what may stand for months.
        gravity: specific gravity for wood fasteners.
        fatigue: stress against cycles.
        weaker: (temperature degC, factor on strength), rising temperatures; () if not known.
        softer: (temperature degC, factor on modulus).
        creep: modulus after months of load over the short-term modulus.
        source: where the figures come from.
        assumed: names of figures that no publication gives for this exact use.
    """

    name: str
    family: Family
    yield_strength: float | None
    ultimate: float | None
    design: float | None
    shear_design: float | None
    compression: float | None
    sustained: float | None
    gravity: float | None
    fatigue: FatigueLine | None
    weaker: Curve
    softer: Curve
    creep: float | None
    source: str
    assumed: tuple[str, ...]


def _curve(row: Any) -> Curve:
    points = [(to_si(whole_literal(str(t)), "temperature"), float(f)) for t, f in (row or {}).items()]
    return tuple(sorted(points))


def _fatigue(row: Any, ultimate: float | None) -> FatigueLine | None:
    if row is None:
        return None
    stress, cycles = needed(row, "stress", "pressure"), float(row["cycles"])
    if "slope" in row:
        slope = float(row["slope"])
    elif ultimate is None:
        raise SimpropError("a fatigue line without a slope needs the ultimate strength")
    else:
        slope = log(cycles / 1e3) / log(0.9 * ultimate / stress)
    return FatigueLine(stress, cycles, slope, row["from"] == "zero", bool(row.get("endless", False)))


@cache
def strength_of(name: str) -> Strength | None:
    """The strength of a material by its name or an alias; None where the catalogue has none (foam, cloth).

    Raises:
        UnknownNameError: for a material the catalogue doesn't have at all.

    Example:
        >>> round(strength_of("pvc").yield_strength / 6894.757)
        7000
        >>> strength_of("foam") is None
        True
    """
    key = material(name).name
    row = table("strengths").get(key)
    if row is None:
        return None
    ultimate = value(row, "ultimate", "pressure")
    return Strength(
        name=key,
        family=row["family"],
        yield_strength=value(row, "yield", "pressure"),
        ultimate=ultimate,
        design=value(row, "design", "pressure"),
        shear_design=value(row, "shear_design", "pressure"),
        compression=value(row, "compression", "pressure"),
        sustained=value(row, "sustained", "pressure"),
        gravity=value(row, "gravity", "number"),
        fatigue=_fatigue(row.get("fatigue"), ultimate),
        weaker=_curve(row.get("weaker")),
        softer=_curve(row.get("softer")),
        creep=value(row, "creep", "number"),
        source=str(row["source"]),
        assumed=tuple(row.get("assumed", ())),
    )


def at_temperature(curve: Curve, temperature: float) -> float | None:
    """The factor of a curve at a temperature: linear in between, 1 below the first point.

    Args:
        curve: `Strength.weaker` or `Strength.softer`.
        temperature: degC.

    Returns:
        The factor, or None above the last point or where there is no curve and it is warmer than 23 degC.

    Example:
        >>> round(at_temperature(strength_of("PVC").weaker, 37.78), 2)
        0.62
        >>> at_temperature(strength_of("PVC").weaker, 65.0) is None
        True
    """
    room = 23.0
    if not curve:
        return 1.0 if temperature <= room else None
    if temperature <= curve[0][0]:
        return curve[0][1]
    for (t0, f0), (t1, f1) in pairwise(curve):
        if temperature <= t1 + 1e-9:
            return f0 + (f1 - f0) * (temperature - t0) / (t1 - t0)
    return None
