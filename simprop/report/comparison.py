"""What changed between runs: a table of figures, and labels made of what differs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from simprop.loads.cycles import cycle_rate
from simprop.picture.render.watch import travels
from simprop.report.figures import change, number
from simprop.report.loads import second
from simprop.report.strength import summary
from simprop.report.structure import Amount, Cell, Items, Report, Section, Table

if TYPE_CHECKING:
    from simprop.loads.joints import Peak
    from simprop.run.run import Run


@dataclass(frozen=True)
class Row:
    """One figure of every run.

    Attributes:
        quantity: what it is.
        unit: of the values.
        values: one a run; None where it isn't computed or doesn't apply.
    """

    quantity: str
    unit: str
    values: tuple[float | None, ...]


TOLD = {("run.bend", "true"): "bending", ("run.bend", "false"): "rigid"}
"""Settings that have a word of their own."""


def labels(settings: Sequence[Mapping[str, str]], names: Sequence[str]) -> list[str]:
    """A label for each run out of what differs between them.

    Args:
        settings: what was set in each run, dotted field to text.
        names: name of the rig of each run.

    Returns:
        Such as ``supply 5 V 5 A``; the rig's name too where rigs differ; "as drawn" where a run sets nothing that
        another does; equal labels are numbered.

    Example:
        >>> key = "motors.drive.supply"
        >>> labels([{key: "5 V 5 A"}, {key: "12 V 5 A"}, {}], ["Peeper"] * 3)
        ['supply 5 V 5 A', 'supply 12 V 5 A', 'as drawn']
        >>> labels([{"run.bend": "false"}, {"run.bend": "true"}], ["Peeper"] * 2)
        ['rigid', 'bending']
    """
    keys = list(dict.fromkeys(k for s in settings for k in s))
    differing = [k for k in keys if len({s.get(k) for s in settings}) > 1]
    short = {k: shortest(k, differing) for k in differing}
    out = []
    for own, name in zip(settings, names, strict=True):
        parts = [name] if len(set(names)) > 1 else []
        parts += [TOLD.get((k, own[k]), f"{short[k]} {own[k]}") for k in differing if k in own]
        out.append(", ".join(parts) or "as drawn")
    if len(set(out)) < len(out):
        out = [f"{text} ({i + 1})" if out.count(text) > 1 else text for i, text in enumerate(out)]
    return out


def called(names: Sequence[str], files: Sequence[str]) -> list[str]:
    """What the rig of each run is called: by its name; where files differ that hold rigs of one name, its file too.

    Example:
        >>> called(["Peeper", "Peeper", "Owl"], ["old", "new", "owl"])
        ['Peeper (old)', 'Peeper (new)', 'Owl']
        >>> called(["Peeper", "Peeper"], ["old", "old"])
        ['Peeper', 'Peeper']
    """
    held: dict[str, set[str]] = {}
    for name, file in zip(names, files, strict=True):
        held.setdefault(name, set()).add(file)
    return [f"{n} ({f})" if len(held[n]) > 1 else n for n, f in zip(names, files, strict=True)]


def titles(found: Sequence[str], names: Sequence[str]) -> list[str]:
    """Titles of the panes of a clip: the rig's name and what differs, from the labels and what the rigs are called.

    Example:
        >>> titles(["throw 50 mm", "as drawn"], ["Peeper", "Peeper"])
        ['Peeper, throw 50 mm', 'Peeper, as drawn']
        >>> titles(["Peeper", "Owl"], ["Peeper", "Owl"])
        ['Peeper', 'Owl']
    """
    return [
        text if text.startswith(name) else f"{name}, {text}" for text, name in zip(found, names, strict=True)
    ]


def shortest(key: str, keys: Sequence[str]) -> str:
    """The last words of a dotted field, as few as tell it from the others.

    Example:
        >>> shortest("motors.drive.supply", ["throw", "motors.drive.supply", "motors.lift.supply"])
        'drive supply'
    """
    words = key.split(".")
    for n in range(1, len(words) + 1):
        tail = words[-n:]
        if sum(k.split(".")[-n:] == tail for k in keys) == 1:
            return " ".join(tail)
    return key


def rows(runs: Sequence[Run]) -> list[Row]:
    """Cycle rate, peak loads, motor load and current, and travel of every run, row by row.

    Returns:
        One row a figure; joints and motors are matched by name, None where a run doesn't have one.
    """
    out: list[Row] = []
    tables = [_figures(run) for run in runs]
    for key in dict.fromkeys(k for t in tables for k in t):
        quantity, unit = key
        out.append(Row(quantity, unit, tuple(t.get(key) for t in tables)))
    return out


def _figures(run: Run) -> dict[tuple[str, str], float | None]:
    assembly, track = run.assembly, run.track
    found: dict[tuple[str, str], float | None] = {}
    for motor in run.laws.motors:
        turning = assembly.axes[motor.axis].motion == "turn"
        rate = cycle_rate(track.coordinate[:, motor.axis], track.time, turning)
        found[f"{motor.name}: cycle rate", "1/min"] = rate
    for name, (x, y, z) in travels(assembly, track).items():
        for way, value in (("sideways", x), ("to and fro", y), ("up and down", z)):
            if value > 0.01 * max(x, y, z):
                found[f"{name}: travel {way}", "mm"] = 1000 * value
    margins = run.strength.ranking
    found["lowest margin of strength", ""] = margins[0].margin if margins else None
    for force, moment in run.loads.joints:
        found |= _started(f"{force.name}: peak force", force)
        if moment.value > 1e-9:
            found |= _started(f"{moment.name}: peak moment", moment)
    for load in (*run.loads.motors, *run.loads.pushers):
        found |= _started(f"{load.name}: peak load", load.peak)
        found[f"{load.name}: share of what it can give", "%"] = (
            100 * load.peak.value / load.able if load.able else None
        )
        found[f"{load.name}: peak current", "A"] = load.current
    for peak in (*run.loads.lines, *run.loads.couplings, *run.loads.stops, *run.loads.contacts):
        found |= _started(f"{peak.sort} {peak.name}: peak load", peak)
    return found


def _started(words: str, peak: Peak) -> dict[tuple[str, str], float | None]:
    """A peak, and that of the start where it is the higher one."""
    found: dict[tuple[str, str], float | None] = {(words, peak.unit): peak.value}
    if peak.jolt is not None:
        found[f"{words} while starting", peak.unit] = peak.jolt.value
    return found


def comparison(names: Sequence[str], runs: Sequence[Run]) -> Report:
    """Runs side by side, each after the first with the change from the first to it.

    Args:
        names: label of each run.

    Raises:
        ValueError: for as many names as there are no runs.
    """
    found, pairs = rows(runs), list(zip(names, runs, strict=True))
    values = [[Amount(v, r.unit, number(v)) for v in r.values] for r in found]
    short: list[tuple[Cell, ...]] = [
        (f"{r.quantity}, {r.unit}", *row) for r, row in zip(found, values, strict=True)
    ]
    whole: list[tuple[Cell, ...]] = [
        (r.quantity, r.unit, *row, *(change(r.values[0], v) for v in r.values[1:]))
        for r, row in zip(found, values, strict=True)
    ]
    heads = ("", "", *(f">{n}" for n in names), *(f">change to {n}" for n in names[1:]))
    data = {"runs": list(names), "figures": {r.quantity: {"unit": r.unit, "values": r.values} for r in found}}
    sections = [
        Section("strength", "", [Items([f"{name}: {summary(run.strength)}" for name, run in pairs])]),
        Section("figures", "", [Table(heads, whole)], [Table(("", *names), short)], data),
    ]
    for name, run in pairs:
        other = second(run)
        if other is not None:
            sections.append(
                replace(other, title=f"{other.title}: {name}", data={f"second_opinion of {name}": other.data})
            )
    return Report(" / ".join(dict.fromkeys(run.rig.name for run in runs)) + ": compared", sections)
