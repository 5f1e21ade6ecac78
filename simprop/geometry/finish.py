"""How materials look: colour, gloss and grain by catalogue name. Colours are chosen by eye, no source."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array

PLAIN, WOOD, BRUSHED, WEAVE, MASONRY, FOAM = range(6)
"""Patterns the shader knows."""


@dataclass(frozen=True)
class Finish:
    """The look of a surface.

    Attributes:
        colour: linear red, green, blue, 0 to 1.
        roughness: 0 (mirror) to 1 (chalk).
        metal: 0 (plastic, wood) to 1 (bare metal).
        pattern: one of `PLAIN`, `WOOD`, `BRUSHED`, `WEAVE`, `MASONRY`, `FOAM`.
        glow: light given off, in units of its colour.
    """

    colour: tuple[float, float, float]
    roughness: float = 0.6
    metal: float = 0.0
    pattern: int = PLAIN
    glow: float = 0.0


def linear(colour: str) -> tuple[float, float, float]:
    """An sRGB colour ``#rrggbb`` as linear red, green, blue (IEC 61966-2-1).

    Example:
        >>> linear("#ffffff")
        (1.0, 1.0, 1.0)
    """
    values = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values)
    return (red, green, blue)


def _finish(colour: str, roughness: float, metal: float = 0.0, pattern: int = PLAIN) -> Finish:
    return Finish(linear(colour), roughness, metal, pattern)


_UNKNOWN = _finish("#a39d94", 0.7)

# The first row whose word is in the material's name wins.
_TABLE: tuple[tuple[str, Finish], ...] = (
    ("cpvc", _finish("#e4d9b4", 0.38)),
    ("pvc", _finish("#eceff0", 0.34)),
    ("abs", _finish("#2b2d30", 0.42)),
    ("pex", _finish("#b8402f", 0.45)),
    ("plywood", _finish("#c9a26b", 0.72, pattern=WOOD)),
    ("hardboard", _finish("#7a5a3c", 0.8)),
    ("corrugated", _finish("#e6e8ea", 0.45)),
    ("mdf", _finish("#a88a66", 0.85)),
    ("oak", _finish("#8f6338", 0.65, pattern=WOOD)),
    ("beech", _finish("#c2935f", 0.65, pattern=WOOD)),
    ("birch", _finish("#d3b27d", 0.65, pattern=WOOD)),
    ("maple", _finish("#d6b382", 0.65, pattern=WOOD)),
    ("spruce", _finish("#dcb67c", 0.75, pattern=WOOD)),
    ("fir", _finish("#c99a60", 0.75, pattern=WOOD)),
    ("cedar", _finish("#a8643c", 0.75, pattern=WOOD)),
    ("pine", _finish("#d8ad70", 0.75, pattern=WOOD)),
    ("wood", _finish("#bd8d55", 0.75, pattern=WOOD)),
    ("bamboo", _finish("#cdb56a", 0.6, pattern=WOOD)),
    ("stainless", _finish("#b9bcbf", 0.3, 1.0, BRUSHED)),
    ("steel", _finish("#8b9096", 0.38, 1.0, BRUSHED)),
    ("iron", _finish("#63656a", 0.55, 1.0)),
    ("alumin", _finish("#ced2d6", 0.42, 1.0, BRUSHED)),
    ("brass", _finish("#c9a44c", 0.35, 1.0, BRUSHED)),
    ("bronze", _finish("#a8763e", 0.35, 1.0, BRUSHED)),
    ("copper", _finish("#c47a52", 0.35, 1.0, BRUSHED)),
    ("zinc", _finish("#a9aeb3", 0.45, 1.0)),
    ("lead", _finish("#5f646b", 0.6, 1.0)),
    ("foam", _finish("#8fb4c9", 0.95, pattern=FOAM)),
    ("eva", _finish("#8fb4c9", 0.95, pattern=FOAM)),
    ("xps", _finish("#a9c4d4", 0.95, pattern=FOAM)),
    ("eps", _finish("#a9c4d4", 0.95, pattern=FOAM)),
    ("styrene", _finish("#a9c4d4", 0.95, pattern=FOAM)),
    ("rubber", _finish("#26272a", 0.85)),
    ("cloth", _finish("#7d4a4f", 0.95, pattern=WEAVE)),
    ("burlap", _finish("#b3925f", 0.95, pattern=WEAVE)),
    ("cotton", _finish("#d7d2c4", 0.95, pattern=WEAVE)),
    ("fabric", _finish("#6a5b7c", 0.95, pattern=WEAVE)),
    ("felt", _finish("#50604a", 0.95, pattern=WEAVE)),
    ("leather", _finish("#6b432a", 0.6)),
    ("straw", _finish("#d3b25a", 0.9, pattern=WOOD)),
    ("paper", _finish("#d9cfb8", 0.9)),
    ("card", _finish("#b08d60", 0.9)),
    ("plaster", _finish("#dedad0", 0.9)),
    ("concrete", _finish("#9a9890", 0.9, pattern=FOAM)),
    ("stone", _finish("#8d8a82", 0.9, pattern=MASONRY)),
    ("brick", _finish("#9c5a45", 0.9, pattern=MASONRY)),
    ("acryl", _finish("#b9d6dd", 0.12)),
    ("polycarb", _finish("#b5cbd4", 0.12)),
    ("petg", _finish("#4c7f8c", 0.4)),
    ("pla", _finish("#5a8f6b", 0.5)),
    ("nylon", _finish("#e8e2d0", 0.5)),
    ("acetal", _finish("#e9e7e0", 0.45)),
    ("ptfe", _finish("#f0efec", 0.5)),
    ("poly", _finish("#3f4347", 0.5)),
    ("fibreglass", _finish("#9fb27e", 0.5)),
    ("carbon", _finish("#303236", 0.35)),
)


def finish_of(material: str) -> Finish:
    """The finish of a material of the catalogue; a quiet grey for a name that isn't known here.

    Args:
        material: catalogue name such as ``PVC`` or ``aluminium 6061``; "" if unknown.

    Example:
        >>> finish_of("steel").metal, finish_of("pine").pattern == WOOD
        (1.0, True)
    """
    name = material.lower()
    return next((finish for word, finish in _TABLE if word in name), _UNKNOWN)


def finish_row(finish: Finish) -> Array:
    """What the shader reads of a finish: roughness, metal, pattern, glow, (4,).

    Example:
        >>> finish_row(Finish((1.0, 1.0, 1.0), roughness=0.5)).tolist()
        [0.5, 0.0, 0.0, 0.0]
    """
    return np.array([finish.roughness, finish.metal, finish.pattern, finish.glow])
