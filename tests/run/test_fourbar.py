"""The four-bar 40/120/80/100 driven by 0.05 N*m from rest.

Reference: Newton-Euler 9 x 9 system, absolute coordinates with multipliers, a general rigid-body library and a symbolic
Lagrangian, recomputed, agreeing to 1e-8 (gravity 9.81 m/s^2).
"""

from __future__ import annotations

import numpy as np
import pytest

from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.rigs import fourbar

# t s, crank angle deg, then force magnitudes N at O2, A, B, O4
ROWS = [
    (0.05, 46.17990112551, 1.450814290758, 1.25276112483, 1.401778650326, 2.057037894068),
    (0.10, 62.31540198018, 1.359877191483, 1.154895929399, 1.137006338544, 1.799564970289),
    (0.15, 89.14237596815, 1.326827864206, 1.168904659172, 0.7508557110972, 1.352401661579),
]
ANGLE_AT_0_2 = 139.8889888728
PEAKS = {"O2": 30.30597530011, "A": 25.8999875358, "B": 4.50859164834, "O4": 2.780938309311}


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
def test_motion_and_pin_forces(engine: str) -> None:
    run = simulate(parse_rig(fourbar()), engine)
    recording, loads = run.recording, run.loads
    track = recording.track
    names = [j.name for j in recording.assembly.joints]
    angle = 40.0 + np.degrees(track.coordinate[:, names.index("O2")])
    for t, expected, *_ in [*ROWS, (0.2, ANGLE_AT_0_2)]:
        assert np.interp(t, track.time, angle) == pytest.approx(expected, abs=0.05)
    for t, _, *forces in ROWS:
        for name, expected in zip(("O2", "A", "B", "O4"), forces, strict=True):
            size = np.linalg.norm(loads.wrenches.force[:, names.index(name)], axis=1)
            assert np.interp(t, track.time, size) == pytest.approx(expected, rel=0.005), (name, t)
    for force, _ in loads.joints:
        assert force.value == pytest.approx(PEAKS[force.name], rel=0.01 if engine == "bullet" else 0.003)
        assert force.band is not None
        assert force.band.settled
        assert abs(force.value - PEAKS[force.name]) < 2 * force.band.change + 1e-3 * force.value
