"""The command line."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from simprop.cli_study import STUDIES
from simprop.errors import EngineError, RigError, SimpropError
from simprop.options import (
    Arrow,
    Bend,
    EngineName,
    Exaggerate,
    Light,
    NoGif,
    OneEngine,
    OneStep,
    Out,
    RigFile,
    Sets,
    Size,
    SlowPeak,
    Source,
    Speed,
    Ticks,
    View,
    Whole,
    sets_of,
    size_of,
)
from simprop.written import file_name

app = typer.Typer(
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="See how an animated prop moves, and what its joints bear, before anything is cut.",
)


def _version(asked: bool) -> None:
    if asked:
        from simprop import __version__

        print(f"simprop {__version__}")
        raise typer.Exit


@app.callback()
def main_options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
    files_elsewhere: Annotated[
        bool,
        typer.Option(
            "--files-elsewhere",
            help="Sounds and meshes of a rig may lie outside its folder; before the command.",
        ),
    ] = False,
) -> None:
    """See how an animated prop moves, and what its joints bear, before anything is cut."""
    if files_elsewhere:
        from simprop.commands.rig import elsewhere

        elsewhere.set(True)


@app.command()
def run(
    rig: RigFile,
    sets: Sets = None,
    bend: Bend = False,
    engine: EngineName = None,
    out: Out = None,
    size: Size = "640x480",
    view: View = None,
    light: Light = None,
    speed: Speed = 1.0,
    plain: Annotated[
        bool, typer.Option("--plain", help="No load arrows, gauges or peak in the clip.")
    ] = False,
    joint: Arrow = None,
    slow_peak: SlowPeak = 1.0,
    ticks: Ticks = 0.0,
    whole: Whole = False,
    exaggerate: Exaggerate = 1.0,
    no_gif: NoGif = False,
    one_step: OneStep = False,
) -> None:
    """The whole job: motion, clip, loads on every joint, strength."""
    from simprop.commands.clip import ClipOptions
    from simprop.commands.run import run_rig

    options = ClipOptions(
        size_of(size), view, light, speed, not plain, joint or (), slow_peak, ticks, not no_gif, whole=whole,
        exaggerate=exaggerate,
    )  # fmt: skip
    raise typer.Exit(run_rig(rig, sets_of(sets, bend), engine, out, options, settle=not one_step))


@app.command()
def check(
    rig: RigFile,
    sets: Sets = None,
    draw: Annotated[
        bool,
        typer.Option("--draw", help="Also draw it as look.svg: names, senses of joints, points, contacts."),
    ] = False,
    out: Out = None,
) -> None:
    """Read and assemble only: bodies, masses, degrees of freedom, loops, every fault."""
    from simprop.commands.check import check_rig

    raise typer.Exit(check_rig(rig, sets_of(sets), draw, out))


@app.command()
def rigs(
    draw: Annotated[bool, typer.Option("--draw", help="Also draw them all on one sheet, rigs.png.")] = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the sheet; renders by default.")
    ] = None,
    gallery: Annotated[
        Path | None, typer.Option("--gallery", hidden=True, help="Run them all and write this page of them.")
    ] = None,
) -> None:
    """The rigs that come along, a line each."""
    from simprop.commands.shipped import list_rigs

    if gallery is not None:
        from simprop.commands.gallery import write_gallery

        raise typer.Exit(write_gallery(gallery, out))
    raise typer.Exit(list_rigs(draw, out))


@app.command()
def new(
    name: Annotated[str, typer.Argument(help="Of your prop: NAME.yaml is written here.")],
    like: Annotated[
        str, typer.Option("--like", metavar="RIG", help="A rig that comes along (simprop rigs), or a file.")
    ] = "wall_peeper",
) -> None:
    """Begin a rig file of your own like another one, comments and all."""
    from simprop.commands.shipped import begin

    raise typer.Exit(begin(name, like))


@app.command()
def schema(
    out: Annotated[
        Path | None, typer.Option("--out", help="File to write; on the terminal by default.")
    ] = None,
) -> None:
    """The rig format as JSON Schema, for editors that complete and check."""
    from simprop.commands.fields import show_schema

    raise typer.Exit(show_schema(out))


@app.command()
def fields(
    place: Annotated[
        str,
        typer.Argument(
            help="A place, kind or key, such as joints, joints.pin or friction; names: what the catalogue has; "
            "all: everything."
        ),
    ] = "",
    page: Annotated[
        Path | None,
        typer.Option("--page", help="HTML file to write all of it into, with an example of each kind."),
    ] = None,
) -> None:
    """What may stand in a rig file: sections, kinds, keys, and how values are written."""
    from simprop.commands.fields import show_fields, write_page

    raise typer.Exit(show_fields(place) if page is None else write_page(page))


@app.command()
def preview(
    rig: RigFile,
    sets: Sets = None,
    bend: Bend = False,
    engine: OneEngine = None,
    out: Out = None,
    size: Size = "640x480",
    view: View = None,
    light: Light = None,
    speed: Speed = 1.0,
    loads: Annotated[
        bool, typer.Option("--loads", help="Draw load arrows, motor gauges and the peak.")
    ] = False,
    joint: Arrow = None,
    slow_peak: SlowPeak = 1.0,
    ticks: Ticks = 0.0,
    whole: Whole = False,
    exaggerate: Exaggerate = 1.0,
    no_gif: NoGif = False,
    draft: Annotated[
        bool,
        typer.Option("--draft", help="A quick look: half of --size each way, half the frames, and no GIF."),
    ] = False,
) -> None:
    """The clip only, at one time step."""
    from simprop.commands.clip import ClipOptions
    from simprop.commands.run import preview_rig

    width, height = size_of(size)
    if draft:
        width, height = (max(least, side // 4 * 2) for side, least in ((width, 160), (height, 120)))
    gif = not (no_gif or draft)
    options = ClipOptions(
        (width, height),
        view,
        light,
        speed,
        loads,
        joint or (),
        slow_peak,
        ticks,
        gif,
        draft,
        whole,
        exaggerate,
    )
    raise typer.Exit(preview_rig(rig, sets_of(sets, bend), engine, out, options))


@app.command()
def loads(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: EngineName = None,
    out: Out = None,
    one_step: OneStep = False,
    plot: Annotated[bool, typer.Option("--plot", help="Also draw loads.png, the loads over time.")] = False,
) -> None:
    """The loads only; from a saved recording no engine is needed."""
    from simprop.commands.run import loads_of

    raise typer.Exit(loads_of(source, sets_of(sets, bend), engine, out, settle=not one_step, plot=plot))


@app.command()
def strength(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: EngineName = None,
    out: Out = None,
    brief: Annotated[bool, typer.Option("--brief", help="Only what fails first.")] = False,
) -> None:
    """What breaks first: members, fasteners, wear, stability, reach."""
    from simprop.commands.run import strength_of

    raise typer.Exit(strength_of(source, sets_of(sets, bend), engine, out, every=not brief))


@app.command()
def notes(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: OneEngine = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the files; renders/RIG/notes by default.")
    ] = None,
    size: Size = "640x480",
    one_step: OneStep = False,
) -> None:
    """Build notes to take to the bench, as one page (notes.html) and as Markdown."""
    from simprop.commands.notes import notes_of

    width_height = size_of(size)
    raise typer.Exit(
        notes_of(source, sets_of(sets, bend), engine, out, size=width_height, settle=not one_step)
    )


@app.command()
def page(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: OneEngine = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="The file; renders/RIG/moving.html by default.")
    ] = None,
    one_step: OneStep = False,
) -> None:
    """The moving prop with its peaks and plots, in one HTML file that opens offline, on a phone too."""
    from simprop.commands.page import page_of

    raise typer.Exit(page_of(source, sets_of(sets, bend), engine, out, settle=not one_step))


@app.command()
def live(
    rig: RigFile,
    sets: Sets = None,
    bend: Bend = False,
    engine: OneEngine = None,
    host: Annotated[
        str, typer.Option("--host", help="Address to listen on; by default this machine alone sees the page.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="0: any that is free.")] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Don't open the browser.")] = False,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="A photo or sketch to draw on, PNG or JPEG."),
    ] = None,
) -> None:
    """See the prop move in the browser while you write its file or move its values there."""
    from simprop.commands.live import live_rig

    found = live_rig(
        rig, sets_of(sets, bend), engine, host=host, port=port, browse=not no_open, picture=picture
    )
    raise typer.Exit(found)


@app.command()
def drives(
    name: Annotated[
        str | None, typer.Argument(help="A class of the catalogue; all of them by default.")
    ] = None,
    rig: Annotated[
        Path | None, typer.Option("--rig", metavar="RIG|RECORDING", help="Show the points that a rig uses.")
    ] = None,
    sets: Sets = None,
    engine: OneEngine = None,
    plot: Annotated[
        bool, typer.Option("--plot", help="Draw torque, current, power and efficiency against speed.")
    ] = False,
    out: Annotated[Path, typer.Option("--out", help="Folder for the plot.")] = Path("renders"),
) -> None:
    """Motors and actuators of the catalogue, with their figures at several voltages."""
    from simprop.commands.drives import list_drives

    if (plot and name is None) or (rig is not None and not plot):
        raise typer.BadParameter(
            "they go together: NAME --plot, and --rig to mark points", param_hint="--plot"
        )
    picture = out / f"drive_{file_name(name)}.png" if plot and name is not None else None
    raise typer.Exit(list_drives(name, rig, sets_of(sets), engine, picture))


@app.command()
def size(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: EngineName = None,
    out: Out = None,
    hours: Annotated[float, typer.Option("--hours", min=0.1, max=24, help="Length of the evening.")] = 4.0,
    ambient: Annotated[float, typer.Option("--ambient", min=-30, max=50, help="Air, degC.")] = 20.0,
) -> None:
    """Each motor: margin to stall, classes that would do, supply, wire and fuse, heat over the evening."""
    from simprop.commands.drives import size as size_rig

    raise typer.Exit(size_rig(source, sets_of(sets, bend), engine, out, hours=hours, ambient=ambient))


@app.command()
def cues(
    rig: RigFile,
    sets: Sets = None,
    engine: OneEngine = None,
    out: Out = None,
    plot: Annotated[bool, typer.Option("--plot", help="Also draw the cue sheet beside the motion.")] = False,
) -> None:
    """The cue sheet as cues.csv, from which any controller can be programmed."""
    from simprop.commands.drives import cues as write_cues

    raise typer.Exit(write_cues(rig, sets_of(sets), engine, out, plot=plot))


@app.command()
def tune(
    rig: RigFile,
    measured: Annotated[
        Path | None,
        typer.Argument(
            metavar="MEASURED", help="A filled-in tune-up sheet; without it a blank one is written."
        ),
    ] = None,
    out: Out = None,
) -> None:
    """Measure the built prop back: a tune-up sheet to fill in, and the rig with the figures that it tells."""
    from simprop.commands.tune import tune_rig

    raise typer.Exit(tune_rig(rig, measured, out))


@app.command()
def show(
    path: Annotated[Path, typer.Argument(metavar="SHOW", help="A show file (YAML): props, where, when.")],
    engine: OneEngine = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the files.")] = None,
    size: Size = "960x540",
    no_gif: NoGif = False,
    one_step: OneStep = False,
) -> None:
    """Several props on shared supplies by one clock: one clip, who makes the voltage sag, who suffers."""
    from simprop.commands.show import play_show

    raise typer.Exit(play_show(path, engine, out, size_of(size), settle=not one_step, gif=not no_gif))


for one in STUDIES:
    app.command()(one)


@app.command()
def sheets(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: OneEngine = None,
    out: Out = None,
    joint: Annotated[list[str] | None, typer.Option("--joint", help="Joint that gets a load rose.")] = None,
    pdf: Annotated[bool, typer.Option("--pdf", help="Drawings as PDF instead of SVG.")] = False,
    exaggerate: Exaggerate = 1.0,
) -> None:
    """Stills and drawings: contact sheet, motion ghost, dimensions, paths, torque, load roses."""
    from simprop.commands.sheets import sheets as draw

    raise typer.Exit(
        draw(source, sets_of(sets, bend), engine, out, joint or (), pdf=pdf, exaggerate=exaggerate)
    )


@app.command()
def export(
    source: Source,
    sets: Sets = None,
    bend: Bend = False,
    engine: OneEngine = None,
    out: Out = None,
    csv: Annotated[bool, typer.Option("--csv", help="Also write channels.csv.")] = False,
    channel: Annotated[
        list[str] | None, typer.Option("--channel", help="Only channels that match, such as 'joint.wrist.*'.")
    ] = None,
    every: Annotated[
        float | None, typer.Option("--every", help="Seconds between rows; every step by default.")
    ] = None,
    exaggerate: Exaggerate = 1.0,
) -> None:
    """The motion as animated glTF (motion.glb), and channels as CSV."""
    from simprop.commands.export import export as write

    channels = channel or ()
    raise typer.Exit(
        write(
            source,
            sets_of(sets, bend),
            engine,
            out,
            csv=csv,
            channels=channels,
            every=every,
            exaggerate=exaggerate,
        )
    )


def main() -> None:
    """Run the command line: exit code 2 for bad input, 3 when a run could not be computed."""
    try:
        app()
    except RigError as error:
        for fault in error.faults:
            print(fault, file=sys.stderr)
        count = len(error.faults)
        print(f"{count} fault{'s' if count > 1 else ''} found; nothing was written.", file=sys.stderr)
        sys.exit(2)
    except EngineError as error:
        print(f"The run could not be computed: {error}", file=sys.stderr)
        sys.exit(3)
    except SimpropError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    except OSError as error:
        print(f"{error.filename or 'standard output'}: {error.strerror or error}", file=sys.stderr)
        if error.filename is None:
            from simprop.commands.terminal import silenced

            silenced()
        sys.exit(2)
    except MemoryError:
        print("The run could not be computed: there is not enough memory; shorten run.for", file=sys.stderr)
        sys.exit(3)
