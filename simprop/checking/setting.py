"""Where and how long a prop runs, and what that asks of its materials."""

from __future__ import annotations

from dataclasses import dataclass

from simprop.catalog.strengths import Strength, at_temperature
from simprop.checking.check import METAL, NEAR_PEOPLE, PLASTIC_OR_WOOD

LIFE_FACTOR = 4.0
"""Life asked for over the season's length: fatigue lives scatter widely. Assumed."""


@dataclass(frozen=True)
class Setting:
    """What the checks need to know besides loads.

    Attributes:
        temperature: degC.
        nights: of the season.
        hours: a night.
        runs_per_hour: how often the recorded run is played; None: one after the other.
        overhead: people walk beneath or right beside the moving parts.
        assumed: what the rig doesn't say and was assumed, a sentence each.
        lasting: the loads are those of every night, so that life and creep can be judged by them; False in a wind.
    """

    temperature: float
    nights: float
    hours: float
    runs_per_hour: float | None
    overhead: bool
    assumed: tuple[str, ...]
    lasting: bool = True


def least_factor(family: str, setting: Setting) -> float:
    """Least factor of safety on a strength of a family of materials.

    Args:
        family: metal, plastic or wood.

    Example:
        >>> least_factor("metal", Setting(23.0, 30.0, 4.0, None, False, ()))
        2.0
    """
    if setting.overhead:
        return NEAR_PEOPLE
    return METAL if family == "metal" else PLASTIC_OR_WOOD


def weakened(strength: Strength, setting: Setting) -> float | None:
    """Factor on a material's strength at the setting's temperature; metals and wood: 1; None where not known.

    Example:
        >>> from simprop.catalog.strengths import strength_of
        >>> round(weakened(strength_of("PVC"), Setting(40.0, 30.0, 4.0, None, False, ())), 2)
        0.57
    """
    if strength.family != "plastic":
        return 1.0
    return at_temperature(strength.weaker, setting.temperature)


def softened(strength: Strength | None, setting: Setting) -> float | None:
    """Factor on a material's modulus at the setting's temperature; None where not known."""
    if strength is None or strength.family != "plastic":
        return 1.0
    return at_temperature(strength.softer, setting.temperature)
