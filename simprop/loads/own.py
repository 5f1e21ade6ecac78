"""The joint forces that an engine solves for itself, beside those that Newton and Euler give for the same motion."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.loads.newton_euler import determined


@dataclass(frozen=True)
class Own:
    """How far an engine's own joint force is from the load of the same run.

    Attributes:
        joint: its name.
        force: largest difference at any step after the first, N.
        moment: the same, N*m.
        share: the larger of both as a share of the largest peak of its kind in the run.
    """

    joint: str
    force: float
    moment: float
    share: float


def own_differences(loads: JointLoads) -> tuple[Own, ...]:
    """Differences of each joint whose forces the engine solved for, in what rigid bodies determine of its load.

    Without the joints that a coupling ties: engines tie their rates, and what the teeth push isn't in their bearings.
    The two share no code: the engine's are the multipliers of its constraints, ours the balance of the recorded motion.

    Args:
        loads: of a run; an engine that tells none of its own gives none.
    """
    recording, found = loads.recording, loads.wrenches
    track, assembly = recording.track, recording.assembly
    if len(track.own) < 2:
        return ()
    most = [max((pair[k].value for pair in loads.joints), default=0.0) for k in (0, 1)]
    tied = {name for coupling in (*assembly.couplings, *assembly.slips) for name in coupling.kind.joints}
    rows = []
    for j, frame in enumerate(determined(assembly, track, recording.laws)[: track.own.shape[1]]):
        joint = assembly.joints[j]
        if np.isnan(track.own[1:, j]).any() or joint.kind.play is not None or joint.name in tied:
            continue
        turn = matrices(track.rotation[1:, joint.first])
        gaps = []
        for directions, own, ours in (
            (frame.forces, track.own[1:, j, :3], found.force[1:, j]),
            (frame.moments, track.own[1:, j, 3:], found.moment[1:, j]),
        ):
            apart = np.einsum("nij,ni->nj", turn, own - ours) @ directions.T
            gaps.append(float(np.linalg.norm(apart, axis=1).max(initial=0.0)))
        share = max((g / m for g, m in zip(gaps, most, strict=True) if m > 1e-9), default=0.0)
        rows.append(Own(joint.name, gaps[0], gaps[1], share))
    return tuple(rows)
