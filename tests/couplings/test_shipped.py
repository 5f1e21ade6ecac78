"""The shipped rigs with couplings and slots, against what can be said of them by hand."""

from __future__ import annotations

from math import asin, pi
from pathlib import Path

import numpy as np
import pytest

from simprop.rig.load import load_rig
from simprop.run.simulate import simulate

RIGS = Path(__file__).parents[2] / "rigs"


def axis_of(run, joint):
    return next(k for k, a in enumerate(run.assembly.axes) if run.assembly.joints[a.joint].name == joint)


def test_the_night_watch_walks_with_equal_strides():
    """Each leg swings by 2 asin(throw / reach of its stud from the hip): 38 of 320 mm, 23.75 of 200 mm."""
    run = simulate(load_rig(RIGS / "night_watch.yaml", {"run.for": "2 s"}), settle=False, step=1e-3)
    for joint, share in (("hip_left", 38 / 320), ("hip_right", 23.75 / 200)):
        assert np.ptp(run.track.coordinate[:, axis_of(run, joint)]) == pytest.approx(
            2 * asin(share), abs=1e-3
        )
    # two strands of 25 N pull each shaft, and the leg a little
    tops = {p.name: p.value for p, _ in run.loads.joints}
    assert tops["shaft_left"] == pytest.approx(50, abs=1.0)
    assert tops["shaft_right"] == pytest.approx(50, abs=1.0)
    assert run.loads.couplings[0].value == pytest.approx(25, abs=4.0)


def test_straw_flies_round_the_shins_of_the_night_watch():
    """At rest eight strips of 24 mm, 200 mm long, of 0.35 kg/m^2 weigh 0.1318 N; as he walks they pull a little more.

    Hips: of a settled run, exudyn 3.553 and 2.614 N; without straw 3.457 and 2.482 N.
    """
    run = simulate(load_rig(RIGS / "night_watch.yaml", {"run.for": "2 s"}), settle=False, step=1e-3)
    pulls = {p.name: run.loads.history(p) for p in run.loads.lines if p.sort == "strip"}
    for name in ("straw_left", "straw_right"):
        assert pulls[name][0] == pytest.approx(8 * 0.35 * 0.024 * 0.2 * 9.80665, rel=1e-4)
        assert 0.1318 < pulls[name].max() < 0.16
    assert np.ptp(pulls["hair"]) < 1e-4  # the head stands still
    tops = {p.name: p.value for p, _ in run.loads.joints}
    assert tops["hip_right"] == pytest.approx(3.553, rel=0.02)


def test_the_fence_owl_turns_round_at_its_stops():
    """30 rpm on a pitch radius of 20 mm is 62.8 mm/s; from stop to stop it takes 420 mm over that."""
    run = simulate(load_rig(RIGS / "fence_owl.yaml"), settle=False, step=1e-3)
    speed = run.track.rate[:, axis_of(run, "rail")]
    along = run.track.coordinate[:, axis_of(run, "rail")]
    assert np.median(np.abs(speed)) == pytest.approx(0.5 * 2 * pi * 0.020, rel=1e-3)
    ends = np.flatnonzero(np.diff(np.sign(speed)) != 0)
    ends = ends[np.abs(along[ends]) > 0.2]
    first, second = ends[0], ends[np.flatnonzero(np.sign(along[ends]) != np.sign(along[ends[0]]))[0]]
    assert run.track.time[second] - run.track.time[first] == pytest.approx(0.42 / 0.0628, rel=0.03)
    assert along.max() == pytest.approx(0.210, abs=2e-3)
    # it runs against 1.5 N of friction: the teeth push with 1.5 N over cos 20 deg
    (teeth,) = run.loads.couplings
    steady = run.loads.history(teeth)[(np.abs(along) < 0.15) & (run.track.time > 1.0)]
    assert float(np.median(steady)) == pytest.approx(1.5 / np.cos(np.radians(20)), rel=1e-3)


def test_the_well_ghost_hangs_on_its_drum():
    """A drum of 40 mm at 45 rpm winds 94 mm a second; the cord carries 0.9 kg, and 0.18 N*m at the drum hold that."""
    run = simulate(load_rig(RIGS / "well_ghost.yaml"), settle=False, step=1e-3)
    time, height = run.track.time, run.track.position[:, 2, 2]
    rises = (time > 1.5) & (time < 5.0)
    assert np.median(np.gradient(height, time)[rises]) == pytest.approx(
        0.04 * pi * 45 / 60, rel=0.02
    )  # and a hair less under load
    rests = (time > 6.2) & (time < 7.4)
    assert np.ptp(height[rests]) < 1e-4
    assert np.median(run.track.line_force[rests, 0]) == pytest.approx(0.9 * 9.80665, rel=2e-3)
    # it hangs at rest at the start too: the cord is drawn as tight as its weight pulls it
    assert run.track.line_force[time < 0.4, 0] == pytest.approx(0.9 * 9.80665, rel=0.02)
    turns = run.track.coordinate[:, axis_of(run, "shaft")]
    top = int(height.argmax())
    assert height[top] - height[0] == pytest.approx(0.020 * abs(turns[top] - turns[0]), rel=2e-3)
