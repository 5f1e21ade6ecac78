"""What tests of touching and rubbing share: run a rig's text on an engine."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.choose import engine as choose
from simprop.engine.world import APPLIED, Trajectory
from simprop.geometry.arrays import Array
from simprop.recording import Recording
from simprop.rig.load import parse_rig

FRICTION = APPLIED.index("friction")
GRAVITY = 9.80665


def run(text: str, engine: str, step: float, duration: float) -> tuple[Assembly, Actuation, Trajectory]:
    """A rig without its first two lines, run so long at one step."""
    pytest.importorskip({"bullet": "pybullet"}.get(engine, engine))
    assembly = assemble(parse_rig("rig: 1\nname: test\n" + text))
    laws = actuate(assembly)
    return assembly, laws, choose(engine).run(assembly, laws, step, round(duration / step))


def recorded(assembly: Assembly, track: Trajectory) -> Recording:
    return Recording(assembly, actuate(assembly), "test", track)


def hits(force: Array) -> int:
    """How often a force begins."""
    return int(np.sum((force[1:] > 0) & (force[:-1] <= 0)))
