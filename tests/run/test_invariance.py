"""The same mechanism gives the same loads however it is listed, turned, moved, or its pins shifted along their axes."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from simprop.loads.joints import JointLoads
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.rigs import fourbar

STEP = 2e-4


def _peaks(text: str, engine: str) -> dict[str, float]:
    loads = simulate(parse_rig(text), engine, settle=False, step=STEP).loads
    return {force.name: _in_plane(loads, force.name) for force, _ in loads.joints}


def _in_plane(loads: JointLoads, name: str) -> float:
    """Largest force across a pin; what goes along it is shared, and depends on where the pins sit along their axes."""
    joint = next(j for j in loads.recording.assembly.joints if j.name == name)
    force = loads.wrenches.force[:, loads.recording.assembly.joints.index(joint)]
    return float(np.linalg.norm(force - np.outer(force @ joint.axis, joint.axis), axis=1).max())


@pytest.fixture(scope="module")
def plain() -> Callable[[str], dict[str, float]]:
    return cache(lambda engine: _peaks(fourbar(), engine))


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
@pytest.mark.parametrize("seed", range(4))
def test_any_order(engine: str, seed: int, plain: Callable[[str], dict[str, float]]) -> None:
    rng = np.random.default_rng(seed)
    found = _peaks(fourbar(joints=rng.permutation(4).tolist(), bodies=rng.permutation(4).tolist()), engine)
    assert found == pytest.approx(plain(engine), rel=0.005)


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
@pytest.mark.parametrize("seed", range(6))
def test_turned_moved_and_shifted(engine: str, seed: int, plain: Callable[[str], dict[str, float]]) -> None:
    rng = np.random.default_rng(100 + seed)
    turn = Rotation.random(random_state=rng).as_matrix()
    text = fourbar(turn=turn, shift=rng.uniform(-2, 2, 3), along=rng.uniform(-0.02, 0.02, 4))
    assert _peaks(text, engine) == pytest.approx(plain(engine), rel=0.005)


@pytest.mark.parametrize("engine", ["bullet", "mujoco"])
@pytest.mark.parametrize("tilt", [1e-8, 1e-6, 1e-3])
def test_hardly_tilted(engine: str, tilt: float, plain: Callable[[str], dict[str, float]]) -> None:
    turn = Rotation.from_euler("xz", [tilt, 0.7 * tilt]).as_matrix()
    text = fourbar(turn=turn, along=(0.0, 1e-4, -1e-4, 0.0))
    assert _peaks(text, engine) == pytest.approx(plain(engine), rel=0.005)
