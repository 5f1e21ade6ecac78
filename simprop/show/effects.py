"""What sharing a supply does to each prop of a show: how far behind it falls, and what its joints bear of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array
from simprop.loads.driving import DriveRows, Rows
from simprop.loads.joints import Peak
from simprop.run.run import Run
from simprop.show.play import Line, Part, Played

BEHIND = 0.25
"""A prop that falls so far behind itself alone suffers, s (assumed: what a person sees)."""
LESS = 0.97
"""One that does less than this share of its motion alone suffers."""


@dataclass(frozen=True)
class Effect:
    """One prop in the show against itself with the supply to itself.

    Attributes:
        part: which.
        lowest: voltage on its line while something of it is on, V; None where it shares none, or is never on.
        peak: largest current that it takes, A; None where it shares no supply.
        late: most that its drives fall behind on what they do in both runs, s; None where it shares no supply.
        share: of the way that its drives make alone, at the end; None where they make none.
        load: highest load of its joints, in the show.
        load_alone: of the same joint, alone; None where it isn't told there.
    """

    part: Part
    lowest: float | None
    peak: float | None
    late: float | None
    share: float | None
    load: Peak | None
    load_alone: Peak | None

    @property
    def suffers(self) -> bool:
        """Whether a person would see that it is slower for the others."""
        return (self.late is not None and self.late > BEHIND) or (
            self.share is not None and self.share < LESS
        )


@dataclass(frozen=True)
class Sag:
    """The lowest point of a supply.

    Attributes:
        line: which.
        time: when, by the show's clock, s.
        voltage: V.
        takers: props and what each takes then, A, the largest first.
        limited: share of the show in which it gives all that it can, 0 to 1.
    """

    line: Line
    time: float
    voltage: float
    takers: tuple[tuple[str, float], ...]
    limited: float


def effects(played: Played) -> tuple[Effect, ...]:
    """What sharing does to each prop, in the order of the show.

    Args:
        played: the show as it went.
    """
    lines = {line.name: line for line in played.lines}
    return tuple(_effect(p, lines.get(p.prop.standing.supply or "")) for p in played.parts)


def sags(played: Played) -> tuple[Sag, ...]:
    """The lowest point of each shared supply.

    Args:
        played: the show as it went.
    """
    found = []
    for line in played.lines:
        low = int(np.argmin(line.voltage))
        takers = sorted(((n, float(c[low])) for n, c in line.current.items()), key=lambda row: -row[1])
        kept = tuple((name, amps) for name, amps in takers if amps > 0.05)
        limited = float(line.limited.mean())
        found.append(Sag(line, float(line.time[low]), float(line.voltage[low]), kept, limited))
    return tuple(found)


def _effect(part: Part, line: Line | None) -> Effect:
    load, alone = part.run.loads.worst, None
    if load is not None:
        told = (p for pair in part.alone.loads.ranked for p in pair if p is not None)
        alone = next((p for p in told if p.key == load.key), None)
    if line is None:
        return Effect(part, None, None, None, None, load, alone)
    on = on_at(part, part.run.drives, line.time)
    lowest = float(line.voltage[on].min()) if on.any() else None
    peak = float(line.current[part.prop.name].max())
    now, usual = _way(part.run), _way(part.alone)
    share = float(now[1][-1] / usual[1][-1]) if usual[1][-1] > 0 else None
    return Effect(part, lowest, peak, lag(*usual, *now), share, load, alone)


def on_at(part: Part, drives: Sequence[DriveRows], time: Array) -> Rows:
    """When any of these drives of a prop is on, (n,), at instants of the show's clock, (n,) s."""
    own, on = time - part.prop.standing.starts, np.zeros(len(time), dtype=bool)
    for drive in drives:
        on |= np.interp(own, part.run.track.time, drive.on, left=0.0) > 0
    return np.asarray(on)


def _way(run: Run) -> tuple[Array, Array]:
    """Time (n,) s, and what all its drives have turned or gone so far, added up, (n,)."""
    time, way = run.track.time, np.zeros(len(run.track.time))
    for drive in run.drives:
        rate = np.where(drive.on > 0, np.maximum(drive.speed, 0.0), 0.0)
        way = way + np.cumsum(rate) * run.track.step
    return time, way


def lag(time: Array, way: Array, other_time: Array, other: Array) -> float:
    """Most that one course falls behind another on the way that both make, s; never below 0.

    Args:
        time: of the first, (n,) s.
        way: what it has made so far, never falling, (n,).
        other_time: of the second, (m,) s.
        other: what that has made, (m,).

    Example:
        >>> t = np.linspace(0.0, 10.0, 1001)
        >>> round(lag(t, t, t, 0.8 * t), 1)  # at the end it is where the first was after 8 s
        2.0
    """
    end = min(float(way[-1]), float(other[-1]))
    if end <= 0.0:
        return 0.0
    levels = np.linspace(0.0, end, 402)[1:-1]
    behind = _reached(other_time, other, levels) - _reached(time, way, levels)
    return max(0.0, float(behind.max()))


def _reached(time: Array, way: Array, levels: Array) -> Array:
    """When each level is reached, (k,) s."""
    return np.asarray(time[np.searchsorted(way, levels)])


def sufferers(found: Sequence[Effect]) -> tuple[Effect, ...]:
    """Those that suffer, the worst first."""
    return tuple(sorted((e for e in found if e.suffers), key=lambda e: -(e.late or 0.0)))
