"""Wire of coil springs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from simprop.catalog.load import find, needed, table

SOURCE = "tables of spring wire in machine-design textbooks, from memory"


@dataclass(frozen=True)
class Wire:
    """A sort of spring wire.

    Attributes:
        name: catalogue name.
        density: kg/m^3.
        shear: modulus, Pa.
        strength: ultimate strength of 1 mm wire, Pa.
        exponent: m of A / d^m.
        torsion: share of the ultimate strength that the coil bears before it sets.
        hook: share that a hook bears in bending.
    """

    name: str
    density: float
    shear: float
    strength: float
    exponent: float
    torsion: float
    hook: float

    def ultimate(self, diameter: float) -> float:
        """Ultimate strength of a diameter, m, in Pa.

        Example:
            >>> round(wire("music wire").ultimate(0.94e-3) / 1e6)
            2231
        """
        return self.strength / float((diameter * 1e3) ** self.exponent)


@cache
def wire(name: str) -> Wire:
    """Spring wire by its name.

    Raises:
        UnknownNameError: for one that the catalogue doesn't have.

    Example:
        >>> wire("A228").name
        'music wire'
    """
    rows = table("spring_wires")
    key = find("spring wire", name, rows)
    row = rows[key]
    return Wire(
        key,
        needed(row, "density", "density"),
        needed(row, "shear", "pressure"),
        needed(row, "strength", "pressure"),
        float(row["exponent"]),
        float(row["torsion"]),
        float(row["hook"]),
    )
