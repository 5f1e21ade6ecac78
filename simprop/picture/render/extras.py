"""What can be written over a clip besides traces: load arrows, motor gauges, peak flashes and a cue strip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simprop.errors import one_of
from simprop.geometry.arrays import Array
from simprop.picture.render.exaggerate import carried
from simprop.picture.render.motion import between

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.laws.cues import Event, Signal
    from simprop.loads.driving import DriveRows
    from simprop.loads.joints import JointLoads
    from simprop.rig.model import Rig


@dataclass(frozen=True)
class Arrow:
    """A force that acts at a moving point.

    Attributes:
        label: what is written beside it, before the value.
        time: (n,) s.
        point: where it acts, (n, 3) m.
        force: (n, 3) N, world.
        scale: force that is drawn at full length, N; None: the largest of all arrows.
        note: what is written after the value.
    """

    label: str
    time: Array
    point: Array
    force: Array
    scale: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Gauge:
    """What a motor or pusher is asked for against what it can give.

    Attributes:
        name: of the drive.
        time: (n,) s.
        load: (n,) N*m or N.
        able: what it can give at standstill, same unit, or None.
        rate: (n,) rad/s or m/s.
        current: (n,) A, NaN where not known.
        turning: it turns (else it pushes).
        peak: of the load while it runs, same unit; None: not marked.
    """

    name: str
    time: Array
    load: Array
    able: float | None
    rate: Array
    current: Array
    turning: bool = True
    peak: float | None = None


@dataclass(frozen=True)
class Flash:
    """A peak that is pointed out while it happens: text such as ``peak: wrist 41 N``, when (s), where (3,) m."""

    text: str
    time: float
    point: Array | None


@dataclass(frozen=True)
class CueRow:
    """What one channel does and when: (start, end) windows, s."""

    name: str
    windows: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Extras:
    """All that is written over a clip besides traces.

    Attributes:
        arrows, gauges, flashes, cues: what to show.
        ticks: a dot on each trace every so many seconds; 0 for none.
        slow: speed in the slow stretch round each flash, as a share of the clip's speed; 1 for none.
        span: half width of the slow stretch, s of motion.
    """

    arrows: Sequence[Arrow] = ()
    gauges: Sequence[Gauge] = ()
    flashes: Sequence[Flash] = ()
    cues: Sequence[CueRow] = ()
    ticks: float = 0.0
    slow: float = 1.0
    span: float = 0.15


def slowed(end: float, frames_per_second: float, speed: float, extras: Extras) -> Array:
    """Instants of the frames of a clip that slows down round each flash, (n,) s.

    The rate follows a smooth well round each flash: `slow` times `speed` within `span`, back to `speed` at twice that.

    Args:
        end: of the motion, s.
        frames_per_second: of the clip.
        speed: seconds of motion a second of clip.
        extras: gives the flashes, `slow` and `span`.

    Example:
        >>> times = slowed(1.0, 25.0, 1.0, Extras(flashes=(Flash("", 0.5, None),), slow=0.2))
        >>> bool(len(times) > 26 and np.diff(times).min() < 0.009)
        True
    """
    moments = [f.time for f in extras.flashes] if extras.slow < 1 else []
    times = [0.0]
    while times[-1] < end:
        t = times[-1]
        rate = 1.0
        for moment in moments:
            far = np.clip((abs(t - moment) - extras.span) / extras.span, 0.0, 1.0)
            rate = min(rate, extras.slow + (1 - extras.slow) * float(far * far * (3 - 2 * far)))
        times.append(t + rate * speed / frames_per_second)
    return np.array(times[:-1] if times[-1] > end + 1e-9 and len(times) > 1 else times)


def arrow_tips(arrows: Sequence[Arrow], length: float) -> Array:
    """World points every arrow reaches over the run, (k, 3) m, when the largest force is drawn `length` m long."""
    out = [np.zeros((0, 3))]
    top = largest(arrows)
    for arrow in arrows:
        out.append(arrow.point + arrow.force * (length / (arrow.scale or top)))
    return np.concatenate(out)


def largest(arrows: Sequence[Arrow]) -> float:
    """The largest force of all arrows, N (1 where there is none)."""
    sizes = [float(np.linalg.norm(a.force, axis=1).max()) for a in arrows if len(a.force)]
    return max(sizes, default=1.0) or 1.0


def load_extras(
    loads: JointLoads,
    joints: Sequence[str] | None = None,
    *,
    gauges: bool = True,
    slow: float = 1.0,
    ticks: float = 0.0,
    shown: Trajectory | None = None,
) -> Extras:
    """Arrows, gauges, the peak flash and cues for a run whose loads are known.

    Args:
        joints: which joints get an arrow; None: the one that carries most.
        gauges: show the motors.
        slow: speed round the peak as a share of the clip's.
        ticks: a dot on each trace every so many seconds.
        shown: the motion as drawn, where that isn't the recorded one: arrows and flashes go with it.

    Raises:
        RenderError: for a joint that isn't one.
    """
    recording, found = loads.recording, loads.wrenches
    track, assembly = recording.track, recording.assembly
    index = {joint.name: j for j, joint in enumerate(assembly.joints)}
    names = list(joints) if joints is not None else ([loads.worst_joint.name] if loads.worst_joint else [])
    for name in names:
        one_of(name, index, "joint")
    down = np.array(assembly.rig.run.gravity, dtype=float)
    still = {n for n in names if weight_alone(found.force[:, index[n]], down)}
    points = {n: found.point[:, index[n]] for n in names}
    if shown is not None:
        points = {n: carried(track, shown, assembly.joints[index[n]].first, p) for n, p in points.items()}
    arrows = [
        Arrow(
            n,
            track.time,
            points[n],
            found.force[:, index[n]],
            note="weight alone" if n in still else "",
        )
        for n in names
    ]
    flashes = []
    peaks = [force for force, _ in loads.joints if force.name in names and force.name not in still]
    if peaks:
        top = max(peaks, key=lambda p: p.value)
        flashes.append(Flash(f"peak: {top.name} {top.value:.3g} N", top.time, points[top.name][top.row]))
    dials = []
    if gauges:
        for load in (*loads.motors, *loads.pushers):
            drive = next(d for d in loads.driven if d.key == load.peak.key)
            dials.append(
                Gauge(
                    drive.name,
                    track.time,
                    drive.load,
                    load.able,
                    drive.seen.speed,
                    drive.current,
                    drive.turns,
                    load.peak.value,
                )
            )
    return Extras(
        arrows,
        dials,
        flashes,
        cue_rows(assembly.rig, recording.laws.events, float(track.time[-1])),
        ticks,
        slow,
    )


STEADY = 0.03
"""A load that stays within this share of a constant upright one is the weight alone."""


def weight_alone(force: Array, down: Array) -> bool:
    """Whether a force (n, 3) N is nothing but a weight that stands still or moves evenly, by gravity `down` (3,).

    Example:
        >>> rows = np.tile([0.0, 0.0, 3.6], (5, 1))
        >>> weight_alone(rows, np.array([0.0, 0.0, -9.8])), weight_alone(rows * [[1], [2], [1], [1], [1]], rows[0])
        (True, False)
    """
    size = float(np.linalg.norm(down))
    if not size or not len(force):
        return False
    mean = float((force @ down).mean()) / size
    off = np.linalg.norm(force - mean * down / size, axis=1)
    return bool(off.max() <= STEADY * abs(mean))


def given(loads: JointLoads) -> list[tuple[DriveRows, Array]]:
    """Each motor and pusher with its load over the run, signed by the way that it drives, (n,) N*m or N."""
    return [(d, d.load * d.way) for d in loads.driven]


def cue_rows(rig: Rig, happenings: Sequence[Event], end: float) -> list[CueRow]:
    """What the controller switches and when, as the rig's cues and `on` windows say; nothing for what is always on.

    Args:
        end: of the run, s.
    """
    from simprop.engine.acting.program import windows_signal
    from simprop.laws.cues import drive_signal, on_times

    switched = dict.fromkeys(
        e.output for e in happenings if e.action in ("on", "off", "forward", "backward", "speed") and e.output
    )
    rows = [row for name in switched for row in _ways(name, drive_signal(happenings, name), end)]
    posed = dict.fromkeys(e.output for e in happenings if e.action == "pose")
    for name in posed:
        moves = (
            (e.time, min(e.time + max(e.over, 0.1), end))
            for e in happenings
            if (e.action, e.output) == ("pose", name)
        )
        rows.append(CueRow(name, tuple(moves)))
    sounds = tuple((e.time, min(e.time + 0.5, end)) for e in happenings if e.action == "sound")
    if sounds:
        rows.append(CueRow("sound", sounds))
    windows = {name: m.on for name, m in rig.motors.items()} | {name: p.on for name, p in rig.pushers.items()}
    for name, on in windows.items():
        if name not in switched and on is not None:
            rows.append(CueRow(name, on_times(windows_signal(on), end)))
    return [r for r in rows if any(a < end for a, _ in r.windows)]


def _ways(name: str, signal: Signal, end: float) -> list[CueRow]:
    """One row of a drive that runs one way; of one that runs both ways, a row for each."""
    from simprop.laws.cues import Signal, on_times

    ways = {
        word: Signal(signal.times, tuple(max(sign * v, 0.0) for v in signal.values))
        for word, sign in (("forward", 1.0), ("backward", -1.0))
    }
    rows = [CueRow(f"{name} {word}", on_times(own, end)) for word, own in ways.items()]
    return rows if all(r.windows for r in rows) else [CueRow(name, on_times(signal, end))]


def value_at(time: Array, values: Array, at: float, over: float = 0.0) -> Array:
    """Values at one instant: straight between rows, or their mean over so many seconds around it.

    Args:
        over: s; a frame shows what happens while it is shown, so that pulses faster than frames don't flicker.

    Example:
        >>> time = np.arange(0.0, 1.0, 0.01)
        >>> float(value_at(time, (time * 100).round() % 2, 0.5, 0.1).round(2))
        0.5
    """
    low, high = np.searchsorted(time, (at - over / 2, at + over / 2))
    if high - low < 2:
        return np.asarray(between(time, values, np.array([at]))[0])
    return np.asarray(values[low:high].mean(axis=0))
