"""The report of strength: what fails first and which change would help, every check, where it moves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simprop.checking.check import Check, suggest
from simprop.report.figures import amount, margin
from simprop.report.loads import beware, ringing_section, second
from simprop.report.structure import Amount, Block, Items, Section, Sections, Strong, Table
from simprop.rig.site import Visitors
from simprop.rules.reach import FENCE_HEIGHTS, ROUND_REACH
from simprop.run.run import Run
from simprop.strength.checks.press import STORED, Press
from simprop.strength.checks.reach import Envelope
from simprop.strength.report import StrengthReport

STRENGTH = Sections("strength")
"""The sections of the strength report."""
PLENTY = 20.0
"""Checks with a margin beyond this are only counted on a terminal."""
EXPLAINED = 5
"""So many of the weakest places are explained."""


@STRENGTH.add
def verdict(run: Run) -> Section:
    """Pass or fail, and how it was run."""
    found = run.strength
    said = f"{found.duration:.3g} s simulated, step {found.step * 1e3:.3g} ms, engine {found.engine}"
    data = {
        "rig": found.rig,
        "duration_s": found.duration,
        "step_s": found.step,
        "engine": found.engine,
        "exit_code": found.exit_code,
        "summary": summary(found),
    }
    return Section("verdict", "", [Strong(f"Strength: {summary(found)}"), said], data=data)


def summary(report: StrengthReport) -> str:
    """One sentence: what fails, or how much is left."""
    fails, missing = _of(report, "fail"), _of(report, "not computed")
    more = f"; {len(missing)} could not be computed" if missing else ""
    ranking = report.ranking
    if fails:
        what = ranking[0]
        return f"FAIL: {len(fails)} of {len(ranking)} checks fail, first {what.place} ({what.name}){more}"
    if not ranking:
        return f"NOT COMPUTED: nothing could be checked{more}"
    start = "NOT COMPLETE" if missing else "PASS"
    low = margin(ranking[0].margin)
    return f"{start}: all {len(ranking)} computed checks hold, lowest margin {low} ({ranking[0].place}){more}"


@STRENGTH.add
def first(run: Run) -> Section | None:
    """The weakest places, with the change that would help."""
    groups = weakest(run.strength)
    failing = [g for g in groups if g[0].verdict == "fail"]
    if not groups:
        return None
    title = "What fails first, and what to change" if failing else "Lowest margins"
    told = [_place(group) for group in failing or groups[:3]]
    left = len(told) - EXPLAINED
    more = [f"and {left} more place{'s' if left > 1 else ''}"] if left > 0 else []
    shown: list[Block] = [Items(told[:EXPLAINED], numbered=True), *more]
    return Section("first", title, [Items(told, numbered=True)], shown, {})


def brief(run: Run) -> list[Block]:
    """The verdict and what fails first, to stand under other results."""
    failing = [g for g in weakest(run.strength) if g[0].verdict == "fail"]
    head: list[Block] = [Strong(f"Strength: {summary(run.strength)}")]
    return [*head, *_items([_place(failing[0])])] if failing else head


def _place(group: list[Check]) -> list[str]:
    check = group[0]
    also = [f"{c.name} {margin(c.margin)}" for c in group[1:] if c.verdict == "fail"]
    lines = [f"{margin(check.margin)} {check.place}: {check.name}", explain(check)]
    return [*lines, *([f"also: {', '.join(also)}"] if also else []), *advice(check)]


def weakest(report: StrengthReport) -> list[list[Check]]:
    """Computed checks by place, each place's worst margin first, the weakest place first."""
    places: dict[str, list[Check]] = {}
    for check in report.ranking:
        places.setdefault(spot(check), []).append(check)
    return list(places.values())


def spot(check: Check) -> str:
    """The part or joint that a check belongs to: its place without the details."""
    return check.place.split(",")[0]


def explain(check: Check) -> str:
    """Demand, capacity, factor and time of a check, in words."""
    when = "" if check.time is None else f", at {check.time:.3f} s"
    factor = f"factor {check.factor:.3g} asked for"
    demand, capacity = amount(check.demand, check.unit), amount(check.capacity, check.unit)
    if check.unit == "nights":
        return f"lasts {capacity}; {demand} with a {factor}"
    if check.unit.startswith("of its"):
        return f"{demand} {check.unit}, {factor}{when}"
    return f"{demand} of {capacity}, {factor}{when}"


def advice(check: Check) -> list[str]:
    """What single change would do, for a failing check."""
    if check.verdict != "fail":
        return []
    best = suggest(check)
    if best is not None:
        return [f"change: {best.change} (margin {margin(best.margin)} there, same loads)"]
    if check.remedies:
        top = max(check.remedies, key=lambda r: r.margin)
        return [f"no single change tried is enough; the most: {top.change} (margin {margin(top.margin)})"]
    return ["no single change is known: lighten the load, slow the motion or change the design"]


@STRENGTH.add
def checks(run: Run) -> Section:
    """Every computed check, the worst margin first."""
    ranking = run.strength.ranking
    rows = [
        (
            Amount(c.margin, "", margin(c.margin)),
            c.verdict,
            c.place,
            c.name,
            Amount(c.demand, c.unit, amount(c.demand, c.unit)),
            Amount(c.capacity, c.unit, amount(c.capacity, c.unit)),
            f"{c.factor:.3g}",
        )
        for c in ranking
    ]
    titles = (">margin", "verdict", "where", "what", ">demand", ">capacity", ">factor")
    near = [row[:4] for row, c in zip(rows, ranking, strict=True) if c.margin is None or c.margin <= PLENTY]
    plenty = len(rows) - len(near)
    shown: list[Block] = ["margin = capacity / (demand x factor); 1.00 is just enough"]
    shown += [Table(titles[:4], near)] if near else []
    shown += [f"{plenty} more hold with a margin over {PLENTY:.0f}"] if plenty else []
    data = {"checks": [_check(c) for c in run.strength.checks]}
    return Section("checks", "All checks", [Table(titles, rows)] if rows else [], shown, data)


@STRENGTH.add
def open_points(run: Run) -> Section | None:
    """What could not be computed."""
    return _told("not_computed", "Not computed", run.strength, "not computed")


@STRENGTH.add
def look_at(run: Run) -> Section | None:
    """What to look at, though it has no margin."""
    return _told("look_at", "Look at", run.strength, "warning")


def _told(key: str, title: str, report: StrengthReport, word: str) -> Section | None:
    found = [f"{c.place}: {c.name}: {c.reason}" for c in _of(report, word)]
    return Section(key, title, _items(list(dict.fromkeys(found))), data={}) if found else None


@STRENGTH.add
def moves(run: Run) -> Section | None:
    """Where each body goes, how fast, and the force it can press with."""
    found = run.strength.envelopes
    if not found:
        return None
    lines = []
    for e in found:
        span = ", ".join(f"{a * 1e3:.0f} to {b * 1e3:.0f}" for a, b in zip(e.low, e.high, strict=True))
        force = "doesn't move" if e.press.force is None else f"{e.press.force:.0f} N ({_press(e.press)})"
        where = "" if e.reachable else "; out of reach over the fence that is stated"
        lines.append(f"{e.body}: {span}; {e.speed:.2f} m/s, {e.energy:.2g} J; {force}{where}")
    lines += fence_lines(run.rig.visitors or Visitors(), found)
    data = [
        {
            "body": e.body,
            "low_m": e.low.tolist(),
            "high_m": e.high.tolist(),
            "speed_m_s": e.speed,
            "energy_J": e.energy,
            "pressing_force_N": e.press.force,
            "pressed_by": e.press.by or None,
            "stored_force_N": e.press.stored,
            "reachable": e.reachable,
        }
        for e in found
    ]
    said = "mm: x, y, z from to; how fast, and the force it can press with"
    return Section("moves", "Where it moves", [said, Items(lines)], data={"envelopes": data})


def _press(press: Press) -> str:
    """What presses, and how much of it stays with the power off."""
    if press.by == STORED or press.stored < 0.5:
        return press.by
    return f"{press.by}, of which {press.stored:.0f} N {STORED}"


def fence_lines(visitors: Visitors, found: Sequence[Envelope]) -> list[str]:
    """How far off a fence keeps arms from all that moves, and how the one that is stated does."""
    height = max(visitors.height, FENCE_HEIGHTS[0])
    places = {"-y": "the viewer's side", "y": "the far side", "-x": "the left", "x": "the right"}
    lines = []
    for side in found[0].fence:
        far = max(e.fence[side] for e in found)
        stated = ""
        if visitors.barrier is not None:
            enough = visitors.barrier >= far and visitors.height >= height
            stated = f"; the one stated at {visitors.barrier * 1e3:.0f} mm is {'enough' if enough else 'not enough'}"
        lines.append(
            f"A fence {height * 1e3:.0f} mm high on {places[side]}, {max(far, 0.0) * 1e3:.0f} mm from "
            f"{side[-1]} = 0, keeps an adult's arm off what moves (reaching over, ISO 13857, high risk, from memory)"
            f"{stated}."
        )
    lines.append(
        f"Where its end can be reached round, keep {ROUND_REACH * 1e3:.0f} mm (ISO 13857, from memory); children reach "
        "less far but slip through."
    )
    return lines


@STRENGTH.add
def assumed(run: Run) -> Section | None:
    """What was assumed, once each, with the places where it counts."""
    report = run.strength
    places: dict[str, list[str]] = {}
    for check in report.checks:
        for text in check.assumed:
            places.setdefault(text, []).append(spot(check))
    found = list(report.assumed)
    for text, where in places.items():
        short = list(dict.fromkeys(where))
        found.append(f"{text} ({', '.join(short)})" if len(short) < 3 else text)
    return Section("assumed", "Assumed", _items(found)) if found else None


@STRENGTH.add
def notes(run: Run) -> Section | None:
    """What a person should know."""
    found = list(run.strength.notes)
    return Section("notes", "Notes", _items(found), data={"notes": found}) if found else None


@STRENGTH.add
def sources(run: Run) -> Section | None:
    """Where the checks come from, each source once."""
    found: dict[str, list[str]] = {}
    for check in run.strength.ranking:
        if check.source:
            found.setdefault(check.source, []).append(check.name)
    lines = [f"{', '.join(dict.fromkeys(names))}: {source}" for source, names in found.items()]
    return Section("sources", "Sources", _items(lines), ()) if lines else None


STRENGTH.add(ringing_section)
STRENGTH.add(second)
STRENGTH.add(beware)


def _of(report: StrengthReport, word: str) -> list[Check]:
    return [c for c in report.checks if c.verdict == word]


def _items(lines: list[Any]) -> list[Block]:
    return [Items(lines)] if lines else []


def _check(check: Check) -> dict[str, Any]:
    best = suggest(check) if check.verdict == "fail" else None
    return {
        "group": check.group,
        "name": check.name,
        "place": check.place,
        "verdict": check.verdict,
        "margin": check.margin,
        "demand": check.demand,
        "capacity": check.capacity,
        "unit": check.unit,
        "factor": check.factor,
        "time_s": check.time,
        "reason": check.reason,
        "assumed": list(check.assumed),
        "source": check.source,
        "change": None if best is None else {"what": best.change, "margin": best.margin},
        "tried": [{"what": r.change, "margin": r.margin} for r in check.remedies],
    }
