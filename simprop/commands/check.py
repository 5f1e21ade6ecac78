"""``simprop check``: what a rig is, without running it."""

from __future__ import annotations

from pathlib import Path

from simprop.commands.rig import read_rig
from simprop.commands.terminal import console
from simprop.engine.acting.actuation import actuate
from simprop.report.check import check_report
from simprop.report.writers import show
from simprop.run.assembled import assembled


def check_rig(path: Path, sets: dict[str, str]) -> int:
    """Read, assemble, and tell what there is and what was assumed; 1 if bodies are meant to move and none can."""
    assembly = assembled(read_rig(path, sets))
    show(check_report(assembly, actuate(assembly)), console)
    return int(assembly.jammed)
