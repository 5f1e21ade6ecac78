"""Run a prop, and halve the step until its peaks stand still."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from itertools import pairwise
from math import inf

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate, with_others
from simprop.engine.choose import FLEXIBLE
from simprop.engine.choose import engine as choose_engine
from simprop.engine.world import Engine
from simprop.errors import EngineError
from simprop.laws.supply import Beside
from simprop.loads.agreement import SMALL
from simprop.loads.energy import Energy
from simprop.loads.joints import START, JointLoads, all_peaks
from simprop.recording import Band
from simprop.rig.model import Rig
from simprop.run.assembled import assembled
from simprop.run.once import Report, first_substeps, most_steps, once, steps_of
from simprop.run.run import Run, adrift

HALVINGS = 7
"""Most halvings of the step."""
SETTLED = 0.01
"""A peak has settled when it moves by less than this share of itself, or of `SMALL` of the largest of its kind."""
BLOW = 0.03
"""The same for a pusher, which strikes its ends, whose stiffness is assumed, and for what a motor is asked for while it
starts, or where something that rings shakes its rotor: what is decided once a step is right to the first order of it
alone; the band says what is left."""


def simulate(
    prop: Rig | Assembly,
    engine: str | Engine | None = None,
    *,
    settle: bool = True,
    step: float | None = None,
    beside: Mapping[str, Beside] | None = None,
    report: Report | None = None,
) -> Run:
    """Step a prop over its run.

    Args:
        prop: a rig, or an assembly made from one.
        engine: name of the engine (``mujoco``, ``bullet``, ``exudyn``), the engine itself, or None: mujoco, or exudyn
            where something gives.
        settle: halve the step until every reported peak moves by less than 1 %, or the limit of steps is reached.
        step: coarsest physics step, s; None: the rig's, or chosen from its springs and stops, at most 1 ms.
        beside: what else hangs on its shared supplies over the run, by their names.
        report: called with the stage, steps done, and steps in all.

    Returns:
        The run at its finest step, with the band of each peak where it was settled.

    Raises:
        AssemblyError: when the rig doesn't go together.
        EngineError: when the run goes wrong, or its energy doesn't add up to 2 % at the finest step.
    """
    assembly = assembled(prop) if isinstance(prop, Rig) else prop
    if engine is None and assembly.gives:
        engine = FLEXIBLE
    chosen = choose_engine(engine) if isinstance(engine, str | None) else engine
    laws = with_others(actuate(assembly), beside or {})
    per_frame = first_substeps(assembly, laws, step, chosen.implicit)
    if not settle and chosen.implicit and step is None:  # a jump that it can't follow asks for a shorter step
        return _first_that_holds(assembly, chosen, laws, per_frame, report)[0]
    if not settle:
        return Run(once(assembly, chosen, laws, per_frame, report))
    run, per_frame = _first_that_holds(assembly, chosen, laws, per_frame, report)
    peaks = [_values(run)]
    if strikes(run.loads) and per_frame > 1:
        with suppress(
            EngineError
        ):  # two steps can agree on a blow by chance, so a third, coarser one is looked at
            peaks.insert(0, _values(Run(once(assembly, chosen, laws, per_frame // 2, report))))
    for _ in range(HALVINGS):
        per_frame *= 2
        if steps_of(assembly, per_frame) > most_steps(assembly, laws):
            break
        before, run = run, Run(once(assembly, chosen, laws, per_frame, report))
        bands = compare(peaks[-2:], run.loads)
        peaks.append(_values(run))
        run = run.with_bands(bands)
        audit = run.loads.energy
        if all(b.settled for b in bands.values()) and not (
            adrift(audit.share) and _falling(before.loads.energy, audit)
        ):
            break
    return run.adds_up()


def _values(run: Run) -> dict[str, float]:
    return {p.key: p.value for p in all_peaks(run.loads)}


def strikes(loads: JointLoads) -> bool:
    """True if something is struck or let go in a run: a stop, a contact, or a spring that goes slack."""
    sizes = (loads.history(p) for p in (*loads.lines, *loads.stops, *loads.contacts) if p.value > 0.0)
    return any(float(size.min()) == 0.0 for size in sizes)


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


def compare(before: Sequence[Mapping[str, float]], fine: JointLoads) -> dict[str, Band]:
    """What is left of the numerical error of each peak, and whether it counts as settled.

    The error left is at most the last move where the peaks follow the first order of the step, and half of the move
    before, in case that two steps agree by chance. Loads that follow those of the step before (friction by a
    coefficient, and what is decided once a step) leave twice that. A peak is settled when the moves are less than 1 %
    (of a pusher the last less than 3 %) of itself, or of 2 % of the largest peak of its kind where it is smaller than
    that; of a drive, of what its law gave at most.

    Args:
        before: peaks by their keys at one or two coarser steps, each half of the one before.
        fine: loads at half the last of these steps.
    """
    laws = fine.recording.laws
    lag = 2.0 if laws.grips or laws.line_drives or laws.controlled else 1.0
    largest = {
        kind: max((p.value for p in all_peaks(fine) if p.kind == kind), default=0.0)
        for kind in ("force", "moment")
    }
    bands, running = {}, {p.key: p.value for p in all_peaks(fine)}
    for peak in all_peaks(fine):
        values = [*(own[peak.key] for own in before if peak.key in own), peak.value]
        if len(values) < 2:  # a start that the coarser step doesn't tell apart
            bands[peak.key] = Band(peak.value, peak.value, False)
            continue
        moves = [abs(b - a) for a, b in pairwise(values)]
        move = max(m / 2**k for k, m in enumerate(reversed(moves)))
        floor = max(peak.value, peak.of, SMALL * largest[peak.kind], 1e-9)
        shaken = peak.key.endswith(START) or fine.recording.assembly.gives
        coarse = peak.key.startswith("pusher.") or (peak.key.startswith("motor.") and shaken)
        still = moves[-1] <= BLOW * floor if coarse else move <= SETTLED * floor
        under = running.get(peak.key.removesuffix(START), inf) if peak.key.endswith(START) else 0.0
        still = still or max(values) <= under  # a start that loads less than running isn't told
        bands[peak.key] = Band(peak.value, lag * move, still)
    return bands
