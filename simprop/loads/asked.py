"""What the drives of a run asked of their shared supplies, so that others can be run beside them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.engine.acting.stepper import LineDrive, commanded, motor_load
from simprop.geometry.arrays import Array
from simprop.laws.cues import read
from simprop.laws.supply import Beside, Load
from simprop.recording import Recording


def asked(recording: Recording) -> dict[str, Beside]:
    """What the drives of a run asked of each supply that has a name, row by row.

    It is worked out again from the recorded motion: a motor asks by its speed and the share of the voltage that it is
    told, a straight drive by its own state, which is led along the recorded lengths and voltages.

    Args:
        recording: a run.
    """
    laws, track = recording.laws, recording.track
    time: list[float] = track.time.tolist()
    coordinate, rate = track.coordinate.tolist(), track.rate.tolist()
    rows: list[list[list[Load]]] = [[[] for _ in time] for _ in laws.sources]
    for m in laws.controlled:
        own = rows[m.control.source]
        for k, now in enumerate(time):
            part = commanded(m, now, coordinate[k], rate[k])
            own[k].append(motor_load(m, part, m.sense * rate[k][m.axis]))
    for drive in laws.line_drives:
        if drive.source >= 0:
            for row, load in zip(rows[drive.source], _drawn(recording, drive), strict=True):
                row += load
    return {
        source.name: Beside(tuple(time), tuple(tuple(row) for row in own))
        for source, own in zip(laws.sources, rows, strict=True)
        if source.name
    }


def _drawn(recording: Recording, drive: LineDrive) -> list[tuple[Load, ...]]:
    """What a straight drive asked in each row."""
    track = recording.track
    length = np.linalg.norm(track.line_end[:, drive.line] - track.line_start[:, drive.line], axis=1)
    state = drive.mounted.law.begin(drive.mounted.mounting)
    found: list[tuple[Load, ...]] = []
    columns: Sequence[Array] = (
        track.time,
        length,
        _rates(track.time, length),
        track.voltage[:, drive.column],
    )
    for now, long, lengthening, volts in zip(*(c.tolist() for c in columns), strict=True):
        share = drive.sense * (1.0 if drive.signal is None else read(drive.signal, now))
        load = state.draw(share) if share != 0.0 else None
        found.append(() if load is None else (load,))
        state.tension(now, long, lengthening, track.step, volts if share != 0.0 else None)
    return found


def _rates(time: Array, values: Array) -> Array:
    """Rate of change, (n,) 1/s; 0 of a single row."""
    return np.gradient(values, time) if len(time) > 1 else np.zeros(len(time))
