"""How much a swing loses in the material and its fits."""

from __future__ import annotations

from functools import cache

from simprop.catalog.load import table
from simprop.catalog.strengths import strength_of
from simprop.errors import UnknownNameError

OTHER = "metal"
"""What is taken for a material whose family isn't known: the one that loses least."""


@cache
def damping_of(material: str) -> float:
    """Damping ratio of a member's first swing, a share of critical, by the family of its material.

    Args:
        material: name in the catalogue.

    Source: `damping.yaml`, each figure with its own.

    Example:
        >>> damping_of("PVC"), damping_of("A36")
        (0.02, 0.008)
    """
    try:
        found = strength_of(material)
        family = OTHER if found is None else found.family
    except UnknownNameError:
        family = OTHER
    return float(table("damping")[family]["ratio"])
