"""Where a command's run comes from: a rig that is simulated for it, or a saved recording."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from simprop.assembly.types import Assembly
from simprop.commands.rig import read_rig
from simprop.errors import SimpropError
from simprop.recording import load_recording
from simprop.run.assembled import assembled
from simprop.run.once import Report
from simprop.run.run import Run
from simprop.run.simulate import simulate

SAVED = ".npz"
"""Ending of a saved recording."""
BOTH = ("mujoco", "exudyn")
"""The engines of ``--engine both``: files are written from the first; the second, which solves for joint forces itself,
is a second opinion at the step at which the first has settled."""


def folder_for(source: Path, out: Path | None) -> Path:
    """Where files go: `out`, else beside a recording, else renders/RIG under the current folder."""
    if out is not None:
        return out
    return source.parent if source.suffix == SAVED else Path("renders") / source.stem


def run_of(
    source: Path,
    sets: dict[str, str],
    engine: str | None,
    report: Report,
    *,
    settle: bool = True,
    exaggerate: float = 1.0,
) -> Run:
    """The run of a saved recording, or of a rig that is simulated now.

    Args:
        source: a rig file or a recording.
        sets: values put over the rig's.
        engine: name of the engine; None: the usual one; ``both``: the first of `BOTH`, and the other for a second
            opinion.
        report: told of each stage.
        settle: halve the step until the peaks stand still.
        exaggerate: how many times bending is to be drawn.

    Raises:
        SimpropError: where bending is to be drawn larger and nothing bends.
        SimpropError: for `sets` or an engine given with a recording, which holds a run that is done.
        EngineError: when the energy of the run doesn't add up.
    """
    if source.suffix != SAVED:
        report("reading the rig", 0, 1)
        rig = read_rig(source, sets)
        report("reading the rig", 1, 1)
        report("assembling", 0, 1)
        assembly = assembled(rig)
        bends([assembly], exaggerate, [source])
        report("assembling", 1, 1)
        if engine != "both":
            return simulate(assembly, engine, settle=settle, report=report)
        first = simulate(assembly, BOTH[0], settle=settle, report=report)
        other = simulate(assembly, BOTH[1], settle=False, step=first.track.step, report=report)
        return replace(first, second=other)
    for option, given in (("--set", bool(sets)), ("--engine", engine is not None)):
        if given:
            raise SimpropError(
                f"{option} can't change {source}: it is the recording of a run that is done; give {option} with its "
                "rig file"
            )
    run = Run(load_recording(source))
    bends([run.assembly], exaggerate, [source])
    return run.adds_up() if run.recording.bands else run


def bends(assemblies: Sequence[Assembly], exaggerate: float, sources: Sequence[Path]) -> None:
    """Say so where bending is to be drawn larger and nothing bends.

    Raises:
        SimpropError: where that is so.
    """
    if exaggerate != 1 and not any(assembly.members for assembly in assemblies):
        told = ", ".join(dict.fromkeys(str(source) for source in sources))
        raise SimpropError(
            f"--exaggerate {exaggerate:g}: nothing bends in {told}; give --bend, or `bends: true` in a body of the rig"
        )
