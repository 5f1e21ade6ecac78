"""``simprop check``: what a rig is, without running it."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from simprop.commands.rig import read_rig
from simprop.commands.terminal import console
from simprop.engine.acting.actuation import actuate
from simprop.report.check import check_report
from simprop.report.writers import show
from simprop.run.assembled import assembled


def check_rig(path: Path, sets: dict[str, str], draw: bool = False, out: Path | None = None) -> int:
    """Read, assemble, and tell what there is and what was assumed; 1 if bodies are meant to move and none can.

    Args:
        path: of the rig.
        sets: values put over the rig's.
        draw: also write look.svg.
        out: folder for it, or None for the usual one.
    """
    assembly = assembled(read_rig(path, sets))
    acting = actuate(assembly)
    show(check_report(assembly, acting), console)
    if draw:
        from simprop.commands.source import folder_for
        from simprop.picture.chart.look import quick_look

        console.print(Text(f"Written to {quick_look(assembly, acting, folder_for(path, out) / 'look.svg')}"))
    return int(assembly.jammed)
