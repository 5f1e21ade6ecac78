"""How a prop begins: what has sagged, and what dry friction that sticks bears."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simprop.assembly.modes import sagged
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.actuator import line_tension
from simprop.engine.acting.lines import line_ends
from simprop.geometry.arrays import Array
from simprop.laws.forms import Mounted

CLOSE = 1e-3
"""Loads that move by less than this share of the largest have been found."""


@dataclass(frozen=True)
class Start:
    """How a prop begins.

    Attributes:
        hung: how far each body hangs off its start pose, (B, 6) m and rad.
        loads: of each axis at rest with friction, N*m or N.
        limits: of friction that goes with the load.
    """

    hung: Array
    loads: dict[int, float] = field(default_factory=dict)
    limits: dict[int, float] = field(default_factory=dict)

    def close_to(self, other: Start) -> bool:
        """True if another is next to the same."""
        for own, theirs in ((self.loads, other.loads), (self.limits, other.limits)):
            most = max((abs(v) for v in own.values()), default=0.0)
            if any(abs(v - theirs.get(k, 0.0)) > CLOSE * most for k, v in own.items()):
                return False
        return True


def sag(assembly: Assembly, actuation: Actuation) -> Array:
    """How far each body hangs off its start pose before anything moves, (B, 6) m and rad.

    Under its weight and the springs between points; zeros where nothing gives or the rig says that it begins straight.

    Args:
        assembly: the prop.
        actuation: what acts on it.
    """
    loads = np.zeros((len(assembly.bodies), 6))
    if not assembly.gives or assembly.rig.run.begin == "straight":
        return loads
    for i, body in enumerate(assembly.bodies):
        loads[i, :3] = body.mass * np.array(assembly.rig.run.gravity)
    start, end = line_ends(
        actuation.lines,
        np.array([[b.com for b in assembly.bodies]]),
        np.tile([0.0, 0.0, 0.0, 1.0], (1, len(assembly.bodies), 1)),
    )
    for k, line in enumerate(actuation.lines):
        if isinstance(line.law, Mounted):
            continue
        between = end[0, k] - start[0, k]
        length = float(np.linalg.norm(between))
        pull = line_tension(actuation, k, length, 0.0) * between / max(length, 1e-9)
        for own, place, force in ((line.first, start[0, k], pull), (line.second, end[0, k], -pull)):
            loads[own] += np.concatenate([force, np.cross(place - assembly.bodies[own].com, force)])
    return sagged(assembly, loads)
