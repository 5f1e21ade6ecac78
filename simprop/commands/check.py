"""``simprop check``: what a rig is, without running it."""

from __future__ import annotations

from pathlib import Path

from rich.table import Table
from rich.text import Text

from simprop.assembly.types import Assembly
from simprop.commands.terminal import console
from simprop.engine.acting.actuation import actuate
from simprop.quantities import show
from simprop.rig.load import load_rig
from simprop.run.assembled import assembled


def check_rig(path: Path, sets: dict[str, str]) -> int:
    """Read, assemble, and tell: bodies and masses, joints, degrees of freedom, loops, what was assumed."""
    assembly = assembled(load_rig(path, sets))
    rig = assembly.rig
    console.print(Text(f"{rig.name}: reads and goes together", style="bold"))
    if rig.about:
        console.print(Text(rig.about))
    console.print(_bodies(assembly))
    console.print(_joints(assembly))
    for line in mobility_lines(assembly):
        console.print(Text(line))
    for note in (*assembly.notes, *actuate(assembly).notes):
        console.print(Text(f"- {note}", style="dim"))
    return 0


def _bodies(assembly: Assembly) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("body", "mass", "centre of mass x y z (mm)", "parts"):
        table.add_column(title)
    for body in assembly.bodies:
        centre = " ".join(f"{1000 * v:.1f}" for v in body.com)
        name = f"{body.name} (fixed)" if body.fixed else body.name
        table.add_row(name, show(body.mass, "mass"), centre if body.mass else "-", str(len(body.shapes)))
    return table


def _joints(assembly: Assembly) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("joint", "kind", "joins", "at x y z (mm)"):
        table.add_column(title)
    for joint in assembly.joints:
        pair = f"{assembly.bodies[joint.first].name} - {assembly.bodies[joint.second].name}"
        table.add_row(joint.name, joint.kind.kind, pair, " ".join(f"{1000 * v:.1f}" for v in joint.point))
    return table


def mobility_lines(assembly: Assembly) -> list[str]:
    """Degrees of freedom and loops in words."""
    freedoms = assembly.mobility
    lines = [f"Degrees of freedom: {freedoms}"]
    if freedoms == 0 and any(not b.fixed for b in assembly.bodies):
        lines[0] += (
            " - nothing can move; check that no joint is drawn twice and that pins of a loop are parallel"
        )
    loops = [assembly.joints[c.joint].name for c in assembly.closures]
    lines.append(f"Loops: {len(loops)}" + (f", closed at {', '.join(loops)}" if loops else ""))
    if assembly.surplus:
        lines.append(
            f"Over-constrained by {assembly.surplus}: real joints need play or flex there, "
            "and their share of those loads is a convention"
        )
    free = [assembly.bodies[b.body].name for b in assembly.tree if b.joint is None]
    if free:
        lines.append(f"Hangs on nothing and floats freely: {', '.join(free)}")
    return lines
