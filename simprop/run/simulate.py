"""Run a prop, and halve the step until its peaks stand still."""

from __future__ import annotations

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.choose import engine as choose_engine
from simprop.engine.world import Engine
from simprop.errors import EngineError
from simprop.loads.agreement import SMALL
from simprop.loads.energy import Energy
from simprop.loads.joints import JointLoads, all_peaks
from simprop.recording import Band
from simprop.rig.model import Rig
from simprop.run.assembled import assembled
from simprop.run.once import Report, first_substeps, most_steps, once, steps_of
from simprop.run.run import Run, adrift

HALVINGS = 7
"""Most halvings of the step."""
SETTLED = 0.01
"""A peak has settled when it moves by less than this share of itself, or of `SMALL` of the largest of its kind."""


def simulate(
    prop: Rig | Assembly,
    engine: str | Engine | None = None,
    *,
    settle: bool = True,
    step: float | None = None,
    report: Report | None = None,
) -> Run:
    """Step a prop over its run.

    Args:
        prop: a rig, or an assembly made from one.
        engine: name of the engine (``mujoco``, ``bullet``), the engine itself, or None for mujoco.
        settle: halve the step until every reported peak moves by less than 1 %, or the limit of steps is reached.
        step: coarsest physics step, s; None: the rig's, or chosen from its springs and stops, at most 1 ms.
        report: called with the stage, steps done, and steps in all.

    Returns:
        The run at its finest step, with the band of each peak where it was settled.

    Raises:
        AssemblyError: when the rig doesn't go together.
        EngineError: when the run goes wrong, or its energy doesn't add up to 2 % at the finest step.
    """
    assembly = assembled(prop) if isinstance(prop, Rig) else prop
    chosen = choose_engine(engine) if isinstance(engine, str | None) else engine
    laws = actuate(assembly)
    per_frame = first_substeps(assembly, laws, step)
    if not settle:
        return Run(once(assembly, chosen, laws, per_frame, report))
    run, per_frame = _first_that_holds(assembly, chosen, laws, per_frame, report)
    for _ in range(HALVINGS):
        per_frame *= 2
        if steps_of(assembly, per_frame) > most_steps(assembly, laws):
            break
        before, run = run, Run(once(assembly, chosen, laws, per_frame, report))
        bands = compare(before.loads, run.loads)
        run = run.with_bands(bands)
        audit = run.loads.energy
        if all(b.settled for b in bands.values()) and not (
            adrift(audit.share) and _falling(before.loads.energy, audit)
        ):
            break
    return run.adds_up()


def _first_that_holds(
    assembly: Assembly, engine: Engine, laws: Actuation, per_frame: int, report: Report | None
) -> tuple[Run, int]:
    """The coarsest run whose loops hold together, and its steps a frame: up to four halvings are tried."""
    for _ in range(4):
        try:
            return Run(once(assembly, engine, laws, per_frame, report)), per_frame
        except EngineError:
            if steps_of(assembly, per_frame * 2) > most_steps(assembly, laws):
                raise
            per_frame *= 2
    return Run(once(assembly, engine, laws, per_frame, report)), per_frame


def _falling(before: Energy, after: Energy) -> bool:
    """True if a finer step made the energy add up better: then it's worth going on."""
    return before.share is None or after.share is None or after.share < 0.9 * before.share


def compare(coarse: JointLoads, fine: JointLoads) -> dict[str, Band]:
    """How far each peak moved between two steps, and whether that counts as settled.

    A peak is settled when it moved by less than 1 % of itself, or of 2 % of the largest peak of its kind where it is
    smaller than that.
    """
    before = {p.key: p.value for p in all_peaks(coarse)}
    largest = {
        kind: max((p.value for p in all_peaks(fine) if p.kind == kind), default=0.0)
        for kind in ("force", "moment")
    }
    bands = {}
    for peak in all_peaks(fine):
        change = abs(peak.value - before[peak.key])
        floor = max(peak.value, SMALL * largest[peak.kind], 1e-9)
        bands[peak.key] = Band(peak.value, change, change <= SETTLED * floor)
    return bands
