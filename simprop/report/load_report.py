"""Loads of a run as rows, Markdown and JSON: the same numbers everywhere."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from simprop.loads.agreement import Pair
from simprop.loads.energy import Energy
from simprop.loads.joints import JointLoads, MotorLoad, Peak
from simprop.quantities import show
from simprop.report.touching import as_data, binding_line, rubbing_lines
from simprop.run.run import Run

NOTHING = 1e-6
"""A peak under this is nought (rounding), N or N*m."""


@dataclass(frozen=True)
class Row:
    """One joint as text: peak force and moment, each with its band, when, and at which angle."""

    joint: str
    force: str
    moment: str
    time: str
    angle: str


def with_band(peak: Peak, kind: str) -> str:
    """A peak and its numerical band, rounded up to the last digit shown, such as ``41.2 ±0.1 N``.

    Says so when the peak has not settled, or when there is no band because only one step was run.

    Args:
        peak: the peak.
        kind: ``force`` or ``torque``.
    """
    unit = "N" if kind == "force" else "N*m"
    if peak.value < NOTHING:
        return "0"
    text = number(peak.value)
    if peak.band is None:
        return f"{text} {unit} (no band)"
    decimals = len(text.partition(".")[2])
    band = max(math.ceil(peak.band.change * 10**decimals - 1e-6), 1) / 10**decimals
    unsettled = "" if peak.band.settled else " NOT SETTLED"
    return f"{text} ±{band:.{decimals}f} {unit}{unsettled}"


def number(value: float, digits: int = 3) -> str:
    """A number with so many significant digits and no exponent where it can be read without.

    Example:
        >>> number(0.0), number(1234.5), number(0.01234)
        ('0', '1234', '0.0123')
    """
    if value == 0 or abs(value) < 5e-7:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{min(decimals, 6)}f}"


def angle_text(loads: JointLoads, peak: Peak) -> str:
    """Where the first motor's joint stood at a peak, within one turn; "-" without a motor."""
    if peak.angle is None:
        return "-"
    motor = loads.recording.assembly.rig.motors
    first = next(iter(motor.values()))
    names = [j.name for j in loads.recording.assembly.joints]
    index = names.index(first.joint)
    motion = next(a.motion for a in loads.recording.assembly.axes if a.joint == index)
    if motion == "slide":
        return show(peak.angle, "length")
    return f"{math.degrees(peak.angle) % 360:.0f} deg"


def joint_rows(loads: JointLoads) -> list[Row]:
    """One row a joint, highest peak force first."""
    rows = []
    for force, moment in loads.joints:
        rows.append(
            Row(
                force.name,
                with_band(force, "force"),
                with_band(moment, "torque"),
                f"{force.time:.3f} s",
                angle_text(loads, force),
            )
        )
    return rows


def headline(loads: JointLoads) -> str:
    """The highest-loaded joint in one sentence."""
    worst = loads.worst
    if worst is None:
        return "No joints, no joint loads."
    where = angle_text(loads, worst)
    at = "" if where == "-" else f", with the drive at {where}"
    return f"Highest load: joint {worst.name}, {with_band(worst, 'force')} at {worst.time:.3f} s{at}"


def motor_line(load: MotorLoad) -> str:
    """A motor's peak beside what it can give."""
    text = f"Motor {load.name}: peak {with_band(load.peak, 'torque')}"
    text += (
        " of no stated limit"
        if load.able is None
        else f" of {number(load.able)} N*m it can give {'in a pulse' if load.pulsed else 'at standstill'}"
    )
    if load.current is not None:
        able = "no stated limit" if load.current_able is None else f"{number(load.current_able)} A"
        told = "in its pulses (the limit of the supply acts on their mean)" if load.pulsed else f"of {able}"
        text += f"; peak current {number(load.current)} A {told}"
    return text


def energy_line(found: Energy) -> str:
    """Where the energy of the run went, in one sentence."""
    if found.share is None:
        return "Energy: not audited, nothing moved enough to exchange any."
    parts = [("motors gave", found.motor), ("gravity gave", found.gravity), ("springs gave", found.spring)]
    taken = [
        ("friction took", -found.friction),
        ("damping took", -found.damping),
        ("stops took", -found.stop),
        ("contacts and play took", -found.contact),
    ]
    said = [
        f"{what} {number(value)} J" for what, value in [*parts, *taken] if abs(value) > 1e-3 * found.exchanged
    ]
    return (
        f"Energy: {', '.join(said)}; {number(found.kinetic)} J more motion at the end;"
        f" {100 * found.share:.2g} % unexplained."
    )


def audit_lines(loads: JointLoads) -> list[str]:
    """How well the run adds up, one sentence each."""
    lines = []
    for motor in loads.motors:
        if motor.difference is None:
            lines.append(
                f"Motor {motor.name}: the mechanism doesn't let its load be recovered from the motion; not audited."
            )
        else:
            lines.append(
                f"Motor {motor.name}: load recovered from the motion differs from its law by at most "
                f"{100 * motor.difference:.2g} % of the peak."
            )
    lines.append(
        f"Largest imbalance left in the equations of motion: {100 * loads.wrenches.unbalanced:.2g} % "
        "of the largest load."
    )
    lines.append(energy_line(loads.energy))
    track = loads.recording.track
    lines.append(
        f"Engine {loads.recording.engine}, step {track.step * 1000:.4g} ms, {len(track.time)} steps."
    )
    return lines


def shared_lines(loads: JointLoads) -> list[str]:
    """Which components rigid bodies don't determine, and the convention used for them."""
    names = [j.name for j in loads.recording.assembly.joints]
    found = [f"{name}: {words}" for name, words in zip(names, loads.wrenches.shared, strict=True) if words]
    if not found:
        return []
    return [
        "Over-constrained: rigid bodies don't determine how the joints share these; they are left out of the peaks "
        "(the recorded wrenches share them as equally stiff joints would): " + "; ".join(found) + "."
    ]


def pair_rows(pairs: Sequence[Pair]) -> list[tuple[str, str, str, str]]:
    """Peaks of two engines as text: what, by the first, by the second, difference (with the reason when flagged)."""
    rows = []
    for pair in pairs:
        if max(pair.one.value, pair.two.value) < NOTHING:
            continue
        unit = "N" if pair.one.kind == "force" else "N*m"
        what = pair.key.removeprefix("joint.").replace(".", " ")
        difference = f"{100 * pair.difference:.2f} %" + (f" FLAGGED: {pair.reason}" if pair.flagged else "")
        rows.append(
            (what, f"{number(pair.one.value)} {unit}", f"{number(pair.two.value)} {unit}", difference)
        )
    return rows


def markdown(
    run: Run,
    pairs: Sequence[Pair] = (),
    engines: tuple[str, str] = ("", ""),
    warnings: Sequence[str] = (),
) -> str:
    """The load report as Markdown; `pairs` adds the peaks of a second engine, `warnings` stand under the motors."""
    loads, rig = run.loads, run.rig
    lines = [f"# {rig.name}: loads", "", rig.about, "", f"**{headline(loads)}.**", ""]
    lines += ["| joint | peak force | peak moment | force peak at | drive at |", "|---|---|---|---|---|"]
    lines += [f"| {r.joint} | {r.force} | {r.moment} | {r.time} | {r.angle} |" for r in joint_rows(loads)]
    lines += ["", "The band behind ± is how far the peak moved when the time step was last halved.", ""]
    lines += [f"- {motor_line(m)}" for m in loads.motors]
    lines += [
        f"- Stop {s.name}: peak {with_band(s, 'torque' if s.kind == 'moment' else 'force')} at {s.time:.3f} s"
        for s in loads.stops
    ]
    lines += [f"- Contact {c.name}: peak {with_band(c, 'force')} at {c.time:.3f} s" for c in loads.contacts]
    lines += [f"- {binding_line(b)}" for b in run.binding]
    lines += [f"- {w}" for w in warnings]
    lines += ["", "![loads over time](loads.png)", "", "## How far to trust this", ""]
    lines += [f"- {line}" for line in audit_lines(loads) + shared_lines(loads) + rubbing_lines(loads)]
    lines += [f"- {note}" for note in loads.recording.assembly.notes]
    if pairs:
        lines += [
            "",
            "## Second opinion",
            "",
            f"| peak | {engines[0]} | {engines[1]} | difference |",
            "|---|---|---|---|",
        ]
        lines += ["| " + " | ".join(row) + " |" for row in pair_rows(pairs)]
    lines += ["", "## Cautions", ""] + [f"- {c}" for c in run.cautions] + [""]
    return "\n".join(lines)


def _peak(peak: Peak) -> dict[str, Any]:
    band = peak.band
    return {
        "value": peak.value,
        "unit": "N" if peak.kind == "force" else "N*m",
        "time_s": peak.time,
        "drive_angle_rad": peak.angle,
        "band": None if band is None else band.change,
        "settled": None if band is None else band.settled,
    }


def as_json(run: Run) -> str:
    """The load report as JSON, SI; null is 'not computed'."""
    loads, recording = run.loads, run.recording
    data = {
        "rig": recording.assembly.rig.name,
        "engine": recording.engine,
        "step_s": recording.track.step,
        "steps": len(recording.track.time),
        "highest": None if loads.worst is None else loads.worst.name,
        "joints": {
            force.name: {"force": _peak(force), "moment": _peak(moment), "not_determined": words or None}
            for force, moment in loads.joints
            for words in [
                loads.wrenches.shared[[j.name for j in recording.assembly.joints].index(force.name)]
            ]
        },
        "motors": {
            m.name: {
                "load": _peak(m.peak),
                "able_at_standstill": m.able,
                "current_A": m.current,
                "supply_A": m.current_able,
                "audit_difference": m.difference,
            }
            for m in loads.motors
        },
        "stops": {s.name: _peak(s) for s in loads.stops},
        "contacts": {c.name: _peak(c) for c in loads.contacts},
        "binding": {b.joint: as_data(b) for b in run.binding},
        "energy": vars(loads.energy),
        "unbalanced_share": loads.wrenches.unbalanced,
        "notes": list(recording.assembly.notes),
        "cautions": list(run.cautions),
    }
    return json.dumps(data, indent=2) + "\n"
