"""Short runs of the rigs that come along, each made once for all tests of what is built from them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from simprop.rig.load import load_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

RIGS = Path(__file__).parents[2] / "rigs"
NAMES = sorted(path.stem for path in RIGS.glob("*.yaml"))


@cache
def ran(name: str, seconds: float = 0.4) -> Run:
    """A run of the first moments of a rig."""
    rig = load_rig(RIGS / f"{name}.yaml", {"run.for": f"{seconds} s"})
    return simulate(rig, "mujoco", settle=False)
