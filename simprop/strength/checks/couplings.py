"""Whether couplings bear what they hand on."""

from __future__ import annotations

import numpy as np

from simprop.checking.check import Check
from simprop.checking.context import peak
from simprop.couplings.base import Asked
from simprop.loads.joints import JointLoads
from simprop.strength.setting import setting_of


def couplings(loads: JointLoads) -> list[Check]:
    """The checks of every coupling: teeth, strands, nuts."""
    assembly, track = loads.recording.assembly, loads.recording.track
    setting = setting_of(assembly.rig)
    rows = [(c, loads.wrenches.coupled[:, k]) for k, c in enumerate(assembly.couplings)]
    rows += [(c, track.slip_force[:, k]) for k, c in enumerate(assembly.slips)]
    found: list[Check] = []
    for c, force in rows:
        most, row = peak(np.abs(force))
        size = float(np.max(c.kind.size(force)))
        speed = float(np.abs(track.rate[:, c.axes[0]]).max()) * abs(c.works[0])
        place = f"coupling {c.name}"
        found += c.kind.checks(
            Asked(place, most, size, speed, float(track.time[row]), c.sides, c.tie, setting)
        )
    return found
