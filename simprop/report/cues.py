"""Cue sheet and controller settings: what happens when, what the controller is set to, how long to run and rest."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from simprop.engine.acting.program import Script
from simprop.making.wiring import wiring
from simprop.report.figures import number
from simprop.report.order import name_of
from simprop.report.structure import Block, Items, Section, Strong, Table
from simprop.run.run import Run
from simprop.sizing import heat
from simprop.sizing.cue_sheet import CueRow, cue_rows
from simprop.sizing.remarks import over_time, runs
from simprop.sizing.sizing import MotorSize
from simprop.strength.setting import setting_of

MOST = 60
"""Rows of the sheet that the notes show."""


def cue_sheet(run: Run) -> Section | None:
    """The cue sheet with the settings of the controller, and run and rest times; None where nothing is driven."""
    script = run.laws.script
    if script is None or not script.drives:
        return None
    told = wiring(run).controller
    rows = cue_rows(script)
    blocks: list[Block] = []
    if rows:
        shown = [_row(r) for r in rows[:MOST]]
        blocks.append(Table((">at", "scene", "output", "does", "note"), shown))
        if len(rows) > MOST:
            blocks.append(f"and {len(rows) - MOST} more, see `simprop cues`")
    else:
        blocks.append("No cues: it runs as long as it has power.")
    scenes = [*_scenes(run, script)]
    if scenes:
        blocks += [Strong("Scenes"), Items(scenes)]
    if told is not None and told.outputs:
        outputs = [
            f"output {k}, {name_of(name)}: {_setting(script, name)}" for k, name in enumerate(told.outputs, 1)
        ]
        blocks += [Strong("Settings of the controller"), Items(outputs)]
    blocks += [Strong("Run and rest, and why"), Items([*_resting(run, script)])]
    return Section("cues", "Cue sheet and controller settings", blocks)


def _row(row: CueRow) -> tuple[str, ...]:
    does = row.action
    if row.value:
        does += f"{', jaw opens' if row.action == 'sound' else ''} {row.value} {row.unit}"
    if row.over:
        does += f" over {row.over} s"
    output = name_of(row.output) if row.output else "-"
    return (f"{row.time:.2f} s", name_of(row.scene) if row.scene else "-", output, does, row.note or "-")


def _scenes(run: Run, script: Script) -> Iterator[str]:
    cues = run.rig.cues
    if cues is None:
        return
    for name, scene in cues.scenes.items():
        when = {
            "start": "once, when the show starts",
            "loop": "again and again",
            "random": f"at odd times, every {number(scene.every)} s on average and never within {number(scene.least)} s"
            if scene.every is not None
            else "",
        }.get(scene.when, f"started by {scene.when}")
        rest = f"; then it rests {number(scene.rest)} s, whatever comes" if scene.rest else ""
        yield f"{name_of(name)}: {when}{rest}"
        if scene.at:
            times = ", ".join(f"{t:g} s" for t in scene.at)
            yield f"{name_of(name)}: in the sheet above it is started at {times}, as an example"
            if not scene.rest:
                yield f"{name_of(name)}: no rest is stated, so a crowd starts it again as soon as it ends"
    for lock in cues.interlocks:
        only = [f"{name_of(n)} is on" for n in lock.while_on] + [
            f"{name_of(n)} is off" for n in lock.while_off
        ]
        yield f"{name_of(lock.hold)} only while {' and '.join(only)}: build it into the wiring too, by a contact"
    if cues.stop is not None:
        yield f"everything is switched off at {cues.stop:g} s"


def _setting(script: Script, name: str) -> str:
    """What an output is set to."""
    drive = script.drives[name]
    actions = dict.fromkeys(e.action for e in script.events if e.output == name)
    found = [f"told {', '.join(actions)}"] if actions and not drive.figures.follows else []
    if drive.pwm is not None:
        duty = f"{100 * drive.pwm.duty:g} % unless a cue says otherwise"
        found.append(f"pulses at {number(drive.pwm.frequency)} Hz, {duty}")
    if drive.figures.follows:
        found.append(
            "angles count from the start pose of the drawing: put the horn on there, with the servo in its middle"
        )
    if drive.reverse:
        found.append("wires swapped: it runs the other way than its class")
    if drive.figures.facts:
        found.append(drive.figures.facts)
    return "; ".join(found) or "on and off"


def _resting(run: Run, script: Script) -> Iterator[list[str]]:
    setting = setting_of(run.rig)
    air = run.rig.temperature if run.rig.temperature is not None else 20.0
    for size in run.sizes(setting.hours, air):
        name = name_of(size.work.drive.name)
        why = [text for text in _why(size) if text not in run.cautions]
        yield [f"{name}: {_on(script, size)}", *why]
    if setting.runs_per_hour is not None:
        length = run.rig.run.duration
        pause = 3600 / setting.runs_per_hour - length
        said = (
            f"at least {pause:.0f} s between the end of one and the next"
            if pause > 0
            else "one after the other"
        )
        yield [
            f"{setting.runs_per_hour:g} runs an hour",
            f"lives and heat are those of {setting.runs_per_hour:g} runs of {length:g} s an hour: {said}",
        ]


def _on(script: Script, size: MotorSize) -> str:
    """How long a drive is on, in the run and in what it is planned for."""
    stretches = runs(size.work.drive)
    if not stretches:
        return "is never on in this run"
    planned, whole = over_time(script, size.work.drive, stretches)
    most = max(b - a for a, b in planned)
    share = sum(b - a for a, b in planned) / whole
    often = f"{len(planned)} times in" if len(planned) > 1 else "once in"
    if size.work.drive.figures.follows and share > 0.999:
        return "under power as long as its supply is on, also while it holds still"
    return f"on {often} {_span(whole)}, {_span(most)} at the longest, {100 * share:.0f} % of the time"


def _span(seconds: float) -> str:
    """A stretch of time; a short one to two digits."""
    return f"{number(seconds, 2)} s" if seconds < 9.95 else heat.span(seconds)


def _why(size: MotorSize) -> Iterator[str]:
    """What its heat allows, and what else there is to know."""
    warm = size.heat
    if warm is not None:
        top = warm.ambient + warm.evening.winding
        yield (
            f"heat: {top:.0f} degC of {warm.limit:.0f} in the winding after {warm.hours:g} h at {warm.ambient:g} degC; "
            f"longest run without a pause {heat.span(warm.longest)}"
            if isfinite(top) and top < 1000
            else f"heat: TOO HOT after {heat.span(warm.evening.time_to_limit)}; longest run {heat.span(warm.longest)}"
        )
        if warm.rest > 0:
            rest = heat.span(warm.rest) if isfinite(warm.rest) else "no rest is long enough"
            yield f"rest after each run: {rest}"
    elif size.continuous is not None:
        yield f"heat: {size.continuous}"
    elif size.work.drive.figures.electric:
        yield "heat: not computed, its class has no thermal data"
    yield from size.remarks
