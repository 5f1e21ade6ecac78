"""The cue sheet of a rig: what happens when, as rows, as a CSV that any controller can be programmed from,
as bars."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np

from simprop.cues.records import SoundCue
from simprop.drives.kinds import ServoMotor, figures_of
from simprop.engine.acting.program import events, loudness, told
from simprop.laws.cues import Event, Signal, on_times
from simprop.laws.speech import Spoken, speak
from simprop.rig.model import Rig

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


def cue_rows(rig: Rig) -> tuple[CueRow, ...]:
    """Everything the controller does in the rig's run, in order; triggers and what interlocks held back too.

    Args:
        rig: the rig; one without cues gives its `on` windows.
    """
    rows = [_row(e) for e in events(rig)]
    windows = [(name, m.on) for name, m in rig.motors.items()] + [(n, p.on) for n, p in rig.pushers.items()]
    for name, on in windows:
        for begin, end in on or ():
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


def cues_csv(rig: Rig) -> str:
    """The sheet as CSV: one header line, times in seconds to the millisecond, lines ended by a single
    newline.

    The first line names seed and length of the show in a comment that starts with ``#``.

    Args:
        rig: the rig.
    """
    out = io.StringIO()
    stop = "" if rig.cues is None or rig.cues.stop is None else f"; stop at {rig.cues.stop:g} s"
    out.write(f"# {rig.name}; length {rig.run.duration:g} s; seed {rig.run.seed}{stop}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for r in cue_rows(rig):
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


def tracks(rig: Rig, happenings: tuple[Event, ...]) -> tuple[Track, ...]:
    """What each output is told over the run; sounds without a jaw come last under ``sound``.

    Args:
        rig: the rig.
        happenings: what its controller does, of `simprop.engine.acting.program.events`.
    """
    end = rig.run.duration
    found = []
    for name in [*rig.motors, *rig.pushers]:
        said = told(rig, happenings, name)
        if said.drive is None and said.pose is not None:
            bars: tuple[tuple[float, float, float], ...] = ()
        elif said.drive is None:
            bars = ((0.0, end, 1.0),)
        else:
            bars = _bars(said.drive, end)
        found.append(Track(name, bars, said.pose, _sounds(rig, happenings, name)))
    free = _sounds(rig, happenings, "")
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


def _sounds(rig: Rig, happenings: tuple[Event, ...], name: str) -> tuple[tuple[float, float, str], ...]:
    return tuple(
        (e.time, float(loudness(rig, e.text).time[-1]), e.text)
        for e in happenings
        if e.action == "sound" and e.output == name
    )


def duty(rig: Rig, name: str) -> float:
    """Share of the run that a drive is on, 0 to 1."""
    said = told(rig, events(rig), name).drive
    if said is None:
        return 1.0
    return sum(b - a for a, b in on_times(said, rig.run.duration)) / rig.run.duration


@dataclass(frozen=True)
class Jaw:
    """How well one servo follows one sound."""

    servo: str
    file: str
    spoken: Spoken


def jaws(rig: Rig) -> tuple[Jaw, ...]:
    """How well each jaw of the rig follows its sound, without load, from its supply's voltage.

    Args:
        rig: the rig.

    Raises:
        RigError: when a sound can't be read.
    """
    from simprop.engine.acting.driving import servo_law

    found = []
    for scene in rig.cues.scenes.values() if rig.cues is not None else ():
        for cue in scene.do:
            if not isinstance(cue, SoundCue) or cue.jaw is None or cue.opening is None:
                continue
            motor = rig.motors[cue.jaw]
            figures = figures_of(motor.motor)
            if isinstance(figures, ServoMotor):
                volts = None if motor.supply is None else motor.supply.voltage
                spoken = speak(servo_law(figures), loudness(rig, cue.file), cue.opening, volts)
                found.append(Jaw(cue.jaw, cue.file, spoken))
    return tuple(found)
