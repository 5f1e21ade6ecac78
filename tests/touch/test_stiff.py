"""Stiff contacts on the implicit engine: steps as long as the motion allows."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.loads.joints import all_peaks
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.assembly.test_rocker import CHAIR

G = 9.80665
FREE = """
rig: 1
name: Rocker
bodies:
  chair: {parts: [{lump: 8 kg, at: 20 0 450 mm, inertia: 0.4 0.4 0.4 kg*m^2}]}
contacts:
  left: {arc: chair, centre: 0 200 900 mm, radius: 900 mm, axis: y, friction: 0.8, stiffness: 1e8 N/m, loss: 0.2}
  right: {arc: chair, centre: 0 -200 900 mm, radius: 900 mm, axis: y, friction: 0.8, stiffness: 1e8 N/m, loss: 0.2}
run: {for: 6 s}
"""


def test_a_chair_rocks_on_rails_of_steel_at_its_own_pace() -> None:
    """w^2 = m g (R - h) / (I + m h^2): small swings on rails of radius R, middle of mass at h, any text on dynamics."""
    run = simulate(parse_rig(FREE), "exudyn", settle=False)
    assert run.track.step >= 2.5e-4 - 1e-12  # it lands on its rails with a blow, which 0.5 ms can't follow
    tilt = run.track.spin[:, 0, 1]
    swings = np.flatnonzero((tilt[:-1] < 0) & (tilt[1:] >= 0))
    pace = (run.track.time[swings[-1]] - run.track.time[swings[0]]) / (len(swings) - 1)
    high = np.hypot(0.02, 0.45)  # about 25 mm of swing: far below what makes it slower
    omega = np.sqrt(8.0 * G * (0.9 - 0.45) / (0.4 + 8.0 * high**2))
    assert pace == pytest.approx(2 * np.pi / omega, rel=0.003)
    held = run.track.touch_force[:, :, 2].sum(axis=1)
    assert held[2000:].mean() == pytest.approx(8.0 * G, rel=0.01)
    assert (run.loads.energy.share or 0.0) < 0.01


def test_a_crank_that_sways_it_loads_it_as_small_steps_say() -> None:
    """Running peaks of the swayed chair on 1e8 N/m at 0.5 ms beside those of the explicit engine at 0.03 ms."""
    text = CHAIR.replace("20 N/mm, loss: 0.2", "1e8 N/m, loss: 0.2")
    big, small = (simulate(parse_rig(text), engine, settle=False) for engine in ("exudyn", "mujoco"))
    assert big.track.step > 15 * small.track.step
    one, two = ({p.key: p.value for p in all_peaks(run.loads)} for run in (big, small))
    for key in ("joint.hook.force", "joint.shaft.force", "contact.left.force", "contact.right.force"):
        assert one[key] == pytest.approx(two[key], rel=0.01)
