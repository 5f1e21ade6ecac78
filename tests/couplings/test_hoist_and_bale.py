"""The rigs with a worm and a cam against what can be said of them by hand."""

from __future__ import annotations

from functools import cache
from math import atan, cos, radians, sin
from pathlib import Path

import numpy as np
import pytest

from simprop.loads.verdicts import verdicts
from simprop.rig.load import load_rig
from simprop.run.simulate import simulate

RIGS = Path(__file__).parents[2] / "rigs"
G = 9.80665


@cache
def run_of(name, step):
    return simulate(load_rig(RIGS / f"{name}.yaml"), settle=False, step=step)


def axis(run, joint):
    return next(k for k, a in enumerate(run.assembly.axes) if run.assembly.joints[a.joint].name == joint)


def test_the_worm_lifts_by_its_lead_angle_and_holds():
    """T = W r1 (cos a sin l + mu cos l) / (cos a cos l - mu sin l), W = m g R / r2; what the hand gives more goes
    into the crank's viscous friction. Let go, the worm holds."""
    run = run_of("cask_hoist", 5e-4)
    track = run.track
    worm, wheel, flank, mu = 0.010, 0.035, cos(radians(20)), 0.13
    angle = atan(wheel / 24 / worm)
    load = 14.0 * G * 0.060 / wheel
    lifts = load * worm * (flank * sin(angle) + mu * cos(angle)) / (flank * cos(angle) - mu * sin(angle))
    turned, rate = (x[:, axis(run, "crank")] for x in (track.coordinate, track.rate))
    first, last = np.searchsorted(
        turned, [10 * np.pi, 16 * np.pi]
    )  # whole turns: the crank's own weight takes nothing
    lost = np.trapezoid(0.045 * rate[first:last], turned[first:last]) / (6 * np.pi)
    assert lost == pytest.approx(1.2 - lifts, rel=0.02)
    held = track.time > 6.5
    assert np.abs(track.rate[held, axis(run, "shaft")]).max() < 0.02
    assert np.abs(run.loads.wrenches.coupled[held, 0]).mean() == pytest.approx(load, rel=0.02)
    assert track.line_force[held, 0].mean() == pytest.approx(14.0 * G, rel=0.02)
    rises = track.position[-1, 3, 2] - track.position[0, 3, 2]
    assert rises == pytest.approx(0.060 * np.ptp(track.coordinate[:, axis(run, "shaft")]), rel=0.03)


def test_the_bale_rises_as_its_cam_says():
    """The roller, level with the hinge 370 mm away, rises by 16 mm; at rest it bears the board on that lever."""
    run = run_of("breathing_bale", 2e-4)
    track = run.track
    assert 0.370 * np.sin(np.ptp(track.coordinate[:, axis(run, "hinge")])) == pytest.approx(0.016, rel=0.02)
    board = next(b for b in run.assembly.bodies if b.name == "board")
    lever = board.com[0] + 0.260
    turned = np.degrees(np.mod(np.abs(track.coordinate[:, axis(run, "shaft")]), 2 * np.pi))
    low = (turned > 335) & (turned < 355) & (track.time > 1.0)  # the last 40 deg of a turn dwell
    force = track.touch_force[low, 0]
    assert force[:, 2].mean() == pytest.approx(board.mass * G * lever / 0.370, rel=0.03)
    assert not verdicts(run.loads)
