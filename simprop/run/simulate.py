"""Run a prop, and halve the step until its peaks stand still."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.choose import engine as choose_engine
from simprop.engine.contact.touches import quickest
from simprop.engine.mobility import effective_mass
from simprop.engine.world import Engine
from simprop.errors import EngineError
from simprop.loads.agreement import SMALL
from simprop.loads.energy import LARGEST_RESIDUAL, Energy, likely_cause
from simprop.loads.joints import JointLoads, all_peaks, joint_loads
from simprop.recording import Band, Recording
from simprop.rig.model import Rig

COARSEST = 1e-3
"""Coarsest physics step, s."""
HALVINGS = 7
"""Most halvings of the step."""
MOST_STEPS = 1_500_000
"""Most physics steps of one run."""
SETTLED = 0.01
"""A peak has settled when it moves by less than this share of itself, or of `SMALL` of the largest of its kind."""

Report = Callable[[str, int, int], None]


def simulate(
    prop: Rig | Assembly,
    engine: str | Engine | None = None,
    *,
    settle: bool = True,
    step: float | None = None,
    report: Report | None = None,
) -> Recording:
    """Step a prop over its run.

    Args:
        prop: a rig, or an assembly made from one.
        engine: name of the engine (``mujoco``, ``bullet``), the engine itself, or None for mujoco.
        settle: halve the step until every reported peak moves by less than 1 %, or the limit of steps is reached.
        step: coarsest physics step, s; None: the rig's, or chosen from its springs and stops, at most 1 ms.
        report: called with the stage, steps done, and steps in all.

    Returns:
        The run at its finest step, with the band of each peak.

    Raises:
        AssemblyError: when the rig doesn't go together.
        EngineError: when the run goes wrong, or its energy doesn't add up to 2 % at the finest step.
    """
    if settle:
        return simulate_with_loads(prop, engine, step=step, report=report)[0]
    return _once(*_prepared(prop, engine, step), report)


def simulate_with_loads(
    prop: Rig | Assembly,
    engine: str | Engine | None = None,
    *,
    settle: bool = True,
    step: float | None = None,
    report: Report | None = None,
) -> tuple[Recording, JointLoads]:
    """As `simulate`, also handing back the loads that settling has worked out."""
    assembly, chosen, laws, per_frame = _prepared(prop, engine, step)
    if not settle:
        recording = _once(assembly, chosen, laws, per_frame, report)
        return recording, joint_loads(recording)
    recording, per_frame = _first_that_holds(assembly, chosen, laws, per_frame, report)
    loads = joint_loads(recording)
    for _ in range(HALVINGS):
        finer = per_frame * 2
        if _steps(assembly, finer) > MOST_STEPS:
            break
        per_frame = finer
        recording = _once(assembly, chosen, laws, per_frame, report)
        before, loads = loads, joint_loads(recording)
        bands = compare(before, loads)
        recording = replace(recording, bands=bands)
        if all(b.settled for b in bands.values()) and not (
            _adrift(loads.energy) and _falling(before.energy, loads.energy)
        ):
            break
    audit = loads.energy
    if _adrift(audit):
        raise EngineError(
            f"the energy of the run doesn't add up: {100 * (audit.share or 0):.1f} % of what was exchanged is "
            f"unexplained at a step of {recording.track.step * 1000:.3g} ms (at most "
            f"{100 * LARGEST_RESIDUAL:.0f} % is let pass); {likely_cause(audit)}"
        )
    return recording, joint_loads_with_bands(recording, loads)


def _prepared(
    prop: Rig | Assembly, engine: str | Engine | None, step: float | None
) -> tuple[Assembly, Engine, Actuation, int]:
    """What a run needs: the assembly, the engine, the laws, and the coarsest steps a frame."""
    assembly = assemble(prop) if isinstance(prop, Rig) else prop
    chosen = choose_engine(engine) if isinstance(engine, str | None) else engine
    laws = actuate(assembly)
    return assembly, chosen, laws, first_substeps(assembly, laws, step)


def _first_that_holds(
    assembly: Assembly, engine: Engine, laws: Actuation, per_frame: int, report: Report | None
) -> tuple[Recording, int]:
    """The coarsest run whose loops hold together, and its steps a frame: up to four halvings are tried."""
    for _ in range(4):
        try:
            return _once(assembly, engine, laws, per_frame, report), per_frame
        except EngineError:
            if _steps(assembly, per_frame * 2) > MOST_STEPS:
                raise
            per_frame *= 2
    return _once(assembly, engine, laws, per_frame, report), per_frame


def _falling(before: Energy, after: Energy) -> bool:
    """True if a finer step made the energy add up better: then it's worth going on."""
    return before.share is None or after.share is None or after.share < 0.9 * before.share


def _adrift(audit: Energy) -> bool:
    return audit.share is not None and audit.share > LARGEST_RESIDUAL


def joint_loads_with_bands(recording: Recording, loads: JointLoads) -> JointLoads:
    """The same loads with the bands of the recording put to their peaks."""
    bands = recording.bands
    joints = tuple(
        (replace(f, band=bands.get(f.key)), replace(m, band=bands.get(m.key))) for f, m in loads.joints
    )
    motors = tuple(replace(m, peak=replace(m.peak, band=bands.get(m.peak.key))) for m in loads.motors)
    stops = tuple(replace(s, band=bands.get(s.key)) for s in loads.stops)
    contacts = tuple(replace(c, band=bands.get(c.key)) for c in loads.contacts)
    return replace(loads, recording=recording, joints=joints, motors=motors, stops=stops, contacts=contacts)


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


def first_substeps(assembly: Assembly, laws: Actuation, step: float | None = None) -> int:
    """Physics steps in one picture frame at the coarsest step: frames are an exact whole number of steps."""
    run = assembly.rig.run
    touching = 0.2 / max(quickest(assembly, laws.touches), 1.0)
    coarsest = step or run.step or min(COARSEST, touching, 0.1 / max(stiffest(assembly, laws), 1.0))
    return max(1, math.ceil(1.0 / run.frames / coarsest - 1e-9))


def stiffest(assembly: Assembly, laws: Actuation) -> float:
    """Highest natural frequency of springs and stops against what they move in the start pose, rad/s; 0 without any."""
    found = 0.0
    for line in laws.lines:
        masses = [assembly.bodies[b].mass for b in (line.first, line.second) if not assembly.bodies[b].fixed]
        found = max(found, math.sqrt(line.law.rate / min(masses)) if masses else 0.0)
    rates = [(a, s.stiffness) for a, s in laws.stops] + [(a, s.rate) for a, s in laws.torsion]
    if rates:
        position = np.array([b.com for b in assembly.bodies])
        upright = np.tile([0.0, 0.0, 0.0, 1.0], (len(assembly.bodies), 1))
        masses = effective_mass(assembly, laws, position, upright, [axis for axis, _ in rates])
        found = max(
            [found, *(math.sqrt(rate / m) for (_, rate), m in zip(rates, masses, strict=True) if m > 0)]
        )
    return found


def _steps(assembly: Assembly, per_frame: int) -> int:
    run = assembly.rig.run
    return max(1, round(run.duration * run.frames * per_frame))


def _once(
    assembly: Assembly, engine: Engine, laws: Actuation, per_frame: int, report: Report | None
) -> Recording:
    steps = _steps(assembly, per_frame)
    step = 1.0 / (assembly.rig.run.frames * per_frame)
    stage = f"simulating at {step * 1000:.3g} ms"

    def progress(done: int) -> None:
        if report is not None:
            report(stage, done, steps)

    track = engine.run(assembly, laws, step, steps, progress)
    return Recording(assembly, laws, engine.name, track)
