"""The report of loads: everything that carries, motors beside what they can give, slides, and how far to trust it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from simprop.assembly.types import Member
from simprop.loads.agreement import side_by_side
from simprop.loads.binding import Binding
from simprop.loads.joints import JointLoads, MotorLoad, Peak, all_peaks
from simprop.loads.verdicts import verdicts
from simprop.quantities import show
from simprop.report.figures import NOTHING, banded, number
from simprop.report.ringing import ringing_line, ringing_table
from simprop.report.structure import Amount, Block, Cell, Items, Section, Sections, Strong, Table
from simprop.report.trust import audit_lines, rubbing_lines, shared_lines
from simprop.run.run import Run

LOADS = Sections("loads")
"""The sections of the load report."""
TIGHT = 1.5
"""A binding margin under this is worth a word: coefficients of friction spread by 30 % and more."""

STARTING = "  while starting"
"""What the row of a start is called, below that of what carries it."""


@LOADS.add
def about(run: Run) -> Section:
    """What was run, and how."""
    recording = run.recording
    data = {
        "rig": run.rig.name,
        "engine": recording.engine,
        "versions": recording.versions,
        "step_s": run.track.step,
        "steps": len(run.track.time),
        "highest": None if run.loads.worst is None else run.loads.worst.name,
    }
    blocks = [run.rig.about] if run.rig.about else []
    return Section("about", blocks=blocks, brief=(), data=data)


@LOADS.add
def carrying(run: Run) -> Section:
    """Peak force and moment of everything that carries load, the highest first."""
    loads = run.loads
    rows: list[tuple[Cell, ...]] = []
    for pair in loads.ranked:
        top = pair[0] or pair[1]
        if top is not None:
            rows.append(_row(loads, f"{top.sort} {top.name}", pair, top))
        jolts = [None if p is None else p.jolt for p in pair]
        start = jolts[0] or jolts[1]
        if start is not None:
            rows.append(_row(loads, STARTING, jolts, start))
    table = Table(("carries", "peak force", "peak moment", "at", "drive at"), rows)
    shared = dict(zip((j.name for j in run.assembly.joints), loads.wrenches.shared, strict=True))
    data: dict[str, Any] = {"joints": {}}
    for force, moment in loads.joints:
        data["joints"][force.name] = {
            "force": _peak(force),
            "moment": _peak(moment),
            "shared": shared[force.name] or None,
        }
    bending = {m.whole.name: m for m in run.assembly.members}
    data["members"] = {
        p.name: {
            "moment": _peak(p),
            "frequency_Hz": bending[p.name].frequency,
            "damping_ratio": bending[p.name].damping,
            "pieces": len(bending[p.name].bodies),
        }
        for p in loads.members
    }
    for name in ("spring", "pusher", "pull", "cord", "strip", "air", "coupling", "stop", "contact"):
        alone = (*loads.lines, *loads.couplings, *loads.stops, *loads.contacts)
        data[f"{name}s"] = {p.name: _peak(p) for p in alone if p.sort == name}
    said = [
        "The band behind ± is what is left of the numerical error, by how much the peak moved when the time step was "
        "halved."
    ]
    if loads.lines:
        said.append(
            "What a spring, pusher or pull carries goes through the hooks, brackets and screws at both of its ends."
        )
    if any(row[0] == STARTING for row in rows):
        said.append(
            "A start lasts from the switch-on of a drive until its own run-up has died; it stands in a row of its own "
            "where it loads more than running, and strength takes the larger of the two."
        )
    found: list[Block] = [Strong(headline(loads)), *([table] if rows else [])]
    found += [_bends(p, bending[p.name]) for p in loads.members]
    return Section("joints", "", [*found, *(said if rows else [])], found, data)


def _row(loads: JointLoads, words: str, pair: Sequence[Peak | None], top: Peak) -> tuple[Cell, ...]:
    cells = [Amount(p.value, p.unit, banded(p)) if p else "-" for p in pair]
    return (words, *cells, f"{top.time:.3f} s", drive_at(loads, top))


def _bends(peak: Peak, member: Member) -> str:
    """One member that bends, in a sentence."""
    rings = "as it is held it doesn't ring"
    if math.isfinite(member.frequency):
        rings = f"as held and loaded it rings at {number(member.frequency)} Hz and loses {100 * member.damping:.2g} %"
        rings += " of critical"
    most = f"{peak.name} bends: at most {banded(peak)} in it, at {peak.time:.3f} s"
    return f"{most}; {rings}; {len(member.bodies)} pieces."


def headline(loads: JointLoads) -> str:
    """What carries most while the prop runs, and what carries more while it starts, in one sentence."""
    worst = loads.worst
    if worst is None:
        return "Nothing carries load."
    where = drive_at(loads, worst)
    at = "" if where == "-" else f", with the drive at {where}"
    text = f"Highest load: {worst.sort} {worst.name}, {banded(worst)} at {worst.time:.3f} s{at}"
    jolts = [force.jolt for force, _ in loads.ranked if force is not None and force.jolt is not None]
    start = max(jolts, key=lambda p: p.value, default=None)
    if start is None or start.value <= worst.value:
        return text
    what = "it" if start.name == worst.name else f"{start.sort} {start.name}"
    return f"{text}; while starting {what} bears {banded(start)} at {start.time:.3f} s"


def drive_at(loads: JointLoads, peak: Peak) -> str:
    """Where the first motor's joint stood at a peak, within one turn; "-" without a motor."""
    if peak.angle is None:
        return "-"
    recording = loads.recording
    if recording.assembly.axes[recording.laws.motors[0].axis].motion == "slide":
        return show(peak.angle, "length")
    return f"{round(math.degrees(peak.angle)) % 360} deg"


@LOADS.add
def drives(run: Run) -> Section:
    """Motors beside what they can give, and what their supplies hold back."""
    loads = run.loads
    told = (*loads.motors, *loads.pushers)
    data: dict[str, dict[str, Any]] = {
        m.name: {
            "load": _peak(m.peak),
            "able_at_standstill": m.able,
            "held_on_a_stop_s": m.held,
            "current_A": m.current,
            "supply_A": m.current_able,
            "audit_difference": m.difference,
        }
        for m in told
    }
    lines = [motor_line(m) for m in told] + [f"Supply: {text}" for text in run.supply_warnings]
    of_pushers = {m.name: data.pop(m.name) for m in loads.pushers}
    return Section("motors", "", _items(lines), lines, {"motors": data, "asked_of_pushers": of_pushers})


def motor_line(load: MotorLoad) -> str:
    """The peak of a motor or pusher beside what it can give, its start, and what it gives while a stop holds it."""
    unit, start = load.peak.unit, load.peak.jolt
    limit = (
        "no stated limit" if load.able is None else f"{number(load.able)} {unit} it can give at standstill"
    )
    text = f"{load.peak.sort.capitalize()} {load.name}: peak {banded(load.peak)} of {limit}"
    if start is not None:
        text += f", {banded(start)} while it starts"
    if load.held_since is not None:
        text += f"; a stop holds it for {load.held:.2g} s in all, first at {load.held_since:.2f} s"
    if load.current is None:
        return text
    able = "no stated limit" if load.current_able is None else f"{number(load.current_able)} A"
    told = "in its pulses (the limit of the supply acts on their mean)" if load.pulsed else f"of {able}"
    return f"{text}; peak current {number(load.current)} A {told}"


@LOADS.add
def slides(run: Run) -> Section:
    """How near each slide comes to binding."""
    lines = [binding_line(b) for b in run.binding]
    return Section(
        "binding", "", _items(lines), lines, {"binding": {b.joint: _slide(b) for b in run.binding}}
    )


def binding_line(found: Binding) -> str:
    """The binding margin of a slide in one sentence.

    Example:
        >>> binding_line(Binding("tee", 2.0, 0.9, 0.45, 1.25))
        'Slide tee: it locks at a friction of 0.9 and has 0.45 (margin 2.00, at 1.250 s)'
    """
    name = found.joint
    if found.margin is None and found.locking is not None and not math.isinf(found.locking):
        return f"Slide {name}: would lock at a friction of {found.locking:.2g}; margin not computed, {found.reason}"
    if found.margin is None:
        return f"Slide {name}: binding margin not computed, {found.reason}"
    if math.isinf(found.margin):
        return f"Slide {name}: can't bind, what pushes it doesn't press it sideways"
    figures = f"it locks at a friction of {found.locking:.2g} and has {found.present:.2g}"
    figures += f" (margin {found.margin:.2f}, at {found.time:.3f} s)"
    advice = "guide it longer or push nearer to its axis"
    if found.margin <= 1.0:
        return f"Slide {name} BINDS: {figures}; {advice}"
    if found.margin < TIGHT:
        return f"Slide {name} is near binding: {figures}; {advice}"
    return f"Slide {name}: {figures}"


@LOADS.add
def stops(run: Run) -> Section | None:
    """What each stop that is met bears at half and at double its stiffness, and the highest joint then."""
    if run.other_stops is None:
        return None
    lines, data = [], {}
    met = [p for p in run.loads.stops if p.value > 0.0]
    highest = [run.loads.worst_joint] if run.loads.worst_joint is not None else []
    for peak in (*met, *highest):
        soft, stiff = (next(p for p in all_peaks(o) if p.key == peak.key).value for o in run.other_stops)
        lines.append(
            f"{peak.sort.capitalize()} {peak.name}: {number(peak.value)} {peak.unit}; {number(soft)} with stops of "
            f"half their stiffness, {number(stiff)} with double"
        )
        data[peak.key] = {"as_stated": peak.value, "half": soft, "double": stiff}
    said = "How stiff a stop is, is known to a factor at best: these runs tell what hangs on it."
    return Section("stops", "", [*_items(lines), said], lines, {"stop_stiffness": data})


@LOADS.add
def bending(run: Run) -> Section | None:
    """Peaks of a run in which something bends or gives beside those of the same run as if rigid."""
    if run.rigid is None:
        return None
    own = {p.key: p for p in all_peaks(run.rigid)}
    rows: list[tuple[Cell, ...]] = []
    data = {}
    for peak in (p for p in all_peaks(run.loads) if p.key in own and p.sort != "member"):
        rigid = own[peak.key].value
        if max(peak.value, rigid) < NOTHING:
            continue
        factor = peak.value / rigid if rigid > NOTHING else None
        what = peak.key.removeprefix("joint.").replace(".", " ")
        values = [Amount(v, peak.unit, f"{number(v)} {peak.unit}") for v in (peak.value, rigid)]
        rows.append((what, *values, "-" if factor is None else f"{factor:.2f}"))
        data[peak.key] = {"bending": peak.value, "rigid": rigid, "factor": factor}
    table = Table(("peak", "bending", "rigid", "factor"), rows)
    title = "Bending against rigid"
    return Section("bending", title, [table], (), {"bending_against_rigid": data})


@LOADS.add
def motion(run: Run) -> Section | None:
    """What was driven and didn't move as far as it could, and a start pose that floats or sinks."""
    lines = [*(n for n in run.assembly.notes if "in the start pose" in n), *verdicts(run.loads)]
    return Section("motion", "", _items(lines), data={"motion": lines}) if lines else None


@LOADS.add
def ringing_section(run: Run) -> Section | None:
    """Of a run of rigid bodies: which of them would have rung in it."""
    if not run.ringing:
        return None
    said = (
        "As held and loaded in the start pose, all other bodies rigid; `rings` where its own swing in this motion "
        "changes its bending by more than a tenth."
    )
    data: dict[str, Any] = {
        r.body: {
            "frequency_Hz": None if math.isinf(r.frequency) else r.frequency,
            "damping_ratio": r.damping,
            "swing_over_still": r.ratio,
            "drive_turns_per_s": r.turns,
            "rings": r.rings,
        }
        for r in run.ringing
    }
    line = ringing_line(run.ringing)
    blocks: list[Block] = [line, ringing_table(run.ringing), said]
    return Section("ringing", "Rigid or not", blocks, [line], {"ringing": data})


@LOADS.add
def second(run: Run) -> Section | None:
    """Each peak beside that of another engine, where a second opinion was asked for."""
    if run.second is None:
        return None
    engines = (run.recording.engine, run.second.recording.engine)
    pairs = side_by_side(run.loads, run.second.loads)
    rows: list[tuple[Cell, ...]] = []
    for pair in pairs:
        if max(pair.one.value, pair.two.value) < NOTHING:
            continue
        unit = pair.one.unit
        what = pair.key.removeprefix("joint.").replace(".", " ")
        flag = f" FLAGGED: {pair.reason}" if pair.flagged else ""
        values = [Amount(p.value, unit, f"{number(p.value)} {unit}") for p in (pair.one, pair.two)]
        rows.append((what, *values, f"{100 * pair.difference:.2f} %{flag}"))
    data = {
        "engines": engines,
        "peaks": {
            p.key: {
                "values": [p.one.value, p.two.value],
                "difference": p.difference,
                "reason": p.reason or None,
            }
            for p in pairs
        },
    }
    said = "Two engines step the same laws; the loads of both come from one load solver, over each one's own motion."
    for own in (run, run.second):
        if own.own:
            share = max(row.share for row in own.own)
            said += (
                f" {own.recording.engine.capitalize()} solves for joint forces itself: they differ from those loads by "
                f"at most {100 * share:.2g} % of the largest peak."
            )
    blocks: list[Block] = [Table(("peak", *engines, "difference"), rows), said]
    return Section("second", "Second opinion", blocks, data={"second_opinion": data})


@LOADS.add
def trust(run: Run) -> Section:
    """How well the run adds up, what rigid bodies leave open, and what was derived or assumed."""
    loads = run.loads
    lines = [*audit_lines(run), *shared_lines(run), *rubbing_lines(run), *run.assembly.notes]
    data = {
        "energy": vars(loads.energy),
        "unbalanced_share": loads.wrenches.unbalanced,
        "own_forces": {
            row.joint: {"force": row.force, "moment": row.moment, "share": row.share} for row in run.own
        },
        "notes": list(run.assembly.notes),
    }
    return Section("trust", "How far to trust this", _items(lines), data=data)


def beware(run: Run) -> Section:
    """What to beware of, from what the prop has."""
    return Section("cautions", "Cautions", [Items(run.cautions)], data={"cautions": list(run.cautions)})


LOADS.add(beware)


def _items(lines: list[str]) -> list[Items]:
    return [Items(lines)] if lines else []


def _peak(peak: Peak) -> dict[str, Any]:
    band = peak.band
    return {
        "value": peak.value,
        "unit": peak.unit,
        "time_s": peak.time,
        "drive_angle_rad": peak.angle,
        "band": None if band is None else band.change,
        "settled": None if band is None else band.settled,
        "range": peak.range,
        "start": None if peak.jolt is None else _peak(peak.jolt),
    }


def _slide(found: Binding) -> dict[str, Any]:
    """A binding margin for JSON; null is 'not computed', or 'can't bind' as `reason` says."""
    endless = found.margin is not None and math.isinf(found.margin)
    return {
        "margin": found.margin,
        "locking_friction": found.locking,
        "present_friction": found.present,
        "time_s": None if endless else found.time,
        "reason": "what pushes it doesn't press it sideways" if endless else found.reason or None,
    }
