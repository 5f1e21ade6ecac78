"""One run of a prop at one physics step, and the coarsest step that its springs, stops and contacts allow."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from importlib.metadata import PackageNotFoundError, version

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.contact.touches import quickest
from simprop.engine.mobility import pace
from simprop.engine.world import APPLIED, Engine
from simprop.errors import EngineError
from simprop.recording import Recording

COARSEST = 1e-3
"""Coarsest physics step, s."""

MOST_STEPS = 1_500_000
"""Most physics steps of one run."""
MOST_BYTES = 700_000_000
"""Most that the record of one run may take, bytes; working on it takes about as much again."""

Report = Callable[[str, int, int], None]
"""Called with the stage, steps done, and steps in all."""


def once(
    assembly: Assembly, engine: Engine, laws: Actuation, per_frame: int, report: Report | None = None
) -> Recording:
    """Step a prop over its run at one step.

    Args:
        assembly: what moves.
        engine: what steps it.
        laws: all that acts on it.
        per_frame: physics steps in one picture frame.
        report: told of the steps done.

    Raises:
        EngineError: when the run goes wrong, or would be too long.
    """
    steps = steps_of(assembly, per_frame)
    step = 1.0 / (assembly.rig.run.frames * per_frame)
    if steps > most_steps(assembly, laws):
        raise EngineError(
            f"run.for: {assembly.rig.run.duration:g} s at a step of {1000 * step:.3g} ms are {steps} steps, and "
            f"{most_steps(assembly, laws)} are the most of this prop; {_asks_for_step(assembly, laws)}"
        )
    stage = f"simulating at {step * 1000:.3g} ms"

    def progress(done: int) -> None:
        if report is not None:
            report(stage, done, steps)

    if assembly.gives and not engine.gives:
        bending = ", ".join(m.whole.name for m in assembly.members) or "a joint that gives"
        raise EngineError(
            f"the {engine.name} engine moves rigid bodies alone ({bending}): use --engine exudyn"
        )
    track = engine.run(assembly, laws, step, steps, progress)
    return Recording(assembly, laws, engine.name, track, versions=versions(engine.name))


def most_steps(assembly: Assembly, laws: Actuation) -> int:
    """Most physics steps of one run of a prop: what it records of them must fit into memory."""
    bodies, axes = len(assembly.bodies), len(assembly.axes)
    numbers = 19 * bodies + (2 + len(APPLIED)) * axes + 7 * len(laws.lines) + 6 * len(laws.touches)
    return min(MOST_STEPS, MOST_BYTES // (8 * (numbers + 1)))


def _asks_for_step(assembly: Assembly, laws: Actuation) -> str:
    """Who asks for so short a step."""
    if assembly.rig.run.step is not None:
        return "shorten it, or lengthen run.step"
    if not laws.lines and not laws.stops and not laws.torsion and not laws.touches:
        return "shorten it"
    return "shorten it, or soften the stiffest of springs, stops and contacts, which asks for that step"


@cache
def versions(engine: str) -> dict[str, str]:
    """Versions of this package and of an engine's, where they are installed as packages."""
    found = {}
    for name in ("simprop", {"bullet": "pybullet"}.get(engine, engine)):
        with suppress(PackageNotFoundError):
            found[name] = version(name)
    return found


def steps_of(assembly: Assembly, per_frame: int) -> int:
    """Physics steps of a whole run with so many in one picture frame."""
    run = assembly.rig.run
    return max(1, round(run.duration * run.frames * per_frame))


def first_substeps(
    assembly: Assembly, laws: Actuation, step: float | None = None, implicit: bool = False
) -> int:
    """Physics steps in one picture frame at the coarsest step: frames are an exact whole number of steps.

    Args:
        step: asked for, s; None: the rig's, or chosen.
        implicit: stiff things don't limit the step.
    """
    run = assembly.rig.run
    if implicit:
        usual = COARSEST / 2 if laws.touches else 2 * COARSEST  # what meets and parts is a jump
        return max(1, math.ceil(1.0 / run.frames / (step or run.step or usual) - 1e-9))
    touching = 0.2 / max(quickest(assembly, laws.touches), 1.0)
    coarsest = step or run.step or min(COARSEST, touching, 0.1 / max(stiffest(assembly, laws), 1.0))
    return max(1, math.ceil(1.0 / run.frames / coarsest - 1e-9))


def stiffest(assembly: Assembly, laws: Actuation) -> float:
    """Highest natural frequency of springs and stops against what they move in the start pose, rad/s; 0 without any.

    A damper that is stronger than its spring counts by a tenth of its rate of decay: an explicit step of twice the
    time of decay is the longest that doesn't blow up.
    """
    return max((max(law.natural, 0.1 * law.decay) for law in pace(assembly, laws)), default=0.0)
