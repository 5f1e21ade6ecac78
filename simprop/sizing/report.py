"""What is said about drives, as text of at most 80 columns."""

from __future__ import annotations

import textwrap
from itertools import groupby
from math import isfinite, pi

from simprop.drives.able import Able, Candidate
from simprop.sizing import heat, supplies
from simprop.sizing.classes import VOLTAGES, Listed, listing
from simprop.sizing.sizing import MotorSize

WIDTH = 80
SHOWN = 6
"""Classes shown for a motor; the text says how many more there are."""


def number(value: float) -> str:
    """Three significant digits without an exponent.

    Example:
        >>> number(1320.4), number(0.26667), number(15.0)
        ('1320', '0.267', '15')
    """
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"


def _speed(value: float, turns: bool) -> str:
    if not isfinite(value):
        return "-"
    return f"{number(value * 30 / pi)} rpm" if turns else f"{number(1000 * value)} mm/s"


def _load(value: float, turns: bool) -> str:
    return f"{number(value)} {'N*m' if turns else 'N'}"


def _cell(able: Able | None, turns: bool) -> str:
    if able is None:
        return "-"
    if able.stall <= 0:
        return "doesn't start"
    speed = f"{_speed(able.speed, turns)} " if isfinite(able.speed) else ""
    return f"{speed}{number(able.stall)}"


def listing_text(voltages: tuple[float, ...] = VOLTAGES) -> str:
    """Every class of the catalogue: speed without load and stall at each voltage.

    Args:
        voltages: V.

    Example:
        >>> max(len(line) for line in listing_text().splitlines()) <= 80
        True
    """
    out: list[str] = []
    for _, rows in groupby(listing(voltages), key=lambda r: r.row.kind):
        group = list(rows)
        drive = group[0].drive
        own = len(group[0].at) == 1
        heads = ["at its own"] if own else [f"at {v:g} V" for v in voltages]
        unit = "N*m" if drive.turns else "N"
        out.append(f"{drive.title + ', ' + unit:<29}" + "".join(f" {h:>16}" for h in heads))
        out += [f"  {r.row.name:<27}" + "".join(f" {_cell(a, drive.turns):>16}" for a in r.at) for r in group]
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
    if row.mass is not None:
        out.append(f"  mass {row.mass:g} kg")
    if row.continuous_share is not None:
        out.append(f"  for ever at most {100 * row.continuous_share:.0f} % of its stall")
    if row.note:
        out += _wrapped(f"note: {row.note}")
    out += _wrapped(f"assumed: {', '.join(row.assumed) or 'nothing'}")
    out += _wrapped(f"source: {row.source}")
    return "\n".join(out)


def _wrapped(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")


def size_text(sizes: tuple[MotorSize, ...]) -> str:
    """Margin, operating point, classes, supply, fuse and heat of each motor.

    Args:
        sizes: of `simprop.sizing.sizing.size_motors`.
    """
    out: list[str] = []
    for size in sizes:
        out += _one(size)
        out.append("")
    return "\n".join(out).rstrip()


def _one(size: MotorSize) -> list[str]:
    did = size.work
    turns = did.drive.turns
    spec = did.drive.spec.motor
    name = spec if isinstance(spec, str) else f"{spec.kind} described in the rig"
    out = [f"{did.drive.name} ({name})"]
    if not (did.drive.on > 0).any():
        return [*out, "  is never on in this run"]
    line = (
        f"load: peak {_load(did.peak_load, turns)} at {did.peak_time:.2f} s, mean {_load(did.mean_load, turns)}, "
        f"RMS {_load(did.rms_load, turns)}"
    )
    out += _wrapped(line)
    if isfinite(did.margin):
        out += _wrapped(
            f"margin to stall: {100 * did.margin:.0f} % (it can give {_load(did.able, turns)} from its supply)"
        )
    out += _wrapped(f"runs at {_speed(did.speed, turns)} on average" + _amperes(size))
    if size.supply is not None:
        out += _wrapped(f"supply{_shared(size.supply)}: {supplies.verdict(size.supply)}")
        wire = supplies.wire_verdict(size.supply)
        if wire is not None:
            out += _wrapped(f"wire: {wire}")
        if size.supply.fuse is not None:
            out += _wrapped(
                f"fuse: {size.supply.fuse:g} A slow-blow; all motors at a stand ask {size.supply.starting:.2g} A"
            )
    for remark in size.remarks:
        out += _wrapped(remark)
    if size.heat is not None:
        out += _wrapped(f"heat: {heat.verdict(size.heat)}")
    elif size.continuous is not None:
        out += _wrapped(f"heat: {size.continuous}")
    elif did.drive.line is not None:
        out.append("  heat: not computed, this class has no thermal data")
    out += _candidates(size.candidates, turns)
    if size.assumed:
        out += _wrapped(f"assumed of this class: {', '.join(size.assumed)}")
    return out


def _shared(use: supplies.SupplyUse) -> str:
    """Name and currents of a supply that several drives share."""
    if len(use.users) < 2:
        return ""
    return (
        f" {use.name} ({', '.join(use.users)}; peak {use.peak:.2g}, mean {use.mean:.2g}, RMS {use.rms:.2g} A)"
    )


def _amperes(size: MotorSize) -> str:
    did = size.work
    if not isfinite(did.peak_current):
        return ""
    return f"; current peak {did.peak_current:.2g}, mean {did.mean_current:.2g}, RMS {did.rms_current:.2g} A"


def _candidates(found: tuple[Candidate, ...], turns: bool) -> list[str]:
    if not found:
        return ["  classes that would carry it: none of the catalogue"]
    out = ["  classes that would carry it:"]
    for c in found[:SHOWN]:
        volts = f"{c.voltage:g} V" if isfinite(c.voltage) else "air"
        pace = f"  pace {100 * c.pace:.0f} %" if isfinite(c.pace) else ""
        amps = f"{c.current:.2g} A" if isfinite(c.current) else ""
        speed = _speed(c.speed, turns)
        out.append(
            f"    {c.name:<26} {volts:>6} {speed:>10} {amps:>6}  margin {100 * c.margin:>2.0f} %{pace}"
        )
    if len(found) > SHOWN:
        out.append(f"    and {len(found) - SHOWN} more")
    return out
