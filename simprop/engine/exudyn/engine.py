"""Steps a prop with exudyn; the only file that imports it.

Generalised alpha in absolute coordinates: implicit, of second order, so that a stiff joint or a bending member needs
no short steps. Joints are the rows that `simprop.engine.exudyn.rows` leaves; laws of joints are the engine's own
elements while they are straight and asked for within a step where they aren't (`axes.py`, `native.py`), what is decided
once a step is decided before it. A row is recorded at the start of its step, when places, speeds and accelerations
belong together.
"""

from __future__ import annotations

import contextlib
import os
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.exudyn.axes import axis_loads
from simprop.engine.exudyn.log import Log
from simprop.engine.exudyn.result import trajectory
from simprop.engine.exudyn.start import Start, sag
from simprop.engine.exudyn.stepping import Stepping
from simprop.engine.exudyn.system import System
from simprop.engine.mobility import Mobility
from simprop.engine.trouble import likely
from simprop.engine.world import Progress, Trajectory
from simprop.errors import EngineError, EngineMissingError, signal_behind

RADIUS = 0.85
"""Spectral radius of the integrator: what rings faster than a step can follow dies in some ten steps."""
ROUNDS = 20
"""Most solutions of a step with what sticks and slips put right between them."""
TRIES = 12
"""Most trials of the first step."""
ITERATIONS = 40
"""Most Newton iterations of a step."""


class ExudynEngine:
    """Steps a prop with exudyn.

    Example:
        >>> ExudynEngine().name
        'exudyn'
    """

    name = "exudyn"
    gives = True
    implicit = True

    def run(
        self,
        assembly: Assembly,
        actuation: Actuation,
        step: float,
        steps: int,
        progress: Progress | None = None,
    ) -> Trajectory:
        """Step the prop from its start pose; see `simprop.engine.world.Engine`.

        Raises:
            EngineMissingError: when exudyn isn't installed here.
            EngineError: when the prop can't be built or its motion goes wrong.

        Example:
            >>> from simprop.assembly.assemble import assemble
            >>> from simprop.engine.acting.actuation import actuate
            >>> from simprop.rig.load import parse_rig
            >>> stone = assemble(parse_rig('''
            ... rig: 1
            ... name: Stone
            ... bodies: {stone: {parts: [{lump: 1 kg, at: 0 0 1000 mm}]}}
            ... run: {for: 1 s}
            ... '''))
            >>> track = ExudynEngine().run(stone, actuate(stone), 1e-3, 101)
            >>> round(float(track.velocity[-1, 0, 2]), 4)  # after 100 ms
            -0.9807
        """
        exu, start, mobility = _exudyn(), Start(hung=sag(assembly, actuation)), Mobility(assembly, actuation)
        masses = [mobility.axis(axis) for axis in range(len(assembly.axes))]
        rests = any(k.friction is not None for k in axis_loads(assembly, actuation, step, masses).values())
        with _quiet(exu):
            # What sticks at the start bears as much as keeps it at rest: the first step is tried until that is found.
            for _ in range(TRIES if rests else 0):
                trial = _stepped(exu, assembly, actuation, masses, step, 1, start)
                before, start = start, trial.stepping.start(masses)
                if start.close_to(before):
                    break
            run = _stepped(exu, assembly, actuation, masses, step, steps, start, progress)
        system = run.system
        own = {
            j: np.hstack([np.asarray(system.mbs.GetSensorStoredData(s))[:steps, 1:] for s in row])
            for j, row in system.sensors.items()
        }
        track = trajectory(assembly, actuation, system.moving, step, run.stepping.log, own, system.bars)
        return track if system.blown is None else system.blown.log.into(track)


@dataclass(frozen=True)
class _Run:
    """A prop as it was built, and what was recorded of it."""

    system: System
    stepping: Stepping


def _stepped(
    exu: Any,
    assembly: Assembly,
    actuation: Actuation,
    masses: Sequence[float],
    step: float,
    steps: int,
    start: Start,
    progress: Progress | None = None,
) -> _Run:
    """Build a prop and take some steps.

    Raises:
        EngineError: when they can't all be taken.
    """
    system = System(exu, assembly, actuation, axis_loads(assembly, actuation, step, masses), step, start.hung)
    system.mbs.Assemble()
    stepping = Stepping(system, Log.empty(assembly, actuation, steps), start, progress)
    solved = _solve(exu, system, stepping, step, steps)
    if stepping.error is not None:
        raise stepping.error
    if not solved or stepping.done < steps:
        raise EngineError(
            f"the motion can't be followed past {stepping.done * step:.4g} s; "
            + likely(assembly, actuation, step)
        )
    return _Run(system, stepping)


def _solve(exu: Any, system: System, stepping: Stepping, step: float, steps: int) -> bool:
    """Take the steps; True if all were taken."""
    mbs = system.mbs
    mbs.SetPreStepUserFunction(stepping)
    mbs.SetPostNewtonUserFunction(stepping.corrected)
    settings = exu.SimulationSettings()
    time = settings.timeIntegration
    time.numberOfSteps, time.startTime, time.endTime = steps, 0.0, steps * step
    time.verboseMode = 0
    time.adaptiveStep = False
    time.generalizedAlpha.spectralRadius = RADIUS
    time.generalizedAlpha.computeInitialAccelerations = True
    time.newton.useModifiedNewton = True
    time.newton.maxIterations = ITERATIONS
    time.newton.relativeTolerance = 1e-8
    time.newton.absoluteTolerance = 1e-6
    time.discontinuous.maxIterations = ROUNDS
    time.discontinuous.iterationTolerance = 0.5
    time.discontinuous.ignoreMaxIterations = True
    time.discontinuous.useRecommendedStepSize = False
    settings.linearSolverType = exu.LinearSolverType.EigenSparse
    settings.solutionSettings.writeSolutionToFile = False
    settings.solutionSettings.sensorsWriteFileHeader = False
    settings.solutionSettings.sensorsWritePeriod = step
    settings.displayComputationTime = False
    try:
        return bool(mbs.SolveDynamic(settings))
    except Exception:  # it says no more than that it stopped
        return False


@contextlib.contextmanager
def _quiet(exu: Any) -> Iterator[None]:
    """Keeps what the engine prints off the terminal."""
    exu.config.printToConsole = False
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _exudyn() -> Any:
    """The engine with its items, as one name."""
    try:
        with (
            open(os.devnull, "w") as void,
            contextlib.redirect_stdout(void),
            contextlib.redirect_stderr(void),
        ):
            import exudyn
            import exudyn.utilities as items
    except ImportError as error:
        if (stopped := signal_behind(error)) is not None:
            raise stopped from None
        raise EngineMissingError(_missing(str(error))) from None
    return _Both(exudyn, items)


def _missing(why: str) -> str:
    """What to do where the engine can't be imported.

    Example:
        >>> _missing("libGL.so.1: cannot open shared object file").endswith("apt-get install libgl1")
        True
    """
    if "libGL" in why:
        return (
            "the exudyn engine needs libGL of the system, which isn't here: on Debian and Ubuntu, "
            "apt-get install libgl1"
        )
    return f"the exudyn engine isn't installed here ({why}); pip install exudyn"


class _Both:
    """Names of the engine, else of its items."""

    def __init__(self, engine: Any, items: Any):
        self._engine, self._items = engine, items

    def __getattr__(self, name: str) -> Any:
        found = getattr(self._items, name, None)
        return getattr(self._engine, name) if found is None else found
