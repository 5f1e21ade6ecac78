"""The report of drives: margin, operating point, classes that would do, supply, fuse and heat of each."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, pi
from typing import Any

from simprop.drives.able import Candidate
from simprop.loads.joints import JOLT
from simprop.report.figures import number
from simprop.report.loads import second
from simprop.report.structure import Amount, Block, Items, Report, Section, Table
from simprop.run.run import Run
from simprop.sizing import heat, supplies
from simprop.sizing.sizing import MotorSize
from simprop.sizing.work import Work

SHOWN = 6
"""Classes shown for a motor on a terminal, which says how many more there are."""

NOTHING_LEFT = 0.005
"""A margin that reads 0 %: the drive stands with all that it can give."""


def size_report(run: Run, hours: float = 4.0, ambient: float = 20.0) -> Report:
    """Each motor and pusher of a run.

    Args:
        run: of at least one whole cycle of the prop.
        hours: length of the evening over which it is repeated.
        ambient: air, degC.
    """
    sizes = run.sizes(hours, ambient)
    title = f"{run.rig.name}: drives"
    if not sizes:
        return Report(title, [Section("drives", "", ["this rig has no motors or pushers"])])
    sections = size_sections(sizes)
    other = second(run)
    if other is not None:
        sections.append(other)
    if run.unlimited is not None:
        said = "A supply gives all it can: the run was repeated without its limit to learn what the prop asks for."
        sections.append(Section("repeated", "", [said]))
    if run.not_repeated:
        sections.append(Section("not_repeated", "Not computed", [run.not_repeated]))
    return Report(title, sections)


def size_sections(sizes: Sequence[MotorSize]) -> list[Section]:
    """A section for each drive, and one for what isn't as it should be."""
    faults = [f"{s.work.drive.name}: {text}" for s in sizes for text in faults_of(s)]
    last = [Section("faults", "Not as it should be", [Items(faults)])] if faults else []
    return [*(_one(size) for size in sizes), *last]


def faults_of(size: MotorSize) -> list[str]:
    """Why a drive isn't as it should be; none where it is."""
    found = []
    if size.supply is not None and size.supply.holds_back:
        found.append("its supply holds it back")
    if size.heat is not None and size.heat.hot:
        found.append("its winding gets too hot")
    if size.work.margin < NOTHING_LEFT:
        found.append("it stalls: the load is all that it can give")
    return found


def speed(value: float, turns: bool) -> str:
    """rpm or mm/s; "-" where it isn't known."""
    if not isfinite(value):
        return "-"
    return f"{number(value * 30 / pi)} rpm" if turns else f"{number(1000 * value)} mm/s"


def load(value: float, turns: bool) -> str:
    """N*m or N."""
    return f"{number(value)} {'N*m' if turns else 'N'}"


def _one(size: MotorSize) -> Section:
    did = size.work
    turns = did.drive.turns
    spec = did.drive.spec.motor
    name = spec if isinstance(spec, str) else f"{spec.kind} described in the rig"
    title, key = f"{did.drive.name} ({name})", did.drive.name
    if not (did.drive.on > 0).any():
        return Section(key, title, ["is never on in this run"])
    lines = [*_asked(did), f"runs at {speed(did.speed, turns)} on average" + _amperes(size)]
    if size.supply is not None:
        lines.append(f"supply{_shared(size.supply)}: {supplies.verdict(size.supply)}")
        wire = supplies.wire_verdict(size.supply)
        if wire is not None:
            lines.append(f"wire: {wire}")
        if size.supply.fuse is not None:
            lines.append(
                f"fuse: {size.supply.fuse:g} A slow-blow; all motors at a stand ask {size.supply.starting:.2g} A"
            )
    lines += size.remarks
    if size.heat is not None:
        lines.append(f"heat: {heat.verdict(size.heat)}")
    elif size.continuous is not None:
        lines.append(f"heat: {size.continuous}")
    elif did.drive.line is not None:
        lines.append("heat: not computed, this class has no thermal data")
    if size.assumed:
        lines.append(f"assumed of this class: {', '.join(size.assumed)}")
    found = size.candidates
    if not found:
        lines.append("classes that would carry it: none of the catalogue")
        return Section(key, title, [Items(lines)], data=_data(size))
    rows = [_row(c, turns) for c in found]
    titles = ("classes that would carry it", ">from", ">speed", ">current", ">margin", ">pace")
    head: list[Block] = [Items(lines)]
    more: list[Block] = [f"and {len(rows) - SHOWN} more in the file"] if len(rows) > SHOWN else []
    shown = [*head, Table(titles, rows[:SHOWN]), *more]
    return Section(key, title, [*head, Table(titles, rows)], shown, _data(size))


def _asked(did: Work) -> list[str]:
    """What the prop asks of a drive, beside what it can give."""
    turns = did.drive.turns
    lines = [
        f"load: peak {load(did.peak_load, turns)} at {did.peak_time:.2f} s, mean {load(did.mean_load, turns)}, "
        f"RMS {load(did.rms_load, turns)}"
    ]
    if did.start_load is not None and did.start_load > JOLT * did.peak_load:
        lines.append(f"while it starts: up to {load(did.start_load, turns)}")
    if did.held > 0.0:
        lines.append(f"a stop holds it for {did.held:.2g} s in all: that is its stall, and not in the margin")
    if isfinite(did.margin):
        lines.append(
            f"margin to stall: {100 * did.margin:.0f} % (it can give {load(did.able, turns)} from its supply)"
        )
    return lines


def _row(found: Candidate, turns: bool) -> tuple[str | Amount, ...]:
    return (
        found.name,
        f"{found.voltage:g} V" if isfinite(found.voltage) else "air",
        speed(found.speed, turns),
        f"{found.current:.2g} A" if isfinite(found.current) else "-",
        f"{100 * found.margin:.0f} %",
        f"{100 * found.pace:.0f} %" if isfinite(found.pace) else "-",
    )


def _data(size: MotorSize) -> dict[str, Any]:
    did, use = size.work, size.supply
    unit = "Nm" if did.drive.turns else "N"
    return {
        did.drive.name: {
            f"peak_load_{unit}": did.peak_load,
            "peak_time_s": did.peak_time,
            f"mean_load_{unit}": did.mean_load,
            f"rms_load_{unit}": did.rms_load,
            f"start_load_{unit}": did.start_load,
            "held_on_a_stop_s": did.held,
            f"able_{unit}": did.able,
            "margin": did.margin,
            "speed_rad_s" if did.drive.turns else "speed_m_s": did.speed,
            "peak_current_A": did.peak_current,
            "rms_current_A": did.rms_current,
            "needed_A": None if use is None else use.needed,
            "holds_back": None if use is None else use.holds_back,
            "fuse_A": None if use is None else use.fuse,
            "winding_degC": None if size.heat is None else size.heat.ambient + size.heat.evening.winding,
            "classes": [vars(c) for c in size.candidates],
            "faults": faults_of(size),
        }
    }


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
