"""Life of a recorded stress history against the season."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from simprop.catalog.strengths import FatigueLine
from simprop.checking.check import Check, judge, not_computed
from simprop.checking.setting import LIFE_FACTOR, Setting
from simprop.geometry.arrays import Array
from simprop.rules import fatigue


def life_check(
    place: str,
    history: Array,
    *,
    line: FatigueLine,
    ultimate: float,
    setting: Setting,
    step: float,
    assumed: Sequence[str] = (),
    source: str = "",
) -> Check:
    """Life of a stress history that is played night after night, as a check in nights.

    Args:
        history: stress of one recorded run, (n,) Pa.
        ultimate: Pa.
        step: time between entries, s.

    Example:
        >>> import numpy as np
        >>> line = FatigueLine(100e6, 1e6, 5.0, False, False)
        >>> wave = 100e6 * np.sin(2 * np.pi * np.arange(0, 10.0001, 0.01))
        >>> setting = Setting(23.0, 10.0, 1.0, None, False, ())
        >>> check = life_check("rod", wave, line=line, ultimate=4e8, setting=setting, step=0.01)
        >>> round(check.capacity / 277.8, 1)
        1.0
    """
    if not setting.lasting:
        return not_computed("fatigue", "life", place, "judged without the wind")
    harm = fatigue.damage(line, ultimate, fatigue.count_cycles(history))
    run = len(history) * step
    nights = fatigue.life_nights(harm, run, setting.hours, setting.runs_per_hour) if run > 0 else inf
    often = setting.runs_per_hour
    played = "one after the other" if often is None else f"{often:g} times an hour"
    return judge(
        "fatigue",
        "life",
        place,
        setting.nights,
        nights,
        unit="nights",
        factor=LIFE_FACTOR,
        assumed=[*assumed, f"the recorded {run:.3g} s played {played}, {setting.hours:g} h a night"],
        source="ASTM E1049 rainflow; Miner; Goodman; " + source,
    )
