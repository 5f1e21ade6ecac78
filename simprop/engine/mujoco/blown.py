"""What strips and the air do to the bodies, for the MuJoCo engine."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.outside import Log, Outside


class Blown:
    """Puts them on the bodies at every stage of a step, as they were when it began.

    Attributes:
        commit: to be set before the stage that begins a step; cleared by it.
        log: what they did at each step.
    """

    def __init__(self, model: Any, data: Any, assembly: Assembly, actuation: Actuation, step: float):
        from simprop.engine.contact.touching import of_centres

        laid = Outside(assembly, actuation.outside)
        bodies = np.array([branch.body for branch in assembly.tree])
        ids = np.array([model.body(f"b{i}").id for i in bodies])
        self._moving = dict(zip(bodies.tolist(), ids.tolist(), strict=True))
        state = (data.xipos, data.xmat, data.cvel, data.subtree_com)
        which = (bodies, ids, model.body_rootid[ids].astype(np.int64))
        self.commit = False
        self._laid, self._applied, self._own = laid, data.xfrc_applied, np.zeros(data.xfrc_applied.shape)
        self._step, self._begun = step, False
        self.log = Log(laid)
        self._read: Any = partial(of_centres, state, which, laid.bodies)

    def act(self, add: bool) -> None:
        """Apply the forces at the stage that the engine stands at.

        Args:
            add: to what is applied already.
        """
        if self.commit:
            self._read()
            self._laid.step(self._step if self._begun else 0.0)
            self.log.add()
            self._begun, self.commit = True, False
            self._own[:] = 0.0
            for body, force, moment in self._laid.about_centres():
                if body in self._moving:
                    self._own[self._moving[body], :3] += force
                    self._own[self._moving[body], 3:] += moment
        if add:
            self._applied += self._own
        else:
            self._applied[:] = self._own
