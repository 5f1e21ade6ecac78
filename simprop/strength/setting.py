"""Where and how long a prop runs, with what was assumed where the rig doesn't say."""

from __future__ import annotations

from dataclasses import dataclass

from simprop.catalog.strengths import Strength, at_temperature
from simprop.rig.model import Rig
from simprop.strength import margins

ROOM = (73 - 32) / 1.8
"""Temperature of the tables of strength: 73 degF, degC."""
SEASON = (30.0, 4.0)
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
    """

    temperature: float
    nights: float
    hours: float
    runs_per_hour: float | None
    overhead: bool
    assumed: tuple[str, ...]


def setting_of(rig: Rig) -> Setting:
    """The setting that a rig states, with assumptions where it doesn't.

    Args:
        rig: the rig.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig("rig: 1\\nname: x\\nbodies: {a: {fixed: true}}\\nrun: {for: 1 s}")
        >>> setting_of(rig).nights
        30.0
    """
    assumed = []
    if rig.temperature is None:
        assumed.append(f"temperature {ROOM:.0f} degC (`temperature` is not stated)")
    if rig.season is None:
        assumed.append(f"a season of {SEASON[0]:.0f} nights of {SEASON[1]:.0f} h (`season` is not stated)")
    season = rig.season
    return Setting(
        temperature=ROOM if rig.temperature is None else rig.temperature,
        nights=SEASON[0] if season is None else season.nights,
        hours=SEASON[1] if season is None else season.hours,
        runs_per_hour=None if season is None else season.runs_per_hour,
        overhead=rig.visitors is not None and rig.visitors.overhead,
        assumed=tuple(assumed),
    )


def least_factor(family: str, setting: Setting) -> float:
    """Least factor of safety on a strength of a family of materials.

    Args:
        family: metal, plastic or wood.
        setting: temperature, season, people.

    Example:
        >>> least_factor("metal", Setting(23.0, 30.0, 4.0, None, False, ()))
        2.0
    """
    if setting.overhead:
        return margins.NEAR_PEOPLE
    return margins.METAL if family == "metal" else margins.PLASTIC_OR_WOOD


def weakened(strength: Strength, setting: Setting) -> float | None:
    """Factor on a material's strength at the setting's temperature; metals and wood: 1; None where not known.

    Args:
        strength: of the material.
        setting: temperature, season, people.

    Example:
        >>> from simprop.catalog.strengths import strength_of
        >>> round(weakened(strength_of("PVC"), Setting(40.0, 30.0, 4.0, None, False, ())), 2)
        0.57
    """
    if strength.family != "plastic":
        return 1.0
    return at_temperature(strength.weaker, setting.temperature)


def softened(strength: Strength | None, setting: Setting) -> float | None:
    """Factor on a material's modulus at the setting's temperature; None where not known.

    Args:
        strength: of the material.
        setting: temperature, season, people.
    """
    if strength is None or strength.family != "plastic":
        return 1.0
    return at_temperature(strength.softer, setting.temperature)
