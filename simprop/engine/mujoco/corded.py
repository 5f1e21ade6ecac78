"""What cords do to the bodies, for the MuJoCo engine."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.cords import Cording


class Corded:
    """Puts the pull of cords on the bodies at every stage of a step.

    Attributes:
        commit: to be set before the stage that begins a step; cleared by it.
    """

    def __init__(self, model: Any, data: Any, assembly: Assembly, actuation: Actuation):
        from simprop.engine.contact.touching import of_centres, onto

        laid = Cording(assembly, actuation.cords)
        bodies = np.array([branch.body for branch in assembly.tree])
        ids = np.array([model.body(f"b{i}").id for i in bodies])
        moving = dict(zip(bodies.tolist(), ids.tolist(), strict=True))
        ends = [(k, b, moving[b], 1) for k, b in enumerate(laid.ends.tolist()) if b in moving]
        rows = np.array(ends, dtype=np.int64).reshape(-1, 4)
        state = (data.xipos, data.xmat, data.cvel, data.subtree_com)
        which = (bodies, ids, model.body_rootid[ids].astype(np.int64))
        self.commit = False
        self._laid, self._applied, self._own = laid, data.xfrc_applied, np.zeros(data.xfrc_applied.shape)
        self._read: Any = partial(of_centres, state, which, laid.bodies)
        self._sum: Any = partial(onto, rows, laid.force, laid.point, laid.bodies[0], self._own)

    def act(self, add: bool) -> None:
        """Work out and apply the forces at the stage that the engine stands at.

        Args:
            add: to what is applied already.
        """
        self._read()
        self._laid.act(self.commit)
        self._sum()
        if add:
            self._applied += self._own
        else:
            self._applied[:] = self._own
        self.commit = False
