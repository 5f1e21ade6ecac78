"""``simprop measure``: what can be asked of a run, and its answers."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pint
from rich.padding import Padding
from rich.text import Text

from simprop.commands.source import run_of
from simprop.commands.terminal import console, stages
from simprop.errors import listed
from simprop.quantities import shown
from simprop.report.figures import number
from simprop.run.run import Run
from simprop.study.ask.measure import MEASURES, asked_of


def list_measures(run: Run | None = None) -> int:
    """Print every measure with its definition; of a run also what may stand for its arguments there.

    Args:
        run: whose names are told; None: none are.
    """
    words: dict[str, list[str]] = {}
    for one in MEASURES.values():
        unit = f"  [{one.unit}]" if one.unit else ""
        console.print(Text(one.written, style="bold").append(unit, style="not bold"))
        console.print(Padding(Text(one.about), (0, 0, 0, 4)))
        for argument in one.arguments:
            if run is not None and argument.names is not None and argument.word not in words:
                words[argument.word] = list(dict.fromkeys(argument.names(run)))
    if words:
        console.print(Text("\nIn this rig", style="bold"))
    for word, names in words.items():
        console.print(Text(f"{word}: {listed(names, 24) or 'none'}"))
    return 0


def measure_rig(
    source: Path, texts: Sequence[str], sets: dict[str, str], engine: str | None, *, settle: bool
) -> int:
    """Print the answer of a run to each expression; without any, what can be asked of it.

    Args:
        source: a rig file or a recording.
        texts: expressions of measures.
        sets: values put over the rig's.
        engine: name of the engine; None: the usual one.
        settle: halve the step until the peaks stand still.
    """
    with stages() as report:
        run = run_of(source, sets, engine, report, settle=settle)
    if not texts:
        return list_measures(run)
    for text in texts:
        answer = asked_of(run, text)
        told = shown(answer) if isinstance(answer, pint.Quantity) else number(answer, 4)
        console.print(Text(f"{text} = {told}"))
    return 0
