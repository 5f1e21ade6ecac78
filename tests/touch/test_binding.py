"""The binding margin of slides, and what the reports say of it."""

from __future__ import annotations

import json

import numpy as np
import pytest

from simprop.report.loads import LOADS
from simprop.report.writers import as_json, markdown
from simprop.run.run import Run
from tests.touch.helpers import recorded, run

pytestmark = pytest.mark.parametrize("engine", ["bullet", "mujoco", "exudyn"])


@pytest.mark.parametrize("friction", [0.1, 0.2, 0.4])
def test_drawer(engine: str, friction: float) -> None:
    """b / (2 e) over the friction, moving or stuck (any text on machines)."""
    text = f"""
bodies:
  chest: {{fixed: true}}
  drawer: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: 0.01 0.01 0.01 kg*m^2}}]}}
joints: {{guide: {{slider: [chest, drawer], at: 0 0 0 mm, along: x, bearing: 50 mm, friction: {friction}}}}}
springs:
  pull: {{extension: [chest, drawer], from: 1000 0 0.1 m, to: 0 0 0.1 m, rate: 0.001 N/m, free_length: 1 m,
    preload: 9 N}}
run: {{for: 1 s, gravity: 0 m/s^2}}
"""
    assembly, _, track = run(text, engine, 5e-4, 0.1)
    done = Run(recorded(assembly, track))
    (found,) = done.binding
    limit = 0.05 / (2 * 0.1)  # b / (2 e), any text on machines (drawer slides)
    assert found.locking == pytest.approx(limit, rel=1e-3)
    assert found.margin == pytest.approx(limit / friction, rel=1e-3)
    stuck = abs(float(track.coordinate[-1, 0])) < 1e-6
    assert stuck == (found.margin < 1)
    report = markdown(LOADS.of(done))
    assert ("Slide guide BINDS" in report) == stuck
    assert json.loads(as_json(LOADS.of(done)))["binding"]["guide"]["margin"] == pytest.approx(found.margin)


MAST = """
bodies:
  stand: {{fixed: true}}
  crank: {{parts: [{{slender: 0.01 kg, from: 0 0 0 mm, to: 50 0 0 mm}}]}}
  rod: {{parts: [{{slender: 0.001 kg, from: 50 0 0 mm, to: 0 0 193.649167 mm}}]}}
  mast: {{parts: [{{slender: 0.5 kg, from: 0 0 193.649167 mm, to: 0 0 800 mm}}]}}
joints:
  shaft: {{pin: [stand, crank], at: 0 0 0 mm, axis: y}}
  crankpin: {{pin: [crank, rod], at: 50 0 0 mm, axis: y}}
  wrist: {{pin: [rod, mast], at: 0 0 193.649167 mm, axis: y}}
  tee: {{slider: [stand, mast], at: 0 0 400 mm, along: z{bearing}, friction: {friction}}}
run: {{for: 2 s, start_speeds: {{shaft: -2 rad/s}}}}
motors: {{drive: {{joint: shaft, motor: {{synchronous: {{speed: 20 rpm, pull_out_torque: 10 N*m}}}}, reverse: true}}}}
"""


def test_mast_raised_by_a_rod(engine: str) -> None:
    """A rod at an angle b to the mast pushes at an arm h below a tee of length t: N1 + N2 = 2 h P sin b / t.

    That is where h is over half of t; so it locks at mu = t / (2 h tan b). The rod is next to weightless, so it pushes
    along itself; the margin is the least of that over the way up.
    """
    assembly, _, track = run(
        MAST.format(bearing=", bearing: 100 mm", friction="PVC on PVC"), engine, 5e-4, 1.0
    )
    done = Run(recorded(assembly, track))
    (found,) = done.binding
    wrist = done.loads.wrenches.point[:, 2]
    pin = done.loads.wrenches.point[:, 1]
    slope = np.abs(wrist[:, 0] - pin[:, 0]) / (wrist[:, 2] - pin[:, 2])
    arm = 0.4 - wrist[:, 2]
    up = track.rate[:, 3] > 0.01
    limit = 0.1 / (2 * arm * slope)
    assert up.any()
    assert found.locking == pytest.approx(limit[up].min(), rel=0.02)
    assert found.present == 0.45
    assert up[np.argmin(np.abs(track.time - found.time))]


def test_what_is_not_computed_says_why(engine: str) -> None:
    for bearing, friction, why in (("", "2 N", "guided length"), (", bearing: 60 mm", "2 N", "surfaces")):
        assembly, _, track = run(MAST.format(bearing=bearing, friction=friction), engine, 1e-3, 0.2)
        done = Run(recorded(assembly, track))
        (found,) = done.binding
        assert found.margin is None
        assert why in found.reason
        assert why in markdown(LOADS.of(done))
        assert json.loads(as_json(LOADS.of(done)))["binding"]["tee"]["margin"] is None
