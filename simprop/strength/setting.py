"""The setting that a rig states, with what was assumed where it doesn't say."""

from __future__ import annotations

from simprop.checking.setting import Setting
from simprop.rig.model import Rig

ROOM = (73 - 32) / 1.8
"""Temperature of the tables of strength: 73 degF, degC."""
SEASON = (30.0, 4.0)
"""Nights, and hours a night."""


def setting_of(rig: Rig) -> Setting:
    """The setting that a rig states, with assumptions where it doesn't.

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
