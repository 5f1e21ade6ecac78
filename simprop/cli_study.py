"""The commands that look at one prop in several variants, or ask a run by name."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from simprop.options import (
    Cluster,
    EngineName,
    Exaggerate,
    Keep,
    OneEngine,
    OneStep,
    Out,
    Processes,
    RigFile,
    Seed,
    Sets,
    Settle,
    Store,
    pairs_of,
    sets_of,
)


def compare(
    rigs: Annotated[list[Path], typer.Argument(metavar="RIG...", help="One rig, or several.")],
    sets: Annotated[
        list[str] | None,
        typer.Option(
            "--set", metavar="NAME=VALUE", help="Give one field several times to compare its values."
        ),
    ] = None,
    bend: Annotated[bool, typer.Option("--bend", help="Each run twice: rigid, and bending.")] = False,
    engine: EngineName = None,
    out: Out = None,
    exaggerate: Exaggerate = 1.0,
    one_step: OneStep = False,
) -> None:
    """Two to four runs side by side: one clip, one table, overlaid plots."""
    from simprop.commands.compare import compare_rigs

    raise typer.Exit(
        compare_rigs(rigs, pairs_of(sets), engine, out, bend=bend, settle=not one_step, exaggerate=exaggerate)
    )


def measure(
    source: Annotated[Path | None, typer.Argument(metavar="[RIG|RECORDING]")] = None,
    texts: Annotated[list[str] | None, typer.Argument(metavar="MEASURE...")] = None,
    sets: Sets = None,
    engine: OneEngine = None,
    one_step: OneStep = False,
) -> None:
    """What can be asked of a run by name, such as "travel(neck, z)", and the answers."""
    from simprop.commands.measure import list_measures, measure_rig

    if source is None:
        raise typer.Exit(list_measures())
    raise typer.Exit(measure_rig(source, texts or (), sets_of(sets), engine, settle=not one_step))


def vary(
    rig: RigFile,
    over: Annotated[
        list[str] | None,
        typer.Option(
            "--over",
            metavar="NAME=VALUES",
            help='What a field goes through: throw=30..70mm:9 (nine values), supply="5 V","12 V"; several make a grid.',
        ),
    ] = None,
    ask: Annotated[
        list[str] | None,
        typer.Option(
            "--ask", metavar="MEASURE", help='What each is asked: "travel(neck, z)" (simprop measure).'
        ),
    ] = None,
    keep: Keep = None,
    sample: Annotated[
        int | None,
        typer.Option(
            "--sample", min=1, help="So many variants, spread evenly through ranges without a count."
        ),
    ] = None,
    scatter: Annotated[
        int | None,
        typer.Option(
            "--scatter", min=1, help="So many builds of each, off as a home shop is: how many pass."
        ),
    ] = None,
    within: Annotated[
        list[str] | None,
        typer.Option(
            "--within",
            metavar="WHAT=SIZE",
            help='How far builds are off: lengths="1 mm", friction="30 %", motors="10 %", supplies="5 %", or one '
            'place: joints.tee.friction="50 %".',
        ),
    ] = None,
    seed: Seed = 1,
    settle: Settle = "few",
    clips: Annotated[
        int,
        typer.Option("--clips", min=0, max=9, help="Best, worst and others between side by side in a clip."),
    ] = 0,
    processes: Processes = None,
    cluster: Cluster = None,
    store: Store = None,
    sets: Sets = None,
    engine: OneEngine = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the files; renders/RIG/vary by default.")
    ] = None,
) -> None:
    """One prop in many variants: what each answers, which keep what has to hold, plots and a table."""
    from simprop.commands.vary import Wish, vary_rig

    wish = Wish(over or (), ask or (), keep or (), sample, seed, settle, clips, processes, cluster, store)
    if scatter is not None:
        if clips:
            raise typer.BadParameter(
                "a clip is of variants, not of builds: leave it out", param_hint="--clips"
            )
        from simprop.commands.scatter import scatter_rig

        raise typer.Exit(scatter_rig(rig, wish, scatter, within or (), sets_of(sets), engine, out))
    if within:
        raise typer.BadParameter(
            "it says how far builds are off; say how many: --scatter 200", param_hint="--within"
        )
    raise typer.Exit(vary_rig(rig, wish, sets_of(sets), engine, out))


def find(
    rig: RigFile,
    by: Annotated[
        list[str] | None,
        typer.Option(
            "--by",
            metavar="NAME=VALUES",
            help='What may change: throw=30..70mm, motors.drive.motor=any, joints.wrist.held_by="M5 bolt","M6 bolt".',
        ),
    ] = None,
    want: Annotated[
        list[str] | None,
        typer.Option(
            "--want", metavar="LIMIT", help='What shall come of it: "travel(neck, z) = 120 mm within 1 mm".'
        ),
    ] = None,
    keep: Keep = None,
    least: Annotated[
        list[str] | None,
        typer.Option("--least", metavar="MEASURE", help='As little as can be: "peak(wrist)".'),
    ] = None,
    most: Annotated[
        list[str] | None,
        typer.Option("--most", metavar="MEASURE", help='As much as can be: "travel(neck, z)".'),
    ] = None,
    tries: Annotated[
        int | None,
        typer.Option(
            "--tries", min=1, help="Variants of the search; 24 for each field and 24 more by default."
        ),
    ] = None,
    seed: Seed = 1,
    settle: Settle = "few",
    clips: Annotated[
        int,
        typer.Option("--clips", min=0, max=3, help="So many of the best beside the rig as it is, in a clip."),
    ] = 0,
    processes: Processes = None,
    cluster: Cluster = None,
    store: Store = None,
    sets: Sets = None,
    engine: OneEngine = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the files; renders/RIG/find by default.")
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write", metavar="FILE", help="The best as a rig; RIG.found.yaml among the files by default."
        ),
    ] = None,
) -> None:
    """The variant that does what is wanted: values and catalogue choices, and the rig file with them."""
    from simprop.commands.find import Wish, find_in_rig

    wish = Wish(
        by or (), want or (), keep or (), least or (), most or (), tries, seed, settle, clips, processes,
        cluster, store, write,
    )  # fmt: skip
    raise typer.Exit(find_in_rig(rig, wish, sets_of(sets), engine, out))


STUDIES = (compare, find, measure, vary)
