"""The energy audit against a closed form, and a run whose energy can't add up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simprop.errors import EngineError
from simprop.loads.energy import energy
from simprop.recording import Recording
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

PENDULUM = """
rig: 1
name: Pendulum with friction
bodies:
  post: {fixed: true}
  rod: {parts: [{slender: 1 kg, from: 0 0 0 mm, to: 1000 0 0 mm}]}
joints: {hook: {pin: [post, rod], at: 0 0 0 mm, axis: y, friction: 0.2 N*m}}
run: {for: 4 s, gravity: 9.81 m/s^2}
"""


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
def test_pendulum_loses_friction_times_path(engine: str) -> None:
    recording = simulate(parse_rig(PENDULUM), engine, settle=False, step=2e-4).recording
    found = energy(recording)
    path = np.abs(np.diff(recording.track.coordinate[:, 0])).sum()
    assert found.friction == pytest.approx(-0.2 * path, rel=1e-3)
    assert found.gravity == pytest.approx(9.81 * 0.5 * np.sin(recording.track.coordinate[-1, 0]), rel=2e-3)
    assert found.share is not None
    assert found.share < 0.005


class _Leaky:
    """An engine that reports every speed a tenth too small: 0.19 / 0.81 = 23.5 % of the energy is missing."""

    name = "leaky"
    gives = False
    implicit = False

    def run(self, assembly, actuation, step, steps, progress=None):
        from simprop.engine.mujoco.engine import MujocoEngine

        track = MujocoEngine().run(assembly, actuation, step, steps, progress)
        return replace(track, spin=track.spin * 0.9, velocity=track.velocity * 0.9)


def test_a_run_that_leaks_energy_fails_with_its_cause() -> None:
    rig = parse_rig(PENDULUM.replace("friction: 0.2 N*m", "friction: 0 N*m"))
    with pytest.raises(
        EngineError, match=r"energy of the run doesn't add up: 23\.. %.*likely cause: fast motion"
    ):
        simulate(rig, _Leaky())


def test_nothing_exchanged_is_not_zero() -> None:
    rig = parse_rig(
        PENDULUM.replace("gravity: 9.81 m/s^2", "gravity: 0 m/s^2").replace("for: 4 s", "for: 0.1 s")
    )
    recording: Recording = simulate(rig, "mujoco", settle=False).recording
    assert energy(recording).share is None
