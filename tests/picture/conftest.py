"""The prop and its motion, made once for all picture tests."""

from __future__ import annotations

import pytest

from simprop.assembly.types import Assembly
from simprop.engine.world import Trajectory
from tests.picture.props import motion, prop


@pytest.fixture(scope="session")
def peeper() -> Assembly:
    return prop()


@pytest.fixture(scope="session")
def run(peeper: Assembly) -> Trajectory:
    return motion(peeper)
