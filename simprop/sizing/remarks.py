"""What a builder should know about a drive beyond its margin: hum, allowed pulses and duty, slam, weak
voltage, speech."""

from __future__ import annotations

from math import isfinite

import numpy as np

from simprop.drives.kinds import Motor, SynchronousMotor, figures_of
from simprop.engine.acting.program import program
from simprop.engine.acting.straight import Screw
from simprop.laws import actuator, pneumatic, pwm, speech
from simprop.laws.cues import drive_signal, expand, on_times
from simprop.recording import Recording
from simprop.rig.model import Rig
from simprop.sizing.cue_sheet import jaws
from simprop.sizing.curves import MOST_VOLTAGE
from simprop.sizing.work import Drive, Work

LOW_VOLTAGE, LOW_SHARE = 3.5, 0.5
"""At so low a voltage a peak over this share of the stall torque may keep a real, cold gear from starting
(assumed)."""


def remarks(recording: Recording, did: Work) -> tuple[str, ...]:
    """One sentence for each thing to know about a drive.

    Args:
        recording: the run.
        did: what the drive did.
    """
    drive, laws = did.drive, recording.laws
    found: list[str] = []
    rated = getattr(figures_of(drive.spec.motor), "rated_voltage", None)
    if rated is not None and drive.spec.supply is not None and drive.source.voltage > MOST_VOLTAGE * rated:
        found.append(f"{drive.source.voltage:g} V is too much for it: it is made for {rated:g} V")
    if isinstance(drive.spec, Motor):
        if drive.spec.pwm is not None:
            found += _pulses(drive, drive.spec)
        asked = 1 - did.margin if isfinite(did.margin) and drive.line is not None else 0.0
        if drive.source.voltage <= LOW_VOLTAGE and asked > LOW_SHARE:
            found.append(
                f"asks {100 * asked:.0f} % of what {drive.source.voltage:g} V can give: cold grease may keep it "
                "from starting"
            )
        if isinstance(figures_of(drive.spec.motor), SynchronousMotor):
            found.append(
                "a small mains motor takes about the same current stalled as running, so stalling doesn't burn it "
                "(usual of the kind, from memory)"
            )
        found += [
            f"{jaw.file}: {speech.verdict(jaw.spoken)}"
            for jaw in jaws(recording.assembly.rig)
            if jaw.servo == drive.name
        ]
        return tuple(found)
    line = next(k for k, item in enumerate(laws.lines) if item.name == drive.name)
    law = next(p.fed.law for p in laws.pushing if p.line == line)
    stretches = runs(drive, recording.track.time)
    if isinstance(law, Screw):
        found += actuator.duty_faults(law.figures, *over_time(recording.assembly.rig, drive, stretches))
    elif isinstance(law, actuator.PulseActuator):
        faults = (actuator.pulse_fault(law, end - begin) for begin, end in stretches)
        found += list(dict.fromkeys(f for f in faults if f is not None))
    elif isinstance(law, pneumatic.Cylinder):
        found += _slam(recording, line, law)
    return tuple(found)


def runs(drive: Drive, time: np.ndarray) -> list[tuple[float, float]]:
    """Start and end of each stretch in which a drive is on, s."""
    on = drive.on > 0
    step = float(time[1] - time[0]) if len(time) > 1 else 0.0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]])))
    return [(float(time[a]), float(time[b - 1]) + step) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def over_time(
    rig: Rig, drive: Drive, stretches: list[tuple[float, float]]
) -> tuple[list[tuple[float, float]], float]:
    """A drive's runs and the time they belong to: an hour of the cues where they loop or come at random,
    else the run.

    Args:
        rig: the rig.
        drive: one of its drives.
        stretches: of the run, s.
    """
    plan = program(rig)
    if plan is None or all(s.trigger.kind not in ("loop", "random") for s in plan.scenes):
        return stretches, rig.run.duration
    signal = drive_signal(expand(plan, 3600.0), drive.name)
    return (list(on_times(signal, 3600.0)), 3600.0) if signal.times else (stretches, rig.run.duration)


def pulse_heat(drive: Drive) -> float:
    """How much more a pulsed motor's winding heats than with a smooth current of the same mean; 1 without
    pulses.

    At the mean speed and duty of the run.
    """
    spec = drive.spec
    on = drive.on > 0
    if not isinstance(spec, Motor) or spec.pwm is None or drive.line is None or not on.any():
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


def _pulses(drive: Drive, spec: Motor) -> list[str]:
    assert spec.pwm is not None
    found = []
    hum = pwm.hum(spec.pwm.frequency)
    if hum is not None:
        found.append(hum)
    factor = pulse_heat(drive)
    if factor > 1.05:
        found.append(f"rippled current heats the winding {factor:.2g} times as much as a smooth one")
    return found


def _slam(recording: Recording, line: int, law: pneumatic.Cylinder) -> list[str]:
    """How hard a cylinder meets its end, and the caution that goes with compressed air."""
    track = recording.track
    length = np.linalg.norm(track.line_end[:, line] - track.line_start[:, line], axis=1)
    rate = np.gradient(length, track.time) if len(length) > 1 else np.zeros(len(length))
    push = float(np.abs(track.line_force[:, line]).max())
    static = pneumatic.extend_force(law.bore, law.supply - pneumatic.ATMOSPHERE)
    found = [f"moves at up to {np.abs(rate).max():.2g} m/s"]
    if push > 1.1 * static:
        found.append(
            f"slams: up to {push:.3g} N at the end of its stroke (its cushion counted), {push / static:.2g} times its "
            f"static {static:.3g} N"
        )
    return [*found, pneumatic.CAUTION]
