"""A strength report as text for 80 columns, as Markdown and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable
from math import isfinite
from typing import Any

from simprop.checking.check import Check, suggest
from simprop.quantities import show
from simprop.rules.reach import ARM_REACH, STANDING_NOTE
from simprop.strength.report import StrengthReport

WIDTH = 80
PLENTY = 20.0
"""Checks with a margin beyond this are only counted in the text."""
_KINDS = {"Pa": "pressure", "N": "force", "N*m": "torque", "m": "length", "rad": "angle"}
CAUTIONS = (
    "These figures come from a model and from tables; they are no approval. Local code and a licensed "
    "person decide.",
    "Margins of what was simulated: people who pull, knock or climb are not in them.",
    "Springs and air store energy when the power is off. Isolate before reaching in.",
    "Guard cranks, closing gaps and return springs; a stop button stays near the operator.",
)


def amount(value: float | None, unit: str) -> str:
    """A demand or a capacity as people read it.

    Args:
        value: in `unit`; None: not computed.
        unit: SI unit.

    Example:
        >>> amount(48.3e6, "Pa"), amount(None, "N"), amount(float("inf"), "nights")
        ('48.3 MPa', '-', 'over 9999 nights')
    """
    if value is None:
        return "-"
    if unit == "nights":
        return f"over 9999 {unit}" if value > 9999 else f"{value:.3g} {unit}"
    if not isfinite(value):
        return f"without limit {unit}".strip()
    if unit.startswith("of its"):
        return f"{value * 100:.3g} %"
    if unit in _KINDS:
        return show(value, _KINDS[unit])
    return f"{value:.3g} {unit}".strip()


def margin_text(margin: float | None) -> str:
    """A margin in five characters or less.

    Args:
        margin: capacity / (demand x factor); None: not computed.

    Example:
        >>> margin_text(0.7249), margin_text(float("inf")), margin_text(None)
        ('0.72', '>99', '-')
    """
    if margin is None:
        return "-"
    if margin > 99:
        return ">99"
    if 0 < margin < 0.01:
        return "<0.01"
    return f"{margin:.2f}" if margin < 10 else f"{margin:.1f}"


def _wrap(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )


def as_text(report: StrengthReport, worst: int = 5, *, every: bool = True) -> str:
    """The report as text, 80 columns.

    Args:
        report: what was checked.
        worst: how many of the weakest places are explained.
        every: list all checks too.
    """
    lines = [f"Strength: {report.rig}"]
    head = f"{report.duration:.3g} s simulated, step {report.step * 1e3:.3g} ms, engine {report.engine}"
    lines += [head, "", *_wrap(summary(report), "", ""), ""]
    lines += _first(report, worst)
    if every:
        lines += ["All checks (margin = capacity / (demand x factor); 1.00 is just enough)"]
        lines += [*_table(report), ""]
    lines += _section(
        "Not computed", (f"{c.place}: {c.name}: {c.reason}" for c in _of(report, "not computed"))
    )
    lines += _section("Look at", (f"{c.place}: {c.name}: {c.reason}" for c in _of(report, "warning")))
    lines += _reach(report)
    lines += _section("Assumed", assumptions(report))
    lines += _section("Notes", report.notes)
    lines += _section("Cautions", CAUTIONS)
    return "\n".join(lines).rstrip() + "\n"


def summary(report: StrengthReport) -> str:
    """One sentence: what fails, or how much is left.

    Args:
        report: what was checked.
    """
    fails, missing = _of(report, "fail"), _of(report, "not computed")
    more = f"; {len(missing)} could not be computed" if missing else ""
    ranking = report.ranking
    if fails:
        what = ranking[0]
        return f"FAIL: {len(fails)} of {len(ranking)} checks fail, first {what.place} ({what.name}){more}"
    if not ranking:
        return f"NOT COMPUTED: nothing could be checked{more}"
    low = margin_text(ranking[0].margin)
    start = "NOT COMPLETE" if missing else "PASS"
    return f"{start}: all {len(ranking)} computed checks hold, lowest margin {low} ({ranking[0].place}){more}"


def brief(report: StrengthReport) -> list[str]:
    """The verdict and what fails first, as lines of 80 columns, to stand under other results.

    Args:
        report: what was checked.
    """
    head = _wrap(f"Strength: {summary(report)}", "", "  ")
    return [*head, *(_first(report, 1)[:-1] if any(c.verdict == "fail" for c in report.checks) else [])]


def _of(report: StrengthReport, verdict: str) -> list[Check]:
    return [c for c in report.checks if c.verdict == verdict]


def weakest(report: StrengthReport) -> list[list[Check]]:
    """Computed checks by place, each place's worst margin first, the weakest place first.

    Args:
        report: what was checked.
    """
    places: dict[str, list[Check]] = {}
    for check in report.ranking:
        places.setdefault(spot(check), []).append(check)
    return list(places.values())


def spot(check: Check) -> str:
    """The part or joint that a check belongs to: its place without the details.

    Args:
        check: the check.
    """
    return check.place.split(",")[0]


def _first(report: StrengthReport, worst: int) -> list[str]:
    groups = weakest(report)
    failing = [g for g in groups if g[0].verdict == "fail"]
    shown = failing[:worst] or groups[:3]
    if not shown:
        return []
    lines = ["What fails first, and what to change" if failing else "Lowest margins"]
    for k, group in enumerate(shown, 1):
        check = group[0]
        lines += _wrap(f"{k}. {margin_text(check.margin):<5} {check.place}: {check.name}", "", "         ")
        lines += _wrap(explain(check), "         ", "         ")
        also = [f"{c.name} {margin_text(c.margin)}" for c in group[1:] if c.verdict == "fail"]
        if also:
            lines += _wrap(f"also: {', '.join(also)}", "         ", "           ")
        lines += [x for text in advice(check) for x in _wrap(text, "         ", "           ")]
    if len(failing) > len(shown):
        lines.append(f"   and {len(failing) - len(shown)} more places")
    return [*lines, ""]


def explain(check: Check) -> str:
    """Demand, capacity, factor and time of a check, in words.

    Args:
        check: the check.
    """
    when = "" if check.time is None else f", at {check.time:.3f} s"
    factor = f"factor {check.factor:.3g} asked for"
    if check.unit == "nights":
        return f"lasts {amount(check.capacity, check.unit)}, asked for {amount(check.demand, check.unit)}, {factor}"
    if check.unit.startswith("of its"):
        return f"{amount(check.demand, check.unit)} {check.unit}, {factor}{when}"
    return f"{amount(check.demand, check.unit)} of {amount(check.capacity, check.unit)}, {factor}{when}"


def advice(check: Check) -> list[str]:
    """What single change would do, for a failing check.

    Args:
        check: the check.
    """
    if check.verdict != "fail":
        return []
    best = suggest(check)
    if best is not None:
        return [f"change: {best.change} (margin {margin_text(best.margin)} there, same loads)"]
    if check.remedies:
        top = max(check.remedies, key=lambda r: r.margin)
        return [
            f"no single change tried is enough; the most: {top.change} (margin {margin_text(top.margin)})"
        ]
    return ["no single change is known: lighten the load, slow the motion or change the design"]


def _table(report: StrengthReport) -> list[str]:
    rows = []
    for check in report.ranking:
        if check.margin is not None and check.margin > PLENTY:
            continue
        mark = "FAIL" if check.verdict == "fail" else "ok"
        text = f"{margin_text(check.margin):>5}  {mark:<4} {check.place}: {check.name}"
        rows += _wrap(text, "", "            ")
    plenty = sum(1 for c in report.ranking if c.margin is not None and c.margin > PLENTY)
    return [*rows, f"  >{PLENTY:.0f}  ok   {plenty} more"] if plenty else rows


def _reach(report: StrengthReport) -> list[str]:
    if not report.envelopes:
        return []
    lines = ["Where it moves (mm: x, y, z from to), how fast, and the force it can press with"]
    for e in report.envelopes:
        span = ", ".join(f"{a * 1e3:.0f} to {b * 1e3:.0f}" for a, b in zip(e.low, e.high, strict=True))
        force = "" if e.force is None else f"; {e.force:.0f} N ({e.motor}, stalled at its fastest point)"
        where = "" if e.reachable else "; out of reach"
        lines += _wrap(f"{e.body}: {span}; {e.speed:.2f} m/s, {e.energy:.2g} J{force}{where}", "  ", "    ")
    far = -min(float(e.low[1]) for e in report.envelopes)
    lines += _wrap(
        f"A fence on the viewer's side {max(far, 0.0) * 1e3 + ARM_REACH * 1e3:.0f} mm from y = 0 keeps an adult's "
        f"arm off ({STANDING_NOTE}).",
        "  ",
        "    ",
    )
    return [*lines, ""]


def _section(title: str, items: Iterable[str]) -> list[str]:
    found = list(dict.fromkeys(items))
    if not found:
        return []
    return [title, *(x for item in found for x in _wrap(item, "- ", "  ")), ""]


def assumptions(report: StrengthReport) -> list[str]:
    """What was assumed, once each, with the places where it counts.

    Args:
        report: what was checked.
    """
    places: dict[str, list[str]] = {}
    for check in report.checks:
        for text in check.assumed:
            places.setdefault(text, []).append(check.place.split(",")[0])
    found = list(report.assumed)
    for text, where in places.items():
        short = list(dict.fromkeys(where))
        found.append(f"{text} ({', '.join(short)})" if len(short) < 3 else text)
    return found


def as_markdown(report: StrengthReport) -> str:
    """The report as Markdown.

    Args:
        report: what was checked.
    """
    lines = [f"# Strength: {report.rig}", "", summary(report), ""]
    lines += [
        f"{report.duration:.3g} s simulated, step {report.step * 1e3:.3g} ms, engine {report.engine}.",
        "",
    ]
    fails = [g for g in weakest(report) if g[0].verdict == "fail"]
    if fails:
        lines += ["## What fails, first to last, and what to change", ""]
        for check in (g[0] for g in fails):
            text = "; ".join([explain(check), *advice(check)])
            lines.append(f"1. **{check.place}: {check.name}**, margin {margin_text(check.margin)}: {text}")
        lines.append("")
    lines += [
        "## All checks",
        "",
        "| margin | verdict | where | what | demand | capacity | factor |",
    ]
    lines += ["|---:|---|---|---|---:|---:|---:|"]
    for c in report.ranking:
        cells = (
            c.place,
            c.name,
            amount(c.demand, c.unit),
            amount(c.capacity, c.unit),
            f"{c.factor:.3g}",
        )
        lines.append(
            f"| {margin_text(c.margin)} | {c.verdict} | " + " | ".join(_cell(x) for x in cells) + " |"
        )
    lines.append("")
    groups = (
        ("Not computed", [f"{c.place}: {c.name}: {c.reason}" for c in _of(report, "not computed")]),
        ("Look at", [f"{c.place}: {c.name}: {c.reason}" for c in _of(report, "warning")]),
        ("Where it moves", _moves(report)),
        ("Assumed", assumptions(report)),
        ("Notes", list(report.notes)),
        ("Sources", [f"{c.name}: {c.source}" for c in report.ranking if c.source]),
        ("Cautions", list(CAUTIONS)),
    )
    for title, items in groups:
        if items:
            lines += [f"## {title}", "", *(f"- {x}" for x in dict.fromkeys(items)), ""]
    return "\n".join(lines).rstrip() + "\n"


def _cell(text: str) -> str:
    return text.replace("|", "/")


def _moves(report: StrengthReport) -> list[str]:
    return [x.strip() for x in _reach(report)[1:] if x.strip()]


def as_json(report: StrengthReport) -> str:
    """The report as JSON; a number that was not computed, or has no limit, is null.

    Args:
        report: what was checked.
    """
    data: dict[str, Any] = {
        "rig": report.rig,
        "duration_s": report.duration,
        "step_s": report.step,
        "engine": report.engine,
        "exit_code": report.exit_code,
        "summary": summary(report),
        "checks": [_check(c) for c in report.checks],
        "envelopes": [
            {
                "body": e.body,
                "low_m": e.low.tolist(),
                "high_m": e.high.tolist(),
                "speed_m_s": e.speed,
                "energy_J": e.energy,
                "stall_force_N": e.force,
                "motor": e.motor or None,
                "reachable": e.reachable,
            }
            for e in report.envelopes
        ],
        "assumed": assumptions(report),
        "notes": list(report.notes),
        "cautions": list(CAUTIONS),
    }
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def _number(value: float | None) -> float | None:
    return value if value is not None and isfinite(value) else None


def _check(check: Check) -> dict[str, Any]:
    best = suggest(check) if check.verdict == "fail" else None
    return {
        "group": check.group,
        "name": check.name,
        "place": check.place,
        "verdict": check.verdict,
        "margin": _number(check.margin),
        "demand": _number(check.demand),
        "capacity": _number(check.capacity),
        "unit": check.unit,
        "factor": check.factor,
        "time_s": check.time,
        "reason": check.reason,
        "assumed": list(check.assumed),
        "source": check.source,
        "change": None if best is None else {"what": best.change, "margin": _number(best.margin)},
        "tried": [{"what": r.change, "margin": _number(r.margin)} for r in check.remedies],
    }
