"""``simprop run``, ``preview`` and ``loads``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.text import Text

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.commands.clip import ClipOptions, draw_clip
from simprop.commands.show import show_loads, show_pairs
from simprop.commands.terminal import console, stages
from simprop.loads.agreement import Pair, side_by_side
from simprop.loads.joints import JointLoads, joint_loads
from simprop.recording import load_recording, save_recording
from simprop.report.files import write_text
from simprop.report.load_report import as_json, markdown
from simprop.report.strength_report import as_json as strength_json
from simprop.report.strength_report import as_markdown as strength_markdown
from simprop.report.strength_report import brief
from simprop.rig.load import load_rig
from simprop.run.simulate import Report, simulate, simulate_with_loads
from simprop.sizing.sizing import supply_warnings
from simprop.strength.drawing import draw_bent, softest
from simprop.strength.report import StrengthReport, strength

SAVED = ".npz"
"""Ending of a saved recording."""
BOTH = ("mujoco", "bullet")
"""The engines of ``--engine both``: files are written from the first."""


def folder_for(rig: Path, out: Path | None) -> Path:
    """Where the files of a rig go: `out`, or renders/RIG beside the current folder."""
    return out or Path("renders") / rig.stem


def run_rig(
    path: Path,
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
    options: ClipOptions,
    *,
    settle: bool,
) -> int:
    """The whole job: 1 if a strength check fails, 3 if one that is needed could not be computed."""
    folder = folder_for(path, out)
    with stages() as report:
        assembly = assembled(path, sets, report)
        first, second = BOTH if engine == "both" else (engine, None)
        recording, loads = simulate_with_loads(assembly, first, settle=settle, report=report)
        pairs = []
        if second is not None:
            pairs = side_by_side(
                loads, simulate_with_loads(assembly, second, settle=settle, report=report)[1]
            )
        save_recording(recording, folder / "recording.npz")
        warnings = [f"Supply: {text}" for text in supply_warnings(recording)]
        write_loads(loads, folder, report, pairs, warnings)
        found = write_strength(loads, folder, report)
        draw_clip(recording, loads, folder, options, report)
    show_loads(loads)
    if pairs:
        show_pairs(pairs, BOTH)
    for line in (*warnings, *brief(found)):
        console.print(Text(line))
    console.print(Text(f"Written to {folder}/"))
    return found.exit_code


def preview_rig(
    path: Path, sets: dict[str, str], engine: str | None, out: Path | None, options: ClipOptions
) -> int:
    """The clip only."""
    folder = folder_for(path, out)
    with stages() as report:
        assembly = assembled(path, sets, report)
        recording = simulate(assembly, engine, settle=False, report=report)
        draw_clip(recording, joint_loads(recording) if options.loads else None, folder, options, report)
    console.print(Text(f"Written to {folder}/"))
    return 0


def loads_of(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, settle: bool
) -> int:
    """The loads only, of a rig or of a saved recording."""
    with stages() as report:
        loads, folder = loads_from(source, sets, engine, out, report, settle=settle)
        if source.suffix != SAVED:
            save_recording(loads.recording, folder / "recording.npz")
        write_loads(loads, folder, report)
    show_loads(loads)
    console.print(Text(f"Written to {folder}/"))
    return 0


def loads_from(
    source: Path,
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
    report: Report,
    *,
    settle: bool = True,
) -> tuple[JointLoads, Path]:
    """Loads of a saved recording, or of a rig that is run for it; and the folder for what comes of them."""
    if source.suffix == SAVED:
        return joint_loads(load_recording(source)), out or source.parent
    assembly = assembled(source, sets, report)
    return simulate_with_loads(assembly, engine, settle=settle, report=report)[1], folder_for(source, out)


def assembled(path: Path, sets: dict[str, str], report: Report) -> Assembly:
    """Read and assemble a rig, telling of each stage."""
    report("reading the rig", 0, 1)
    rig = load_rig(path, sets)
    report("reading the rig", 1, 1)
    report("assembling", 0, 1)
    assembly = assemble(rig)
    report("assembling", 1, 1)
    return assembly


def write_loads(
    loads: JointLoads,
    folder: Path,
    report: Report,
    pairs: Sequence[Pair] = (),
    warnings: Sequence[str] = (),
) -> None:
    """Write loads.md, loads.json and loads.png."""
    from simprop.picture.chart.plots import plot_loads

    report("writing the loads", 0, 3)
    write_text(folder / "loads.json", as_json(loads))
    write_text(folder / "loads.md", markdown(loads, pairs, BOTH, warnings))
    report("writing the loads", 2, 3)
    plot_loads(loads, folder / "loads.png")
    report("writing the loads", 3, 3)


def write_strength(loads: JointLoads, folder: Path, report: Report) -> StrengthReport:
    """Check a run for strength, and write strength.md, strength.json and bent.png (where a member bends)."""
    report("checking strength", 0, 1)
    found = strength(loads.recording.assembly, loads.recording, loads)
    write_text(folder / "strength.md", strength_markdown(found))
    write_text(folder / "strength.json", strength_json(found))
    if softest(found, 1):
        draw_bent(found, loads.recording, folder / "bent.png")
    report("checking strength", 1, 1)
    return found
