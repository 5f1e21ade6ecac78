"""The command line: ``simprop run``, ``check``, ``preview``, ``loads``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from simprop.errors import EngineError, EngineMissingError, RigError, SimpropError

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="See how an animated prop moves, and what its joints bear, before anything is cut.",
)

RigFile = Annotated[Path, typer.Argument(metavar="RIG", help="A rig file (YAML).")]
Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="NAME=VALUE", help='Put a value in place of one in the file: --set throw="60 mm".'
    ),
]
EngineName = Annotated[
    str | None,
    typer.Option(
        "--engine",
        help="bullet, mujoco, or both for a second opinion; bullet where it is installed by default.",
    ),
]
Out = Annotated[Path | None, typer.Option("--out", help="Folder for the files; renders/RIG by default.")]
Size = Annotated[str, typer.Option("--size", help="Width x height of the picture.")]
OneStep = Annotated[
    bool, typer.Option("--one-step", help="Run one time step only: quicker, but without a band.")
]


@app.command()
def run(
    rig: RigFile,
    sets: Sets = None,
    engine: EngineName = None,
    out: Out = None,
    size: Size = "640x480",
    one_step: OneStep = False,
) -> None:
    """The whole job: motion, clip, and the loads on every joint."""
    from simprop.commands.run import run_rig

    raise typer.Exit(run_rig(rig, _sets(sets), engine, out, _size(size), settle=not one_step))


@app.command()
def check(rig: RigFile, sets: Sets = None) -> None:
    """Read and assemble only: bodies, masses, degrees of freedom, loops, every fault."""
    from simprop.commands.check import check_rig

    raise typer.Exit(check_rig(rig, _sets(sets)))


@app.command()
def preview(
    rig: RigFile, sets: Sets = None, engine: EngineName = None, out: Out = None, size: Size = "640x480"
) -> None:
    """The clip only, at one time step."""
    from simprop.commands.run import preview_rig

    raise typer.Exit(preview_rig(rig, _sets(sets), engine, out, _size(size)))


@app.command()
def loads(
    source: Annotated[
        Path, typer.Argument(metavar="RIG|RECORDING", help="A rig file, or a saved recording.npz.")
    ],
    sets: Sets = None,
    engine: EngineName = None,
    out: Out = None,
    one_step: OneStep = False,
) -> None:
    """The loads only; from a saved recording no engine is needed."""
    from simprop.commands.run import loads_of

    raise typer.Exit(loads_of(source, _sets(sets), engine, out, settle=not one_step))


def _sets(texts: list[str] | None) -> dict[str, str]:
    result = {}
    for text in texts or []:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise typer.BadParameter(f'{text!r}: write NAME=VALUE, such as throw="60 mm"', param_hint="--set")
        result[name.strip()] = value.strip()
    return result


def _size(text: str) -> tuple[int, int]:
    width, _, height = text.lower().partition("x")
    if not (
        width.isdigit() and height.isdigit() and 160 <= int(width) <= 3840 and 120 <= int(height) <= 2160
    ):
        raise typer.BadParameter(f"{text!r}: write 640x480, from 160x120 to 3840x2160", param_hint="--size")
    return int(width) // 2 * 2, int(height) // 2 * 2


def main() -> None:
    """Run the command line: exit code 2 for bad input, 3 when a run could not be computed, 130 after Ctrl-C."""
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
    except (EngineMissingError, SimpropError) as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("Stopped; nothing half-written was left.", file=sys.stderr)
        sys.exit(130)


if __name__ == "__main__":
    main()
