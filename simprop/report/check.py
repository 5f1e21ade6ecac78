"""The report of a rig that reads and goes together, before anything is run."""

from __future__ import annotations

from simprop.assembly.cut_lengths import cut_pipes
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.geometry.arrays import Array
from simprop.loads.ringing import likely
from simprop.quantities import show
from simprop.report.ringing import ringing_line, ringing_table
from simprop.report.structure import Block, Items, Report, Section, Strong, Table
from simprop.run.once import asking, first_substeps, most_steps, steps_of, would_do


def check_report(assembly: Assembly, laws: Actuation) -> Report:
    """Bodies and masses, joints, degrees of freedom, loops, what was assumed."""
    rig = assembly.rig
    bodies = [
        (
            f"{body.name} (fixed)" if body.fixed else body.name,
            show(body.mass, "mass"),
            _place(body.com) if body.mass else "-",
            str(len(body.shapes)),
        )
        for body in assembly.drawn
    ]
    joints = [
        (
            joint.name,
            joint.kind.kind,
            f"{assembly.bodies[joint.first].called} - {assembly.bodies[joint.second].called}",
            _place(joint.point),
        )
        for j, joint in enumerate(assembly.joints)
        if j not in assembly.seams
    ]
    blocks: list[Block] = [
        Strong(
            f"{rig.name}: reads and goes together" + (", but nothing can move" if assembly.jammed else "")
        ),
        *([rig.about] if rig.about else []),
    ]
    tables = [Table(("body", "mass", "centre of mass x y z (mm)", "parts"), bodies)]
    if joints:
        tables.append(Table(("joint", "kind", "joins", "at x y z (mm)"), joints))
    cuts = cutting_rows(assembly)
    if cuts:
        tables.append(Table(("pipe", "drawn", "cut to"), cuts))
    rings = () if assembly.gives else likely(assembly, laws)
    if rings:
        tables.append(ringing_table(rings))
    grounded = "a body that contacts hold rings faster than told: they aren't counted there"
    notes = [*assembly.notes, *laws.notes, *([grounded] if rings and rig.contacts else [])]
    line = ringing_line(rings)
    last: list[Block] = [
        *mobility_lines(assembly),
        *([line] if line else []),
        *steps_lines(assembly, laws),
        *([Items(notes)] if notes else []),
    ]
    return Report(rig.name, [Section("check", "", [*blocks, *tables, *last])])


def steps_lines(assembly: Assembly, laws: Actuation) -> list[str]:
    """What a long run takes, and who makes it long; nothing where steps of 1 ms do, or where no law limits them."""
    asker = asking(assembly, laws)
    run = assembly.rig.run
    if not asker.what or assembly.gives or run.step is not None:
        return []
    steps, most = steps_of(assembly, first_substeps(assembly, laws)), most_steps(assembly, laws)
    told = f"Steps: {steps:,} of {1000 * asker.step:.2g} ms for {run.duration:g} s, as {asker.what} asks"
    if steps > most:
        return [f"{told}; {most:,} are the most: {would_do(assembly, laws, most / steps)}"]
    if 2 * steps > most:
        half = would_do(assembly, laws, most / (2 * steps))
        return [f"{told}; too many to halve them, so a run has no band: for one {half}"]
    if steps > MANY:
        return [
            f"{told}, and 2 to 8 times as many until its peaks stand still: that takes minutes. {QUICKER}"
        ]
    return []


MANY = 50_000
"""So many steps at the coarsest are told of: settled, they take a minute and more."""
QUICKER = "--one-step does the first alone, a softer `stiffness:` there lengthens the steps"


def cutting_rows(assembly: Assembly) -> list[tuple[str, str, str]]:
    """Pipes with their length as drawn and as cut, where bodies have fittings."""
    return [
        (
            pipe.name.removeprefix("bodies."),
            show(pipe.drawn, "length"),
            " + ".join(show(piece, "length") for piece in pipe.pieces),
        )
        for body in assembly.drawn
        if any(shape.knot is not None for shape in body.shapes)
        for pipe in cut_pipes(body.shapes)
    ]


def _place(point: Array) -> str:
    return " ".join(f"{1000 * v:.1f}" for v in point)


def mobility_lines(assembly: Assembly) -> list[str]:
    """Degrees of freedom and loops in words."""
    freedoms = assembly.mobility
    lines = [f"Degrees of freedom: {freedoms}"]
    if assembly.jammed:
        lines[0] += (
            " - nothing can move; check that no joint is drawn twice and that pins of a loop are parallel"
        )
    idle = _spinning(assembly)
    if idle:
        lines[0] += (
            f", {len(idle)} of them idle: {', '.join(idle)} may turn about the line of two ball joints"
        )
    loops = [assembly.joints[c.joint].name for c in assembly.closures]
    lines.append(f"Loops: {len(loops)}" + (f", closed at {', '.join(loops)}" if loops else ""))
    if assembly.surplus:
        lines.append(
            f"Over-constrained by {assembly.surplus}: real joints need play or flex there, "
            "and they share those loads as they give"
        )
    free = [assembly.bodies[b.body].called for b in assembly.tree if b.joint is None]
    if free:
        lines.append(f"Hangs on nothing and floats freely: {', '.join(free)}")
    return lines


def _spinning(assembly: Assembly) -> list[str]:
    """Bodies that two ball joints hold and nothing else: they may turn about the line of these."""
    held: dict[int, list[str]] = {}
    for joint in assembly.joints:
        for body in (joint.first, joint.second):
            held.setdefault(body, []).append(joint.kind.kind)
    return [
        assembly.bodies[b].called
        for b, kinds in held.items()
        if kinds == ["ball", "ball"] and not assembly.bodies[b].fixed
    ]
