"""``simprop drives``, ``size`` and ``cues``."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.catalog.motors import motor
from simprop.commands.rig import read_rig
from simprop.commands.source import folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.engine.acting.program import script
from simprop.errors import SimpropError
from simprop.laws.speech import verdict
from simprop.loads.driving import DriveRows
from simprop.report.catalogue import class_text, listing_text
from simprop.report.files import write_report
from simprop.report.sizes import faults_of, size_report
from simprop.report.writers import show
from simprop.run.simulate import simulate
from simprop.sizing.classes import listing
from simprop.sizing.cue_sheet import cues_csv, jaws
from simprop.written import write_text, written_beside


def list_drives(
    name: str | None, rig: Path | None, sets: dict[str, str], engine: str | None, plot: Path | None
) -> int:
    """Print the classes of the catalogue, or one in full; with `plot` draw its curves.

    Args:
        name: of a class; None: all.
        rig: a rig or recording whose operating points are drawn over the curves.
        sets: values put over the rig's.
        engine: name of the engine, or None.
        plot: picture to write, or None.
    """
    if name is None and (plot is not None or rig is not None):
        raise SimpropError(
            "curves are those of one class: name it, as in `simprop drives wiper --plot wiper.png`"
        )
    if name is None:
        console.print(Text(listing_text()))
        return 0
    row = motor(name)
    console.print(Text(class_text(next(c for c in listing() if c.row == row))))
    if plot is not None:
        from simprop.picture.chart.drive_plots import motor_curves

        used: tuple[DriveRows, ...] = ()
        if rig is not None:
            with stages() as report:
                used = run_of(rig, sets, engine, report, settle=False).drives
        motor_curves(row.name, plot, used=[d for d in used if d.line is not None])
        console.print(Text(f"Written to {plot}"))
    return 0


def size(
    source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, hours: float, ambient: float
) -> int:
    """Print margin, classes, supply, fuse and heat of each motor, and keep them as ``sizes.md`` and ``sizes.json``.

    Args:
        source: a rig or a recording.
        sets: values put over the rig's.
        engine: name of the engine, ``both`` or None.
        out: folder, or None for the usual one.
        hours: length of the evening.
        ambient: air, degC.

    Returns:
        1 if a supply holds a motor back, a margin is used up or a winding gets too hot, 3 if what a limited supply
        keeps back is not computed, else 0.
    """
    folder = folder_for(source, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(source, sets, engine, report, settle=False)
        found = size_report(run, hours, ambient)
        write_report(found, work / "sizes")
    show(found, console)
    console.print(Text(f"Written to {folder}/"))
    if any(faults_of(s) for s in run.sizes(hours, ambient)):
        return 1
    return 3 if run.not_repeated else 0


def cues(source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, plot: bool) -> int:
    """Write ``cues.csv``, with `plot` also ``cues.png`` over the motion; say how well each jaw follows its
    sound.

    Args:
        source: a rig.
        sets: values put over the rig's.
        engine: name of the engine, or None.
        out: folder, or None for the usual one.
        plot: run the rig and draw.
    """
    rig = read_rig(source, sets)
    folder, plan = folder_for(source, out), script(rig)
    with stages() as report, written_beside(folder) as work:
        write_text(work / "cues.csv", cues_csv(plan))
        if plot:
            from simprop.picture.chart.drive_plots import cue_plot

            run = simulate(rig, engine, settle=False, report=report)
            cue_plot(run.recording, work / "cues.png")
    for jaw in jaws(plan):
        console.print(Text(f"{jaw.servo}, {jaw.file}: {verdict(jaw.spoken)}"))
    console.print(Text(f"Written to {folder}/"))
    return 0
