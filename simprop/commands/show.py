"""The short tables that a run prints."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table
from rich.text import Text

from simprop.commands.terminal import console, show_table
from simprop.loads.agreement import Pair
from simprop.report.load_report import (
    audit_lines,
    headline,
    joint_rows,
    motor_line,
    pair_rows,
    shared_lines,
    with_band,
)
from simprop.report.touching import binding_line, rubbing_lines
from simprop.run.run import Run


def show_pairs(pairs: Sequence[Pair], engines: tuple[str, str]) -> None:
    """Peaks of two engines side by side."""
    show_table(("peak", *engines, "difference"), pair_rows(pairs))


def show_loads(run: Run) -> None:
    """The short table: highest joint first, then every joint, motors, stops, and how far to trust it."""
    loads = run.loads
    console.print(Text(headline(loads), style="bold"))
    table = Table(box=None, pad_edge=False, header_style="bold", expand=False)
    for title in ("joint", "peak force", "peak moment", "at", "drive at"):
        table.add_column(title, no_wrap=False, overflow="fold")
    for row in joint_rows(loads):
        table.add_row(row.joint, row.force, row.moment, row.time, row.angle)
    console.print(table)
    for motor in loads.motors:
        console.print(Text(motor_line(motor)))
    for stop in loads.stops:
        console.print(
            Text(f"Stop {stop.name}: peak {with_band(stop, 'torque' if stop.kind == 'moment' else 'force')}")
        )
    for contact in loads.contacts:
        console.print(Text(f"Contact {contact.name}: peak {with_band(contact, 'force')}"))
    for slide in run.binding:
        console.print(Text(binding_line(slide)))
    for line in audit_lines(loads) + shared_lines(loads) + rubbing_lines(loads):
        console.print(Text(line, style="dim"))
