"""The two engines agree on the peaks of every shipped rig.

What this shows: two solvers of motion (MuJoCo's, and PyBullet's tree with its ties solved by the package) step the same
laws to the same motion. The loads of both runs come from one solver, `simprop.loads`, and the laws from one room; that
those are right is shown by the cases beside this file, against published mechanics and other programs.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.errors import EngineError
from simprop.loads.joints import Peak, all_peaks
from simprop.rig.load import load_rig
from simprop.run.simulate import SMALL, simulate

RIGS = sorted((Path(__file__).parents[2] / "rigs").glob("*.yaml"))
STEP = 5e-4
"""Finer than most of the rigs need to settle, s."""
FINER = {"air_popup": 1e-4, "cider_press": 1e-4, "twitch_crow": 1e-4}
"""Rigs in which something strikes its end: a blow decided once a step is right to the first order of it, s."""


REFUSED = {
    "night_watch": "strips",
    "well_ghost": "cord",
    "lantern_grabber": "cord",
    "marionette": "cord",
    "cask_hoist": "cord",
}
"""Rigs that bullet says it can't carry, and how; the third solver is their second opinion."""


def test_what_bullet_refuses_it_refuses_in_words() -> None:
    pytest.importorskip("pybullet")
    for name, words in REFUSED.items():
        (path,) = (p for p in RIGS if p.stem == name)
        with pytest.raises(EngineError, match=words):
            simulate(assemble(load_rig(path)), "bullet", settle=False, step=STEP)


LEFT = {
    "air_popup": "its ram strikes its ends: within 5 % at this step",
    "talking_pumpkin": "its servo shakes the jaw: forces agree, what the servo is asked for doesn't",
    "twitch_crow": "its lock strikes its ends: within 3 % at this step",
    "barn_owl": "its beak of 1.6 g on a quick servo: forces agree where the step has settled, small moments don't",
    "cider_press": "its pulses are followed one by one: within 2 % only at steps of 0.02 ms (5.66 for 5.69 N, once)",
}
"""Rigs that exudyn carries too roughly at this step, and why."""


STARTS = {"fence_owl": 0.2, "harvest_nodder": 0.6}
"""How far starts may differ where that is more than a tenth: a held speed overshoots on exudyn as it sets in."""


SWITCHED = {("marionette", "motor.drive.load.start"), ("well_ghost", "motor.drive.load.start")}
"""What exudyn tells wrongly: a wedged gear that is switched on reads as if its whole torque went into the prop, as its
rotor is said to stand still in that row."""


def peaks_of(assembly: Assembly, engine: str, step: float) -> dict[str, Peak]:
    return {p.key: p for p in all_peaks(simulate(assembly, engine, settle=False, step=step).loads)}


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_peaks_within_two_per_cent(path: Path) -> None:
    """2 % of a peak, or of a fiftieth of the largest of its kind where it is smaller than that; of a drive, of what its
    law gave: its load is the little that friction and rotor leave of that.

    MuJoCo's are held against PyBullet's and exudyn's, which shares neither coordinates nor integrator nor closures.
    """
    pytest.importorskip("mujoco")
    assembly, step = assemble(load_rig(path)), FINER.get(path.stem, STEP)
    mujoco = peaks_of(assembly, "mujoco", step)
    largest = {kind: max(p.value for p in mujoco.values() if p.kind == kind) for kind in ("force", "moment")}
    assert largest["force"] > 0.1
    # bullet's first row lies half a step later: what jumps as a drive is switched on reads otherwise there
    starts = {"bullet": 0.1, "exudyn": STARTS.get(path.stem, 0.1)}
    for engine, module, left in (("bullet", "pybullet", REFUSED), ("exudyn", "exudyn", LEFT)):
        if path.stem in left or find_spec(module) is None:
            continue
        other = peaks_of(assembly, engine, step)
        assert other.keys() == mujoco.keys()
        for key, peak in mujoco.items():
            if engine == "exudyn" and (path.stem, key) in SWITCHED:
                continue
            floor = max(peak.value, peak.of, SMALL * largest[peak.kind])
            share = starts[engine] if key.endswith(".start") else 0.02
            assert other[key].value == pytest.approx(peak.value, abs=share * floor), (engine, key)
