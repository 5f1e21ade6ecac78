"""A check as data: demand, capacity, margin, factor asked for, verdict; ranking; what to change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite, isnan
from typing import Literal, TypeVar

Verdict = Literal["pass", "fail", "warning", "not computed"]
Group = Literal["member", "fastener", "fatigue", "stability", "reach"]
Design = TypeVar("Design")

METAL = 2.0
PLASTIC_OR_WOOD = 3.0
NEAR_PEOPLE = 4.0
BUCKLING = 3.0
"""Least factors by kind, engineering practice, assumed: static metal 2, plastic or wood 3, overhead or near people 4.
"""
ALLOWABLE = 1.0
"""Factor on a capacity that already holds its margin (design values of a code)."""


@dataclass(frozen=True)
class Remedy:
    """One single change and the worst margin at that place after it (same loads).

    Attributes:
        change: what to do, in the words of a builder.
        margin: worst margin of the place's checks after the change.
    """

    change: str
    margin: float


@dataclass(frozen=True)
class Check:
    """One check of a report.

    Attributes:
        group: member, fastener, fatigue, stability or reach.
        name: what is checked.
        place: which part or joint, as a person would say it.
        demand: what the prop asks for, in `unit`; None: not computed.
        capacity: what the part bears; None: not computed.
        unit: SI unit of both.
        factor: least factor asked for between them.
        margin: capacity / (demand x factor); None: not computed. 1 is just enough.
        verdict: pass, fail, warning (something to look at that is no failure) or not computed.
        reason: why not computed, or what a warning says; else "".
        assumed: what was assumed, a phrase each.
        source: where formula and figures come from.
        time: instant of the demand, s; None where it has none.
        remedies: single changes worked out for this place.
    """

    group: Group
    name: str
    place: str
    demand: float | None
    capacity: float | None
    unit: str
    factor: float
    margin: float | None
    verdict: Verdict
    reason: str = ""
    assumed: tuple[str, ...] = ()
    source: str = ""
    time: float | None = None
    remedies: tuple[Remedy, ...] = ()


def judge(
    group: Group,
    name: str,
    place: str,
    demand: float,
    capacity: float,
    *,
    unit: str,
    factor: float,
    assumed: Sequence[str] = (),
    source: str = "",
    time: float | None = None,
) -> Check:
    """A check with its margin and verdict.

    A demand of zero has an infinite margin. Numbers that aren't finite make the check 'not computed', never a pass.
    The arguments, here and below, are fields of `Check`; the demand is 0 or more.

    Example:
        >>> check = judge("member", "bending", "mast", 10e6, 48e6, unit="Pa", factor=3.0)
        >>> check.verdict, round(check.margin, 2)
        ('pass', 1.6)
    """
    if not isfinite(demand) or isnan(capacity):
        reason = "the loads are not finite" if not isfinite(demand) else "the capacity is not a number"
        return not_computed(group, name, place, reason, unit=unit, factor=factor, source=source)
    margin = inf if demand <= 0 else capacity / (demand * factor)
    verdict: Verdict = "pass" if margin >= 1 else "fail"
    return Check(
        group, name, place, demand, capacity, unit, factor, margin, verdict, "", tuple(assumed), source, time
    )


def not_computed(
    group: Group,
    name: str,
    place: str,
    reason: str,
    *,
    unit: str = "",
    factor: float = 1.0,
    source: str = "",
    assumed: Sequence[str] = (),
) -> Check:
    """A check that could not be made, with the reason.

    Example:
        >>> not_computed("fastener", "bolt", "wrist", "the rig doesn't say what holds it").margin is None
        True
    """
    return Check(
        group, name, place, None, None, unit, factor, None, "not computed", reason, tuple(assumed), source
    )


def warning(
    group: Group,
    name: str,
    place: str,
    reason: str,
    *,
    demand: float | None = None,
    capacity: float | None = None,
    unit: str = "",
    source: str = "",
    assumed: Sequence[str] = (),
    time: float | None = None,
) -> Check:
    """Something a person must look at that is no failure of strength.

    Example:
        >>> warning("reach", "gap", "arm to wall", "fingers fit in").verdict
        'warning'
    """
    return Check(
        group,
        name,
        place,
        demand,
        capacity,
        unit,
        1.0,
        None,
        "warning",
        reason,
        tuple(assumed),
        source,
        time,
    )


def ranked(checks: Sequence[Check]) -> tuple[Check, ...]:
    """Computed checks, the worst margin first.

    Example:
        >>> strong = judge("member", "a", "", 1.0, 9.0, unit="N", factor=1.0)
        >>> weak = judge("member", "b", "", 1.0, 2.0, unit="N", factor=1.0)
        >>> [c.name for c in ranked([strong, weak])]
        ['b', 'a']
    """
    return tuple(sorted((c for c in checks if c.margin is not None), key=lambda c: c.margin or 0.0))


def worst(checks: Sequence[Check]) -> float:
    """The worst margin; infinity where nothing was computed.

    Example:
        >>> worst([])
        inf
    """
    return min((c.margin for c in checks if c.margin is not None), default=inf)


def suggest(check: Check) -> Remedy | None:
    """The smallest single change that lifts the margin over 1: the first one in the order of effort.

    Returns:
        None where no change that was tried is enough.

    Example:
        >>> check = judge("member", "bending", "mast", 10e6, 20e6, unit="Pa", factor=3.0)
        >>> suggest(replace(check, remedies=(Remedy("3/4 in pipe", 0.9), Remedy("1 in pipe", 1.7)))).change
        '1 in pipe'
    """
    return next((r for r in check.remedies if r.margin >= 1), None)


def remedied(
    design: Design,
    checks: Callable[[Design], Sequence[Check]],
    changes: Callable[[Design], Sequence[tuple[str, Design]]],
    *,
    pairs: bool = True,
) -> tuple[Check, ...]:
    """The checks of a design, with changes worked out for those that fail.

    Every single change is tried; where none is enough, the first pair that is. A change after which nothing could be
    computed is left out.

    Args:
        changes: single changes of a design, in the order of effort: what to do in words, and the design after it.
        pairs: try pairs too.

    Example:
        >>> def bending(thick):
        ...     return [judge("member", "bending", "arm", 10.0, thick**2, unit="Pa", factor=1.0)]
        >>> def thicker(thick):
        ...     return [(f"{thick + 1} mm bar", thick + 1)]
        >>> [r.change for r in remedied(2, bending, thicker)[0].remedies]
        ['3 mm bar', '3 mm bar, and 4 mm bar']
    """
    found = checks(design)
    if all(c.verdict != "fail" for c in found):
        return tuple(found)

    def after(words: str, other: Design) -> list[Remedy]:
        margins = [c.margin for c in checks(other) if c.margin is not None]
        return [Remedy(words, min(margins))] if margins else []

    tried = changes(design)
    remedies = [remedy for change in tried for remedy in after(*change)]
    if pairs and all(r.margin < 1 for r in remedies):
        both = ((f"{words}, and {more}", last) for words, other in tried for more, last in changes(other))
        remedies += next(([r] for change in both for r in after(*change) if r.margin >= 1), [])
    return tuple(replace(c, remedies=tuple(remedies)) if c.verdict == "fail" else c for c in found)


def exit_code(checks: Sequence[Check]) -> int:
    """Exit code of a report: 1 if a check fails, else 3 if one could not be computed, else 0.

    Example:
        >>> exit_code([not_computed("fastener", "bolt", "wrist", "nothing said")])
        3
    """
    if any(c.verdict == "fail" for c in checks):
        return 1
    return 3 if any(c.verdict == "not computed" for c in checks) else 0
