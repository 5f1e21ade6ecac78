"""Classes of drives of the catalogue, as text of at most 80 columns."""

from __future__ import annotations

import textwrap
from math import isfinite

from simprop.drives.able import Able
from simprop.report.figures import number
from simprop.report.sizes import speed
from simprop.sizing.classes import Listed, listing

WIDTH = 80


def _cell(able: Able | None, turns: bool) -> str:
    if able is None:
        return "-"
    if able.stall <= 0:
        return "doesn't start"
    pace = f"{speed(able.speed, turns)} " if isfinite(able.speed) else ""
    return f"{pace}{number(able.stall)}"


def _facts(listed: Listed) -> str:
    return f"  {listed.drive.facts}" if listed.drive.facts else ""


def listing_text() -> str:
    """Every class of the catalogue: speed without load and stall at each voltage of its kind.

    Example:
        >>> max(len(line) for line in listing_text().splitlines()) <= 80
        True
    """
    out: list[str] = []
    classes = listing()
    for kind in dict.fromkeys(c.row.kind for c in classes):
        group = [c for c in classes if c.row.kind == kind]
        drive = group[0].drive
        own = len(group[0].at) == 1
        heads = ["at its own"] if own else [f"at {v:g} V" for v in drive.volts]
        unit = "N*m" if drive.turns else "N"
        out.append(f"{drive.title + ', ' + unit:<29}" + "".join(f" {h:>16}" for h in heads))
        out += [
            f"  {r.row.name:<27}" + "".join(f" {_cell(a, drive.turns):>16}" for a in r.at) + _facts(r)
            for r in group
        ]
        out.append("")
    out.append("Speed without load, then stall torque or force. Most figures are assumed:")
    out.append("`simprop drives NAME` says which, and where the others come from.")
    return "\n".join(out)


def class_text(listed: Listed) -> str:
    """One class in full: its lines, what is assumed, and the source.

    Args:
        listed: of `simprop.sizing.curves.listing`.

    Example:
        >>> print(class_text(listing()[0]).splitlines()[0])
        wiper medium low
    """
    row, turns = listed.row, listed.drive.turns
    out = [row.name]
    for able in listed.at:
        if able is None:
            continue
        volts = f"{able.voltage:g} V" if isfinite(able.voltage) else ""
        amps = f"  stall {able.stall_current:.3g} A" if isfinite(able.stall_current) else ""
        idle = f"  idle {able.idle_current:.3g} A" if isfinite(able.idle_current) else ""
        what = _cell(able, turns) if able.stall <= 0 else f"{_cell(able, turns)} {'N*m' if turns else 'N'}"
        out.append(f"  {volts:>6}  {what}{idle}{amps}")
    if listed.drive.facts:
        out.append(f"  {listed.drive.facts}")
    if row.mass is not None:
        out.append(f"  mass {row.mass:g} kg")
    if row.continuous_share is not None:
        out.append(f"  without a pause at most {100 * row.continuous_share:.0f} % of its stall")
    if row.note:
        out += _wrapped(f"note: {row.note}")
    out += _wrapped(f"assumed: {', '.join(row.assumed) or 'nothing'}")
    out += _wrapped(f"source: {row.source}")
    return "\n".join(out)


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
