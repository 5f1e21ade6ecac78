"""One run of a prop at one physics step, and the coarsest step that its springs, stops and contacts allow."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.contact.touches import quickest
from simprop.engine.mobility import Pace, pace
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
    most = most_steps(assembly, laws)
    if steps > most:
        raise EngineError(
            f"run.for: {assembly.rig.run.duration:g} s at a step of {1000 * step:.3g} ms are {steps} steps, and "
            f"{most} are the most of this prop; {would_do(assembly, laws, most / steps)}"
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


def would_do(assembly: Assembly, laws: Actuation, share: float) -> str:
    """What brings a run down to a share of its steps, in words.

    Args:
        share: steps that there may be over those that there would be.
    """
    run = assembly.rig.run
    shorter = f"shorten it to {0.95 * share * run.duration:.2g} s"
    if run.step is not None:
        return f"{shorter}, or lengthen run.step"
    asker = asking(assembly, laws).what
    if not asker:
        return shorter
    return f"{shorter}, or soften {asker}, which asks for that step, to {0.9 * share**2:.2g} of its stiffness"


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
    coarsest = step or run.step or asking(assembly, laws).step
    return max(1, math.ceil(1.0 / run.frames / coarsest - 1e-9))


@dataclass(frozen=True)
class Asking:
    """The coarsest step that all laws of a prop allow, and who asks for it.

    Attributes:
        step: s.
        what: the law in words; "" where none asks for less than `COARSEST`.
    """

    step: float
    what: str


def asking(assembly: Assembly, laws: Actuation) -> Asking:
    """The coarsest step of an explicit engine: a tenth of 1/w of springs and stops, a fifth of that of a touch.

    Source: steps a period at which `tests/touch` and `tests/validation` keep their tolerances.
    """
    touching, where = quickest(assembly, laws.touches)
    stiff = max(pace(assembly, laws), key=_quickness, default=None)
    found = [Asking(COARSEST, ""), Asking(0.2 / max(touching, 1.0), where)]
    if stiff is not None:
        found.append(Asking(0.1 / max(_quickness(stiff), 1.0), stiff.what))
    return min(found, key=lambda a: a.step)


def _quickness(law: Pace) -> float:
    return max(law.natural, 0.1 * law.decay)


def stiffest(assembly: Assembly, laws: Actuation) -> float:
    """Highest natural frequency of springs and stops against what they move in the start pose, rad/s; 0 without any.

    A damper that is stronger than its spring counts by a tenth of its rate of decay: an explicit step of twice the
    time of decay is the longest that doesn't blow up.
    """
    return max(map(_quickness, pace(assembly, laws)), default=0.0)
