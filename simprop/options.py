"""Arguments and options that several commands share, with what is said of them, and how they are read."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal

import typer

from simprop.errors import cut

RigFile = Annotated[Path, typer.Argument(metavar="RIG", help="A rig file (YAML).")]
Source = Annotated[
    Path, typer.Argument(metavar="RIG|RECORDING", help="A rig file, or a saved recording.npz.")
]
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
        help="mujoco by default, exudyn (also what bends), bullet where it is installed, or both: a second opinion of "
        "each peak.",
    ),
]


def _one(name: str | None) -> str | None:
    if name == "both":
        raise typer.BadParameter(
            "'both' compares peaks: run, loads, strength, size and compare print them", param_hint="--engine"
        )
    return name


OneEngine = Annotated[
    str | None,
    typer.Option(
        "--engine",
        callback=_one,
        help="mujoco by default, exudyn (also what bends), or bullet where it is installed.",
    ),
]
Out = Annotated[Path | None, typer.Option("--out", help="Folder for the files; renders/RIG by default.")]
Size = Annotated[str, typer.Option("--size", help="Width x height of the picture.")]
View = Annotated[
    Literal["front", "side", "three_quarter", "top", "follow"] | None,
    typer.Option("--view", help="Where it is seen from; as the rig says by default."),
]
Light = Annotated[Literal["day", "night"] | None, typer.Option("--light", help="As the rig says by default.")]
Speed = Annotated[
    float, typer.Option("--speed", min=0.05, max=20, help="Seconds of motion in a second of clip.")
]
Arrow = Annotated[
    list[str] | None,
    typer.Option("--joint", help="Joint that gets a load arrow; the highest-loaded by default."),
]
SlowPeak = Annotated[
    float,
    typer.Option("--slow-peak", min=0.05, max=1, help="Speed round the peak, as a share of the clip's."),
]
Ticks = Annotated[float, typer.Option("--ticks", min=0, help="A dot on each trace every so many seconds.")]
Whole = Annotated[
    bool,
    typer.Option("--whole", help="Frame all of the prop; by default what moves, with what is near it."),
]
NoGif = Annotated[bool, typer.Option("--no-gif", help="MP4 and still only.")]
Bend = Annotated[
    bool,
    typer.Option("--bend", help="Slender pipes, bars and the like of what moves bend (engine exudyn)."),
]
Exaggerate = Annotated[
    float, typer.Option("--exaggerate", min=1, max=100, help="Draw what bends so many times as far.")
]
OneStep = Annotated[
    bool, typer.Option("--one-step", help="Run one time step only: quicker, but without a band.")
]

Processes = Annotated[
    int | None,
    typer.Option("--processes", min=1, help="Variants that run at once; by default one for each core."),
]
Cluster = Annotated[
    str | None,
    typer.Option("--cluster", metavar="ADDRESS", help="Run them by the scheduler at this address."),
]
Store = Annotated[
    Path | None,
    typer.Option("--store", metavar="FILE", help="Keeps what came of variants; beside the rig by default."),
]
Settle = Annotated[
    Literal["none", "few", "all"],
    typer.Option(
        "--settle",
        help="Which variants are run until their peaks stand still; the others are one time step each.",
    ),
]
Seed = Annotated[int, typer.Option("--seed", min=0, help="The same seed gives the same variants.")]
Keep = Annotated[
    list[str] | None,
    typer.Option(
        "--keep", metavar="LIMIT", help='What has to hold, such as "strength > 1" (simprop measure).'
    ),
]


def sets_of(texts: list[str] | None, bend: bool = False) -> dict[str, str]:
    """Values to set by the fields that they are set in, of what `--set` and `--bend` said."""
    return dict([*pairs_of(texts), ("run.bend", "true")] if bend else pairs_of(texts))


def pairs_of(texts: list[str] | None) -> list[tuple[str, str]]:
    """Fields and the values set in them, in the order of what `--set` said, each as often as it was said."""
    result = []
    for text in texts or []:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise typer.BadParameter(f'{text!r}: write NAME=VALUE, such as throw="60 mm"', param_hint="--set")
        result.append((name.strip(), value.strip()))
    return result


def size_of(text: str) -> tuple[int, int]:
    """Width and height of what `--size` said, in even pixels."""
    match = re.fullmatch("([0-9]{3,4})x([0-9]{3,4})", text.lower())
    width, height = (int(match[1]), int(match[2])) if match else (0, 0)
    if not (160 <= width <= 3840 and 120 <= height <= 2160):
        said = f"{cut(text, 40)!r}: write 640x480, from 160x120 to 3840x2160"
        raise typer.BadParameter(said, param_hint="--size")
    return width // 2 * 2, height // 2 * 2
