"""What strips and the air do to the bodies, for the exudyn engine."""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.outside import Log, Outside
from simprop.engine.exudyn.touch import EULER, euler_rows
from simprop.engine.exudyn.touch_kernel import placed
from simprop.geometry.arrays import Array

_UNTURNED = np.array([1.0, 0.0, 0.0, 0.0])


class Blown:
    """Generalised forces of the bodies that strips hang on or that the air brakes, held over each step.

    Attributes:
        bodies: those that move, by index.
        log: what they did at each step.
    """

    def __init__(self, assembly: Assembly, actuation: Actuation):
        self._laid = Outside(assembly, actuation.outside)
        self.log = Log(self._laid)
        met = dict.fromkeys(self._laid.which.tolist())
        self.bodies = tuple(b for b in met if not assembly.bodies[b].fixed)
        self._which = np.array(self.bodies, dtype=np.int64)
        self._centres = np.array([assembly.bodies[b].com for b in self.bodies]).reshape(-1, 3)
        self._loads = np.zeros((len(self.bodies), 6))

    def begin(self, places: Array, speeds: Array, step: float) -> None:
        """A step begins at places and speeds, `step` s after the last one."""
        where: Any = placed
        where(self._which, self._centres, places, speeds, self._laid.bodies)
        self._laid.step(step)
        self.log.add()
        self._loads[:] = 0.0
        for body, force, moment in self._laid.about_centres():
            if body in self.bodies:
                into = self._loads[self.bodies.index(body)]
                into[:3] += force
                into[3:] += moment

    def at(self, places: Array) -> Array:
        """Forces at places, (7 b,)."""
        found = np.zeros(len(places))
        for k, load in enumerate(self._loads):
            p = places[EULER * k + 3 : EULER * k + 7] + _UNTURNED
            found[EULER * k : EULER * k + 3] = load[:3]
            found[EULER * k + 3 : EULER * k + 7] = 2.0 * euler_rows(p).T @ load[3:]
        return found
