"""What a builder should know about a drive beyond its margin: hum, allowed pulses and duty, slam, weak
voltage, speech."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isfinite

import numpy as np

from simprop.drives.base import Use
from simprop.engine.acting.program import Script
from simprop.laws import pwm, speech
from simprop.laws.cues import drive_signal, expand, on_times
from simprop.loads.driving import DriveRows
from simprop.sizing.cue_sheet import Jaw
from simprop.sizing.work import Work

LOW_VOLTAGE, LOW_SHARE = 3.5, 0.5
"""At so low a voltage a peak over this share of the stall torque may keep a real, cold gear from starting
(assumed)."""


def remarks(script: Script, jaws: Sequence[Jaw], did: Work) -> tuple[str, ...]:
    """One sentence for each thing to know about a drive."""
    drive, volts = did.drive, did.drive.source.voltage
    figures, found = drive.figures, []
    if drive.spec.supply is not None and figures.too_much(volts):
        found.append(f"{volts:g} V is too much for it: it is made for {figures.rated:g} V")
    found += _pulses(drive)
    asked = 1 - did.margin if isfinite(did.margin) and drive.line is not None else 0.0
    if drive.turns and volts <= LOW_VOLTAGE and asked > LOW_SHARE:
        found.append(
            f"asks {100 * asked:.0f} % of what {volts:g} V can give: cold grease may keep it from starting"
        )
    stretches = runs(drive)
    found += figures.remarks(Use(drive.seen, stretches, over_time(script, drive, stretches)))
    found += [f"{jaw.file}: {speech.verdict(jaw.spoken)}" for jaw in jaws if jaw.servo == drive.name]
    return tuple(found)


def runs(drive: DriveRows) -> list[tuple[float, float]]:
    """Start and end of each stretch in which a drive is on, s."""
    on, time = drive.on > 0, drive.seen.time
    step = float(time[1] - time[0]) if len(time) > 1 else 0.0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]])))
    return [(float(time[a]), float(time[b - 1]) + step) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def over_time(
    script: Script, drive: DriveRows, stretches: list[tuple[float, float]]
) -> tuple[list[tuple[float, float]], float]:
    """A drive's runs and the time they belong to: an hour of the cues where they loop, come at random, or are triggered
    and rest (triggered again as soon as they may be), else the run.

    Args:
        script: what the controller does.
        drive: one of its drives.
        stretches: of the run, s.
    """
    plan, duration = script.program, script.rig.run.duration
    if plan is None:
        return stretches, duration
    scenes = tuple(
        replace(s, trigger=replace(s.trigger, kind="loop"))
        if s.trigger.kind == "times" and s.trigger.rest > 0
        else s
        for s in plan.scenes
    )
    if all(s.trigger.kind not in ("loop", "random") for s in scenes):
        return stretches, duration
    signal = drive_signal(expand(replace(plan, scenes=scenes, stop=None), 3600.0), drive.name)
    return (list(on_times(signal, 3600.0)), 3600.0) if signal.times else (stretches, duration)


def pulse_heat(drive: DriveRows) -> float:
    """How much more a pulsed motor's winding heats than with a smooth current of the same mean; 1 without
    pulses.

    At the mean speed and duty of the run.
    """
    spec = drive.spec
    on = drive.on > 0
    if spec.pwm is None or drive.line is None or not on.any():
        return 1.0
    emf = max(0.0, drive.line.speed_constant * float(drive.speed[on].mean()))
    got = pwm.chopped(
        drive.source.voltage,
        emf,
        drive.line.resistance,
        spec.pwm.time_constant,
        duty=min(1.0, float(drive.share[on].mean())),
        frequency=spec.pwm.frequency,
    )
    return got.heat_factor if isfinite(got.heat_factor) else 1.0


def _pulses(drive: DriveRows) -> list[str]:
    if drive.spec.pwm is None:
        return []
    hum, factor = pwm.hum(drive.spec.pwm.frequency), pulse_heat(drive)
    found = [] if hum is None else [hum]
    if factor > 1.05:
        found.append(f"rippled current heats the winding {factor:.2g} times as much as a smooth one")
    return found
