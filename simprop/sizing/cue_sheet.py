"""The cue sheet of a rig: what happens when, as rows, as a CSV that any controller can be programmed from,
as bars."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from simprop.engine.acting.program import Script, loudness
from simprop.laws.cues import Event, Signal, on_times
from simprop.laws.speech import Spoken, speak

COLUMNS = ("time_s", "scene", "output", "action", "value", "unit", "over_s", "note")


@dataclass(frozen=True)
class CueRow:
    """One line of the sheet: time s, scene, output, action, value with its unit, time it takes s, note."""

    time: float
    scene: str
    output: str
    action: str
    value: str
    unit: str
    over: str
    note: str


def cue_rows(script: Script) -> tuple[CueRow, ...]:
    """Everything the controller does in the rig's run, in order; triggers and what interlocks held back too.

    Args:
        script: what the controller does; without cues, the rig's `on` windows.
    """
    rows = [_row(e) for e in script.events]
    for name, drive in script.drives.items():
        for begin, end in drive.on or ():
            rows.append(CueRow(begin, "", name, "on", "", "", "", ""))
            rows.append(CueRow(end, "", name, "off", "", "", "", ""))
    return tuple(sorted(rows, key=lambda r: r.time))


def _row(event: Event) -> CueRow:
    value = unit = over = ""
    if event.action == "speed":
        value, unit = f"{100 * event.value:g}", "%"
    elif event.action == "pose":
        value, unit, over = f"{np.degrees(event.value):.6g}", "deg", f"{event.over:g}"
    elif event.action == "sound" and event.value:
        value, unit = f"{np.degrees(event.value):.6g}", "deg"
    return CueRow(event.time, event.scene, event.output, event.action, value, unit, over, event.text)


def cues_csv(script: Script) -> str:
    """The sheet as CSV: one header line, times in seconds to the millisecond, lines ended by a single
    newline.

    The first line names seed and length of the show in a comment that starts with ``#``.
    """
    rig = script.rig
    stop = "" if rig.cues is None or rig.cues.stop is None else f"; stop at {rig.cues.stop:g} s"
    return as_csv(f"{rig.name}; length {rig.run.duration:g} s; seed {rig.run.seed}{stop}", cue_rows(script))


def as_csv(head: str, rows: Iterable[CueRow]) -> str:
    """Lines of a sheet as CSV, under a comment.

    Args:
        head: what the comment says.
        rows: the lines, in their order.
    """
    out = io.StringIO()
    out.write(f"# {head}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for r in rows:
        writer.writerow([f"{r.time:.3f}", r.scene, r.output, r.action, r.value, r.unit, r.over, r.note])
    return out.getvalue()


@dataclass(frozen=True)
class Track:
    """One output over the run, to be drawn beside the motion.

    Attributes:
        name: of the output.
        bars: (start s, end s, share of full voltage -1 to 1) while it is on.
        pose: where a servo is told to be, rad; None for other outputs.
        sounds: (start s, length s, file).
    """

    name: str
    bars: tuple[tuple[float, float, float], ...]
    pose: Signal | None
    sounds: tuple[tuple[float, float, str], ...]


def tracks(script: Script) -> tuple[Track, ...]:
    """What each output is told over the run; sounds without a jaw come last under ``sound``."""
    end = script.rig.run.duration
    found = []
    for name, command in script.commands.items():
        bars: tuple[tuple[float, float, float], ...] = ((0.0, end, 1.0),)
        if command.drive is not None:
            bars = _bars(command.drive, end)
        elif command.pose is not None:
            bars = ()
        found.append(Track(name, bars, command.pose, _sounds(script, name)))
    free = _sounds(script, "")
    return (*found, Track("sound", (), None, free)) if free else tuple(found)


def _bars(signal: Signal, end: float) -> tuple[tuple[float, float, float], ...]:
    found: list[tuple[float, float, float]] = []
    for begin, stop, share in zip(signal.times, [*signal.times[1:], end], signal.values, strict=True):
        if share == 0 or begin >= end or stop <= begin:
            continue
        if found and found[-1][1:] == (begin, share):
            begin = found.pop()[0]
        found.append((begin, min(stop, end), share))
    return tuple(found)


def _sounds(script: Script, name: str) -> tuple[tuple[float, float, str], ...]:
    return tuple(
        (e.time, float(loudness(script.rig, e.text).time[-1]), e.text)
        for e in script.events
        if e.action == "sound" and e.output == name
    )


def duty(script: Script, name: str) -> float:
    """Share of the run that a drive is on, 0 to 1."""
    signal, duration = script.commands[name].drive, script.rig.run.duration
    return 1.0 if signal is None else sum(b - a for a, b in on_times(signal, duration)) / duration


@dataclass(frozen=True)
class Jaw:
    """How well one servo follows one sound."""

    servo: str
    file: str
    spoken: Spoken


def jaws(script: Script) -> tuple[Jaw, ...]:
    """How well each jaw of the rig follows its sound, without load, from its supply's voltage.

    Raises:
        RigError: when a sound can't be read.
    """
    rig, found = script.rig, []
    for scene in rig.cues.scenes.values() if rig.cues is not None else ():
        for cue in scene.do:
            told = cue.told()
            if cue.WHO != "jaw" or not told.output:
                continue
            motor = rig.motors[told.output]
            law = motor.figures.position_law()
            if law is not None:
                volts = None if motor.supply is None else motor.supply.voltage
                spoken = speak(law, loudness(rig, told.text), told.value, volts)
                found.append(Jaw(told.output, told.text, spoken))
    return tuple(found)
